"""Grams back to cups, spoons, sticks and eggs."""
