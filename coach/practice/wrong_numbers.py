"""A wrong number for a learner to read off, made from the one that is ordered.

Owns which wrong number it is. It is never one that would pass: that is for the learner to find.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta, tzinfo
from decimal import Decimal

from coach.orders.quantities import Quantity, divided, in_unit, product, read_typed, same, shown
from coach.orders.values import MONTHS, parse_discard
from coach.procedure.model import Reading

TIMES = Decimal(10)
"""A wrong number is ten times the ordered one: a point that was not seen, or a zero too many."""

_DAY = timedelta(days=1)


def wrong_number(
    ask: Reading, values: Mapping[str, Quantity | str], at: datetime, zone: tzinfo
) -> tuple[str, str] | None:
    """Return a wrong number for *ask* at the aware moment *at*: as it is typed, and as it is shown.

    None where the order sheet's *values* have no number for it.
    """
    if ask.check == "outlasts":
        day = (at - _DAY).astimezone(zone)
        written = f"{day.day} {MONTHS[day.month - 1]} {day.year}"
        return written, written
    expected = values[ask.against[0]]
    if isinstance(expected, str) or not expected.amount:
        return None
    wrong = Quantity(product(expected.amount, TIMES), expected.unit)
    whole = values.get(ask.left_of, "")
    if isinstance(whole, Quantity):
        half = divided(in_unit(whole, expected.unit).amount, Decimal(2), 1, keep=False)
        if half > expected.amount:
            wrong = Quantity(half, expected.unit)
    return f"{wrong.amount:f} {wrong.unit}", shown(wrong)


def reads_the_same(
    ask: Reading,
    values: Mapping[str, Quantity | str],
    zone: tzinfo,
    one: str,
    other: str,
) -> bool:
    """Tell whether *one* and *other*, both typed for *ask*, are the same number or date.

    Raises OrderError if one of them cannot be read.
    """
    if ask.check == "outlasts":
        return parse_discard(one, zone) == parse_discard(other, zone)
    expected = values[ask.against[0]]
    if isinstance(expected, str):
        return False
    return same(read_typed(expected, one), read_typed(expected, other))
