"""indexes for a hundred thousand jobs and a million events

Revision: 0007
Follows: 0006
"""

from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("ix_event_noun", "event", ["noun", "at"], unique=False)
    op.create_index("ix_part_changed", "part", ["archived_at", "changed_at", "number"])
    op.create_index("ix_part_seen", "part", ["changed_at"], unique=False)
    op.drop_index("ix_job_customer", "job")
    op.create_index(
        "ix_job_customer", "job", ["customer_code", "archived_at", "state", "due_at", "number"]
    )


def downgrade() -> None:
    op.drop_index("ix_job_customer", "job")
    op.create_index("ix_job_customer", "job", ["customer_code", "due_at"], unique=False)
    op.drop_index("ix_part_seen", "part")
    op.drop_index("ix_part_changed", "part")
    op.drop_index("ix_event_noun", "event")
