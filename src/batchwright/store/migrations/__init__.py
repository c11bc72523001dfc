"""How a book of an older version becomes one of this: Alembic's steps, in order."""
