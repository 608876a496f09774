"""Readers for single values on an order sheet: text, names, dates, times and quantities.

Owns the form of one value. It must never compare two values.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, time
from decimal import Decimal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from coach.errors import OrderError
from coach.nodes import Bad, Node, nearest, one_of, text, whole
from coach.orders.floors import LONGEST_TIME
from coach.orders.quantities import Quantity, parse_quantity, seconds, shown
from coach.orders.values import FIRST_YEAR, LAST_YEAR, SHEET_CHOICES

SCHEMA = 1
"""The version of the file's fields that this program reads."""

LONGEST_TEXT = 60
"""Characters: what fits on a small screen in two lines."""

_KIND_WORDS = {
    "volume": "a volume, such as 5 mL",
    "dose": "a dose, such as 1 g",
    "units": "a number of units, such as 300 units",
    "duration": "a time, such as 15 s or 30 min",
    "rate": "a rate, such as 100 mL/h",
    "strength": "a strength, such as 20 mg/mL",
    "strength in units": "a strength in units, such as 10 units/mL",
    "share": "a share, such as 5%",
}
# The forms of text, for the readers below and for editors.
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
PHONE = re.compile(r"[0-9+() -]*[0-9][0-9+() -]*")
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
TIME = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")
MOMENT = re.compile(rf"{DATE.pattern}T{TIME.pattern}(Z|[+-]{TIME.pattern})")
ZONE = re.compile(r"[A-Z][A-Za-z0-9_+-]*(/[A-Z][A-Za-z0-9_+-]*)*")


def words(node: Node) -> str:
    """Read a short text. Raises Bad."""
    found = text(node)
    if len(found) > LONGEST_TEXT:
        raise Bad(node.problem(f"at most {LONGEST_TEXT} characters", f"{len(found)} of them"))
    return found


def identifier(node: Node) -> str:
    """Read a name of lower-case letters, digits and hyphens. Raises Bad."""
    found = words(node)
    if not ID.fullmatch(found):
        raise Bad(node.problem("lower-case letters, digits and hyphens between them"))
    return found


def phone(node: Node) -> str:
    """Read a telephone number. Raises Bad."""
    found = words(node)
    if not PHONE.fullmatch(found):
        raise Bad(node.problem("a phone number of digits, +, spaces, hyphens and parentheses"))
    return found


def day(first_year: int = FIRST_YEAR) -> Callable[[Node], date]:
    """Return a reader for a date such as ``2026-11-20``, from *first_year* on."""

    def read(node: Node) -> date:
        try:
            written = text(node)
            found = date.fromisoformat(written if DATE.fullmatch(written) else "")
        except ValueError as error:
            raise Bad(node.problem("a date, such as 2026-11-20")) from error
        if not first_year <= found.year <= LAST_YEAR:
            raise Bad(node.problem(f"a year from {first_year} to {LAST_YEAR}"))
        return found

    return read


def clock_time(node: Node) -> time:
    """Read a time of day such as ``09:00``, in 24 hours. Raises Bad."""
    try:
        written = text(node)
        return time.fromisoformat(written if TIME.fullmatch(written) else "")
    except ValueError as error:
        raise Bad(node.problem("a time of day from 00:00 to 23:59, such as 09:00")) from error


def moment(node: Node) -> datetime:
    """Read an instant such as ``2026-11-20T09:00-05:00``; the offset must be there. Raises Bad."""
    try:
        written = text(node)
        found = datetime.fromisoformat(written if MOMENT.fullmatch(written) else "")
    except ValueError as error:
        expected = "a date and time with its offset from UTC, such as 2026-11-20T09:00-05:00"
        raise Bad(node.problem(expected)) from error
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise Bad(node.problem(f"a year from {FIRST_YEAR} to {LAST_YEAR}"))
    return found


def zone_name(node: Node) -> str:
    """Read the IANA name of a time zone that this machine knows. Raises Bad."""
    found = words(node)
    try:
        if ZONE.fullmatch(found):
            return ZoneInfo(found).key
    except (ZoneInfoNotFoundError, ValueError, OSError):
        pass  # the same answer as for a name of the wrong form
    hint = nearest(found, available_timezones())
    raise Bad(node.problem("a time zone, such as America/New_York", hint=hint))


def quantity(kind: str) -> Callable[[Node], Quantity]:
    """Return a reader for a quantity of *kind*, 0 included; a duration is at most 90 days."""

    def read(node: Node) -> Quantity:
        written = text(node)
        try:
            found = parse_quantity(written, kind)
        except OrderError as error:
            raise Bad(node.problem(_KIND_WORDS[kind], hint=str(error))) from error
        if kind == "duration" and seconds(found) > seconds(LONGEST_TIME):
            raise Bad(node.problem(f"at most {shown(LONGEST_TIME)}"))
        return found

    return read


def some(kind: str) -> Callable[[Node], Quantity]:
    """Return a reader for a quantity of *kind* above 0; a duration is at most 90 days."""
    read_any = quantity(kind)

    def read(node: Node) -> Quantity:
        found = read_any(node)
        if found.amount == Decimal(0):
            raise Bad(node.problem("more than 0"))
        return found

    return read


def schema(node: Node) -> int:
    """Read the version of the file's fields, which must be ``SCHEMA``. Raises Bad."""
    found = whole(node)
    if found != SCHEMA:
        raise Bad(node.problem(f"schema {SCHEMA}"))
    return found


def mode(node: Node) -> str:
    """Read the mode of an infusion, intermittent alone. Raises Bad."""
    found = one_of(*SHEET_CHOICES["mode"])(node)
    if found == "continuous":
        hint = "The coach can not take you through a continuous infusion yet."
        raise Bad(node.problem("intermittent", hint=hint))
    return found


def lumens(node: Node) -> int:
    """Read how many ends a line has, one alone. Raises Bad."""
    found = whole(node)
    if found != 1:
        hint = "The coach can not say yet which end of a line with several ends to use."
        raise Bad(node.problem("1", hint=hint))
    return found
