"""Facts about ingredients: composition, names, measures, allergens, and how a printed name finds its shelf."""
