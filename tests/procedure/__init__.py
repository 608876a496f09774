"""Procedures are read, or refused with every line that is wrong; those that ship read plainly."""
