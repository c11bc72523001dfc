"""Amounts that meet targets and limits."""
