"""The record in forms that others can read."""
