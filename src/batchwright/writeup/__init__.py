"""The write-up: the recipe card, its allergen line and its cautions."""
