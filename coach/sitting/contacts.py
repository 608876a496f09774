"""Somebody to call, as every front end shows them.

Owns the shape alone, apart from the other views, since the Today screen needs nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Contact:
    """Somebody to call."""

    who: str
    name: str
    phone: str
    hours: str
