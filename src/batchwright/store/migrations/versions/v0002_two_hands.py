"""Two people at one book: heads, saves that may be sent twice, undo, devices, invitations."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add what two people need; what has a later revision made from it is no head any more."""
    with op.batch_alter_table("revision") as table:
        table.add_column(sa.Column("brings_back", sa.Integer, nullable=True))
        table.add_column(sa.Column("sent_key", sa.String(64), nullable=True))
        table.create_foreign_key("fk_revision_brings_back", "revision", ["brings_back"], ["id"])
        table.create_unique_constraint("uq_revision_sent_key", ["thing_id", "sent_key"])
    op.create_table(
        "settled",
        sa.Column("revision_id", sa.Integer, sa.ForeignKey("revision.id", name="fk_settled_revision_id"),
                  primary_key=True),
    )  # fmt: skip
    op.execute("INSERT INTO settled (revision_id) SELECT DISTINCT parent_id FROM revision WHERE parent_id IS NOT NULL")
    op.create_table(
        "device",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("rebuild_id", sa.Integer, sa.ForeignKey("rebuild.id", name="fk_device_rebuild_id"), nullable=True),
        sa.Column("token_hash", sa.String(64), nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("seen", sa.String(40), nullable=False),
        sa.Column("shut_out", sa.Boolean, nullable=False),
        sa.UniqueConstraint("token_hash", name="uq_device_token_hash"),
    )
    op.create_table(
        "invitation",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("rebuild_id", sa.Integer, sa.ForeignKey("rebuild.id", name="fk_invitation_rebuild_id"),
                  nullable=False),
        sa.Column("token_hash", sa.String(64), nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("expires", sa.String(40), nullable=False),
        sa.Column("used", sa.Boolean, nullable=False),
        sa.UniqueConstraint("token_hash", name="uq_invitation_token_hash"),
    )  # fmt: skip
