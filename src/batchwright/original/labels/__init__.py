"""The label as a whole: statement, panel and tear-down brought to the unknowns of a decode."""
