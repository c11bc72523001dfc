"""The book's tables, one set for SQLite and PostgreSQL. Times are ISO 8601 text in UTC; documents are JSON text."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

LARGEST_NUMBER = 2**31 - 1  # what an INTEGER of PostgreSQL holds


class RowNumber(TypeDecorator[int]):
    """The number of a row. One too large for the database is asked for as -1, which no row has."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Any) -> Any:
        """Return what the database is given."""
        return value if value is None or 0 <= value <= LARGEST_NUMBER else -1


rebuild = Table(
    "rebuild",
    metadata,
    Column("id", RowNumber, primary_key=True),
    Column("name", Text, nullable=False),
    Column("made", String(40), nullable=False),
    Column("changed", String(40), nullable=False),
    Column("set_aside", Boolean, nullable=False, default=False),
    Index("ix_rebuild_changed", "changed"),
)

thing = Table(
    "thing",
    metadata,
    Column("id", RowNumber, primary_key=True),
    Column("rebuild_id", RowNumber, ForeignKey("rebuild.id"), nullable=False, index=True),
    Column("kind", String(20), nullable=False),
    Column("name", Text, nullable=False),
    Column("removed", Boolean, nullable=False, default=False),
)

revision = Table(
    "revision",
    metadata,
    Column("id", RowNumber, primary_key=True),
    Column("thing_id", RowNumber, ForeignKey("thing.id"), nullable=False, index=True),
    Column("parent_id", RowNumber, ForeignKey("revision.id"), nullable=True),
    Column("document", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("made", String(40), nullable=False),
    Column("frozen", Boolean, nullable=False, default=False),
    # The document this one brings back (undo, redo): what undo steps over next is read from it.
    Column("brings_back", RowNumber, ForeignKey("revision.id"), nullable=True),
    # Sent by the browser with each save: the same key twice is the same save, sent again over a bad connection.
    Column("sent_key", String(64), nullable=True),
    UniqueConstraint("thing_id", "sent_key", name="uq_revision_sent_key"),
)

# Revisions that another one has taken the place of; the others of a thing are its heads.
settled = Table(
    "settled",
    metadata,
    Column("revision_id", RowNumber, ForeignKey("revision.id"), primary_key=True),
)

picture = Table(
    "picture",
    metadata,
    Column("id", RowNumber, primary_key=True),
    Column("rebuild_id", RowNumber, ForeignKey("rebuild.id"), nullable=False, index=True),
    Column("name", Text, nullable=False),
    Column("media_type", String(40), nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("digest", String(64), nullable=False),
    Column("made", String(40), nullable=False),
    Column("data", LargeBinary, nullable=False),
)

answer = Table(
    "answer",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("program", String(40), nullable=False),
    Column("document", Text, nullable=False),
    Column("made", String(40), nullable=False),
    Column("cited_by", RowNumber, ForeignKey("revision.id"), nullable=True),
    Index("ix_answer_made", "made"),
)

device = Table(
    "device",
    metadata,
    Column("id", RowNumber, primary_key=True),
    Column("name", Text, nullable=False),
    Column("role", String(20), nullable=False),
    Column("rebuild_id", RowNumber, ForeignKey("rebuild.id"), nullable=True),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("made", String(40), nullable=False),
    Column("seen", String(40), nullable=False),
    Column("shut_out", Boolean, nullable=False, default=False),
)

invitation = Table(
    "invitation",
    metadata,
    Column("id", RowNumber, primary_key=True),
    Column("rebuild_id", RowNumber, ForeignKey("rebuild.id"), nullable=False),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("made", String(40), nullable=False),
    Column("expires", String(40), nullable=False),
    Column("used", Boolean, nullable=False, default=False),
)
