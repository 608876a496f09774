"""Whole doses, driven through the sitting."""
