"""The first moves toward the original."""
