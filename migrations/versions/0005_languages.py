"""languages: what a clinic has read and signed off, and the one chosen on a phone

Revision ID: 0005
Revises: 0004

"""

from alembic import op
import sqlalchemy as sa

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade():
    op.create_table(
        "language_step",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("language", sa.Text(), nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("reader", sa.Text(), nullable=False),
        sa.Column("words", sa.JSON(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("by_id", sa.Uuid(), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["staff.id"], name=op.f("fk_language_step_by_id")),
        sa.ForeignKeyConstraint(
            ["clinic_id"], ["clinic.id"], name=op.f("fk_language_step_clinic_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_language_step")),
    )
    op.create_index(op.f("ix_language_step_clinic_id"), "language_step", ["clinic_id"])
    op.create_index("ix_language_step_language", "language_step", ["clinic_id", "language", "at"])
    op.add_column("device", sa.Column("language", sa.Text(), nullable=True))


def downgrade():
    op.drop_column("device", "language")
    op.drop_table("language_step")
