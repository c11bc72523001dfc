"""The JSON API: what the pages do, for programs; the same actions, the same digits."""
