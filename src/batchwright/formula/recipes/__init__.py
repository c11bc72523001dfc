"""A whole recipe as people paste it: text, a saved page, the own TOML."""
