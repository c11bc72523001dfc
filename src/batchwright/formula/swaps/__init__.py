"""One ingredient out, others in, and what else moves."""
