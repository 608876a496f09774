"""Checks held against sources from outside."""
