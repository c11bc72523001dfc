"""Open a book: make it where there is none, bring an older one to this version, refuse what cannot be kept safe."""

from __future__ import annotations

from sqlalchemy import Engine

from batchwright.store.engine import book_url, make_engine
from batchwright.store.tables import metadata


def open_engine(given: str = "") -> Engine:
    """Return the engine of an open book."""
    engine = make_engine(book_url(given))
    metadata.create_all(engine)
    return engine


def shown_place(engine: Engine) -> str:
    """Return where a book lies, in words, without any password."""
    url = engine.url
    return str(url.database) if url.get_backend_name() == "sqlite" else url.render_as_string(hide_password=True)
