"""The book's pages: read input, call one action, show the result."""
