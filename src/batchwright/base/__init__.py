"""Errors, units, sources, tables and estimates: what every other room stands on."""
