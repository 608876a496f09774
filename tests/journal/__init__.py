"""Promises of the record on disk."""
