"""One contradiction of an order sheet, and the shape of a check that finds some.

Owns what a contradiction says. It must never know a check.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from decimal import Decimal

import msgspec

from coach.orders.quantities import Quantity, shown
from coach.orders.sheet import OrderSheet

ASK = "Ask the nurse or the pharmacist which one is right."
"""What to do with two values of which one must be wrong."""


class Clash(msgspec.Struct, frozen=True):
    """One contradiction: where, what would have been right and why, and what stands there."""

    field: str
    expected: str
    found: str
    hint: str = ASK


Check = Callable[[OrderSheet], Iterator[Clash]]
"""Yields what a sheet says against itself, or against a floor or a limit."""


def spoken(span_of_time: timedelta) -> str:
    """Return a span of time in words, to the whole second below."""
    return shown(Quantity(Decimal(span_of_time // timedelta(seconds=1)), "s"))
