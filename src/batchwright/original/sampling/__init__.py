"""How such foods are usually made, and the walk through the region under it."""
