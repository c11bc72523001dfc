"""The region of all makeups that a label allows: its exact bounds, what pins them, what strains it."""
