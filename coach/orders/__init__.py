"""The order sheet: read, checked, put in words, and turned into times."""
