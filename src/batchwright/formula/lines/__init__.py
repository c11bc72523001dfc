"""One ingredient line of a recipe: amount, unit, item, preparation."""
