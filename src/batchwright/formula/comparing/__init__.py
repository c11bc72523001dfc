"""Recipes beside the original, axis by axis."""
