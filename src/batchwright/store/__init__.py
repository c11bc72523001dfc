"""The kitchen book in a database: records in, records out; computes nothing."""
