"""touches: courses to be summed up by the minute's job

Revision ID: 0003
Revises: 0002

"""
from alembic import op
import sqlalchemy as sa

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade():
    op.create_table(
        "touch",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("course_id", sa.Uuid(), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"], name=op.f("fk_touch_clinic_id")),
        sa.ForeignKeyConstraint(["course_id"], ["course.id"], name=op.f("fk_touch_course_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_touch")),
    )
    op.create_index(op.f("ix_touch_clinic_id"), "touch", ["clinic_id"])
    op.create_index(op.f("ix_touch_course_id"), "touch", ["course_id"])


def downgrade():
    op.drop_table("touch")
