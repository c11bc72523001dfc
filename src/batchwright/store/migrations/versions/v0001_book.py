"""The first book: rebuilds, things, revisions, pictures, answers."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables of the first book."""
    op.create_table(
        "rebuild",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("changed", sa.String(40), nullable=False),
        sa.Column("set_aside", sa.Boolean, nullable=False),
    )
    op.create_index("ix_rebuild_changed", "rebuild", ["changed"])
    op.create_table(
        "thing",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("rebuild_id", sa.Integer, sa.ForeignKey("rebuild.id", name="fk_thing_rebuild_id"), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("removed", sa.Boolean, nullable=False),
    )
    op.create_index("ix_thing_rebuild_id", "thing", ["rebuild_id"])
    op.create_table(
        "revision",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("thing_id", sa.Integer, sa.ForeignKey("thing.id", name="fk_revision_thing_id"), nullable=False),
        sa.Column("parent_id", sa.Integer, sa.ForeignKey("revision.id", name="fk_revision_parent_id")),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("frozen", sa.Boolean, nullable=False),
    )
    op.create_index("ix_revision_thing_id", "revision", ["thing_id"])
    op.create_table(
        "picture",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("rebuild_id", sa.Integer, sa.ForeignKey("rebuild.id", name="fk_picture_rebuild_id"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("media_type", sa.String(40), nullable=False),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
    )
    op.create_index("ix_picture_rebuild_id", "picture", ["rebuild_id"])
    op.create_table(
        "answer",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("program", sa.String(40), nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("made", sa.String(40), nullable=False),
        sa.Column("cited_by", sa.Integer, sa.ForeignKey("revision.id", name="fk_answer_cited_by")),
    )
