"""Batchwright: the workbench of someone who rebuilds a well-known packaged food from scratch."""

__version__ = "0.1.0"
