"""How large a window has to be for a screen.

Owns the one number. It must never look at a terminal.
"""

SMALLEST = (40, 12)
"""Columns and rows below which a screen would be cut, so that none is shown."""
