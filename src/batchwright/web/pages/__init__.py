"""One router for each room of the book."""
