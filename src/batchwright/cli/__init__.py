"""The counter at the terminal: read input, call one action, show the result."""
