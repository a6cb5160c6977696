"""a lot measured at four edges

Revision: 0002
Follows: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # plain ADD COLUMN: copying the table in a batch would lose its CHECK constraints
    op.add_column("lot", sa.Column("measured_edges_mm", sa.JSON(none_as_null=True), nullable=True))
    op.add_column(
        "lot",
        sa.Column("thickness_standard", sa.String(), nullable=False, server_default=sa.text("''")),
    )
    op.execute(
        "ALTER TABLE lot ADD COLUMN sheet_width_mm FLOAT "
        "CONSTRAINT ck_lot_sheet_width_mm_above_zero CHECK (sheet_width_mm > 0)"
    )


def downgrade() -> None:
    for column in ("sheet_width_mm", "thickness_standard", "measured_edges_mm"):
        op.execute(f"ALTER TABLE lot DROP COLUMN {column}")
