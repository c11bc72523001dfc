"""From measures to grams, by the convention the recipe follows."""
