"""The book: what is kept, and that it stays kept."""
