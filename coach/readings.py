"""What was read off and typed, held against the order sheet.

Owns the ways of comparing. Each is exact: equal or not equal, over in time or not. It must
never say which of two numbers is right.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, tzinfo

from coach.orders.quantities import Quantity, in_unit, read_typed, seconds
from coach.orders.values import parse_discard, typed_matches
from coach.procedure.model import Reading


def whole_seconds(time: Quantity) -> int:
    """Return *time* in seconds, rounded up to a whole one: never shorter than ordered."""
    return math.ceil(seconds(time))


def holds(
    ask: Reading,
    values: Mapping[str, Quantity | str],
    typed: str,
    at: datetime,
    zone: tzinfo,
) -> bool:
    """Tell whether *typed* at the aware moment *at* agrees with the order sheet's *values*.

    Raises OrderError if *typed* cannot be read as what is asked for.
    """
    if ask.check == "outlasts":
        return _outlasts(ask, values, typed, at, zone)
    expected = values[ask.against[0]]
    if isinstance(expected, str):
        return False
    if ask.check == "equals":
        return typed_matches(expected, typed)
    found = read_typed(expected, typed)
    return in_unit(found, expected.unit).amount <= expected.amount


def _outlasts(
    ask: Reading,
    values: Mapping[str, Quantity | str],
    typed: str,
    at: datetime,
    zone: tzinfo,
) -> bool:
    needed = timedelta()
    for name in ask.against:
        value = values[name]
        if isinstance(value, Quantity):
            needed += timedelta(seconds=whole_seconds(value))
    return parse_discard(typed, zone) >= at.astimezone(UTC) + needed
