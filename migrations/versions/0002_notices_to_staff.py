"""notices to staff: claimed and sent; browsers of staff

Revision ID: 0002
Revises: 0001

"""
from alembic import op
import sqlalchemy as sa

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def _row():
    return (
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
    )


def _of(table):
    return (
        sa.ForeignKeyConstraint(
            ["clinic_id"], ["clinic.id"], name=op.f(f"fk_{table}_clinic_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
    )


def _index(table, *columns):
    op.create_index(op.f(f"ix_{table}_{columns[-1]}"), table, list(columns))


def upgrade():
    op.create_table(
        "staff_subscription",
        *_row(),
        sa.Column("staff_id", sa.Uuid(), nullable=False),
        sa.Column("endpoint", sa.Text(), nullable=False),
        sa.Column("p256dh", sa.Text(), nullable=False),
        sa.Column("auth", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("dead_at", sa.DateTime(timezone=True), nullable=True),
        *_of("staff_subscription"),
        sa.ForeignKeyConstraint(
            ["staff_id"], ["staff.id"], name=op.f("fk_staff_subscription_staff_id")
        ),
        sa.UniqueConstraint("endpoint", name=op.f("uq_staff_subscription_endpoint")),
    )
    _index("staff_subscription", "clinic_id")
    _index("staff_subscription", "staff_id")
    op.drop_table("notice")  # nothing was ever written to it
    op.create_table(
        "notice",
        *_row(),
        sa.Column("alert_id", sa.Uuid(), nullable=True),
        sa.Column("staff_id", sa.Uuid(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("level", sa.Text(), nullable=True),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("alerts", sa.JSON(), nullable=False),
        sa.Column("subscription_id", sa.Uuid(), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=True),
        *_of("notice"),
        sa.ForeignKeyConstraint(["alert_id"], ["alert.id"], name=op.f("fk_notice_alert_id")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_notice_staff_id")),
        sa.ForeignKeyConstraint(
            ["subscription_id"], ["staff_subscription.id"],
            name=op.f("fk_notice_subscription_id"),
        ),
        sa.UniqueConstraint("key", name=op.f("uq_notice_key")),
    )
    _index("notice", "clinic_id")
    _index("notice", "alert_id")
    op.create_index("ix_notice_due", "notice", ["state", "due_at"])
    op.create_index("ix_notice_staff", "notice", ["staff_id", "why"])
    op.create_table(
        "notice_try",
        *_row(),
        sa.Column("notice_id", sa.Uuid(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=True),
        *_of("notice_try"),
        sa.ForeignKeyConstraint(["notice_id"], ["notice.id"], name=op.f("fk_notice_try_notice_id")),
    )
    _index("notice_try", "clinic_id")
    _index("notice_try", "notice_id")
    op.create_index("ix_notice_try_channel", "notice_try", ["clinic_id", "channel", "at"])


def downgrade():
    op.drop_table("notice_try")
    op.drop_table("notice")
    op.drop_table("staff_subscription")
    op.create_table(
        "notice",
        sa.Column("alert_id", sa.Uuid(), nullable=False),
        sa.Column("staff_id", sa.Uuid(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=True),
        *_row(),
        sa.ForeignKeyConstraint(["alert_id"], ["alert.id"], name=op.f("fk_notice_alert_id")),
        *_of("notice"),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_notice_staff_id")),
    )
    _index("notice", "clinic_id")
    _index("notice", "alert_id")
