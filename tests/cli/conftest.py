"""Books for the tests of this folder."""

from tests.books import book, engine, file_place, new_place, place, ready_file, ready_schema, schemas

__all__ = ["book", "engine", "file_place", "new_place", "place", "ready_file", "ready_schema", "schemas"]
