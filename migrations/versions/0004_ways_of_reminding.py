"""ways of reminding: which one is in force on a phone, and whence a phone was handed over

Revision ID: 0004
Revises: 0003

"""
from alembic import op
import sqlalchemy as sa

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade():
    with op.batch_alter_table("device") as table:
        table.add_column(sa.Column("reminding", sa.Text(), nullable=True))
    with op.batch_alter_table("pairing") as table:
        table.add_column(sa.Column("from_id", sa.Uuid(), nullable=True))
        table.create_foreign_key(op.f("fk_pairing_from_id"), "device", ["from_id"], ["id"])


def downgrade():
    with op.batch_alter_table("pairing") as table:
        table.drop_constraint(op.f("fk_pairing_from_id"), type_="foreignkey")
        table.drop_column("from_id")
    with op.batch_alter_table("device") as table:
        table.drop_column("reminding")
