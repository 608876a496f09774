"""Somebody to call, as every front end shows them.

Owns the shape alone, apart from the other views, since the Today screen needs nothing else.
"""

from __future__ import annotations

import msgspec


class Contact(msgspec.Struct, frozen=True):
    """Somebody to call."""

    who: str
    name: str
    phone: str
    hours: str
