"""Answers found by their age, so that old ones that nothing cites can go."""

from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the index."""
    op.create_index("ix_answer_made", "answer", ["made"])
