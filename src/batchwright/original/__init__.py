"""The original: its label, its panel, its weighed pieces, and what it is made of."""
