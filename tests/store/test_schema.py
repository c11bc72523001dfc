"""The steps of the book lead to the tables the program works with, name by name, on each database."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Engine, create_engine, inspect, make_url, text

from batchwright.store.engine import book_url, make_engine
from batchwright.store.opening import open_engine
from batchwright.store.tables import metadata
from tests.books import Schemas


def described(engine: Engine) -> dict[str, Any]:
    """Return columns and the names and columns of all keys and indexes."""
    seen = inspect(engine)
    found: dict[str, Any] = {}
    for name in seen.get_table_names():
        if name == "alembic_version":
            continue
        pk = seen.get_pk_constraint(name)
        found[name] = {
            "columns": {(c["name"], str(c["type"]), c["nullable"]) for c in seen.get_columns(name)},
            "primary": (pk["name"], *pk["constrained_columns"]),
            "foreign": {(key["name"], *key["constrained_columns"], key["referred_table"])
                        for key in seen.get_foreign_keys(name)},
            "unique": {(k["name"], *k["column_names"]) for k in seen.get_unique_constraints(name)},
            "indexes": {(i["name"], *i["column_names"]) for i in seen.get_indexes(name)},
        }  # fmt: skip
    return found


def test_steps_and_tables_agree(new_place: str, request: Any) -> None:
    stepped = open_engine(new_place)
    if stepped.dialect.name == "sqlite":
        made = create_engine("sqlite://")
    else:
        schemas: Schemas = request.getfixturevalue("schemas")
        made = make_engine(book_url(make_url(schemas.new()).render_as_string(hide_password=False)))
    metadata.create_all(made)
    by_steps, by_tables = described(stepped), described(made)
    assert by_steps.keys() == by_tables.keys() == {table.name for table in metadata.sorted_tables}
    for name, table in by_tables.items():
        assert by_steps[name] == table, name
    stepped.dispose()
    made.dispose()


def test_a_file_is_written_through_with_links_checked(file_place: str) -> None:
    engine = open_engine(file_place)
    with engine.connect() as connection:
        asked = {name: connection.execute(text(f"PRAGMA {name}")).scalar()
                 for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")}  # fmt: skip
    engine.dispose()
    assert asked == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 15000}
