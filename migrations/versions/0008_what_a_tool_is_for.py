"""what a tool is for; the bend lines a step makes

Revision: 0008
Follows: 0007
"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for table in ("punch", "die"):  # not by batch: a copied table would lose its other checks
        op.execute(
            f"ALTER TABLE {table} ADD COLUMN purpose VARCHAR DEFAULT 'bend' NOT NULL "
            f"CONSTRAINT ck_{table}_purpose_known CHECK (purpose IN ('bend', 'flatten', 'offset'))"
        )
    op.add_column("step", sa.Column("zones", sa.JSON(), server_default="[]", nullable=False))


def downgrade() -> None:
    op.drop_column("step", "zones")
    op.drop_column("die", "purpose")
    op.drop_column("punch", "purpose")
