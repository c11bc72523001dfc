"""The ingredient statement: printed text to a tree, every repair told."""
