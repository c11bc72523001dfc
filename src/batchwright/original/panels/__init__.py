"""The nutrition panel: printed figures to intervals of the true value."""
