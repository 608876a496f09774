"""What a procedure may ask of an order sheet, and the words and numbers it may show from it.

Owns the names of choices and values, and the comparing of what was typed with what is ordered.
It must never read a file, and never say which of two numbers is right.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from coach.errors import OrderError
from coach.orders.floors import FLUSH_TIMES
from coach.orders.quantities import Quantity, dose_of, in_unit, read_typed, same, shown, total
from coach.orders.sheet import Line, OrderSheet

SHEET_CHOICES: Mapping[str, tuple[str, ...]] = {
    "heparin": ("ordered", "not-ordered"),
    "clamp": ("present", "none"),
    "connector": ("negative", "positive", "neutral"),
    "storage": ("refrigerator", "room"),
    "reuse": ("allowed", "not-allowed"),
    "mode": ("intermittent", "continuous"),
}
"""What the order sheet decides, with its possible answers."""

DOSE_CHOICES: Mapping[str, tuple[str, ...]] = {
    "tubing": ("new", "kept"),
    "batteries": ("due", "not-due"),
    "last": ("finished", "stopped"),
}
"""What differs from dose to dose; the order sheet does not decide it."""

CHOICES: Mapping[str, tuple[str, ...]] = {**SHEET_CHOICES, **DOSE_CHOICES}
"""All that a condition of a procedure may ask."""

NONE = "none"
"""Stands where a value does not apply, such as heparin where none is ordered."""

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip


def sheet_choices(sheet: OrderSheet) -> dict[str, str]:
    """Return the answer of *sheet* to each of ``SHEET_CHOICES``."""
    return {
        "heparin": "ordered" if sheet.heparin.ordered else "not-ordered",
        "clamp": sheet.line.clamp,
        "connector": sheet.line.connector,
        "storage": sheet.bag.storage,
        "reuse": sheet.tubing.reuse,
        "mode": sheet.medicine.mode,
    }


def least_flush(line: Line) -> Quantity:
    """Return the least flush in mL: twice the volume of catheter and add-ons.

    INS 2016, 2021 (memory).
    """
    return total(*(in_unit(line.inner_volume, "mL"), line.addons_volume) * FLUSH_TIMES)


def heparin_units(sheet: OrderSheet) -> Quantity | None:
    """Return the units in one heparin lock, or None where none is ordered."""
    heparin = sheet.heparin
    if heparin.strength is None or heparin.volume is None:
        return None
    return dose_of(heparin.strength, heparin.volume)


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


_VALUES: Mapping[str, Callable[[OrderSheet], Quantity | str | None]] = {
    "person": lambda sheet: sheet.person.initials,
    "address": lambda sheet: sheet.person.address or NONE,
    "agency": lambda sheet: sheet.agency,
    "line_kind": lambda sheet: sheet.line.kind,
    "medicine": lambda sheet: sheet.medicine.name,
    "dose": lambda sheet: sheet.medicine.dose,
    "strength": lambda sheet: sheet.medicine.strength,
    "volume": lambda sheet: sheet.medicine.volume,
    "rate": lambda sheet: sheet.medicine.rate,
    "infusion_time": lambda sheet: sheet.medicine.infusion_time,
    "bag_looks": lambda sheet: sheet.medicine.looks,
    "storage_place": lambda sheet: (
        "the refrigerator" if sheet.bag.storage == "refrigerator" else "the shelf"
    ),
    "warm_up": lambda sheet: sheet.bag.warm_up,
    "out_at_most": lambda sheet: sheet.bag.out_at_most,
    "window": lambda sheet: sheet.doses.window,
    "tubing_volume": lambda sheet: sheet.tubing.inner_volume,
    "tubing_hours": lambda sheet: sheet.tubing.hours,
    "batteries_every": lambda sheet: sheet.pump.batteries_every,
    "left_when_done": lambda sheet: sheet.pump.left_when_done,
    "flush_before": lambda sheet: sheet.flush.saline_before,
    "flush_after": lambda sheet: sheet.flush.saline_after,
    "heparin_strength": lambda sheet: sheet.heparin.strength,
    "heparin_volume": lambda sheet: sheet.heparin.volume,
    "heparin_units": heparin_units,
    "scrub_product": lambda sheet: sheet.scrub.product,
    "scrub_time": lambda sheet: sheet.scrub.time,
    "dry_time": lambda sheet: sheet.scrub.dry,
    "wash_time": lambda sheet: sheet.hands.wash,
    "rub_time": lambda sheet: sheet.hands.rub,
    "allergies": lambda sheet: ", ".join(sheet.allergies) or NONE,
    "nurse_name": lambda sheet: sheet.contacts.nurse.name,
    "nurse_phone": lambda sheet: sheet.contacts.nurse.phone,
    "nurse_hours": lambda sheet: sheet.contacts.nurse.hours,
    "pharmacist_name": lambda sheet: sheet.contacts.pharmacist.name,
    "pharmacist_phone": lambda sheet: sheet.contacts.pharmacist.phone,
    "pharmacist_hours": lambda sheet: sheet.contacts.pharmacist.hours,
    "emergency_number": lambda sheet: sheet.contacts.emergency_number,
    "sheet_id": lambda sheet: sheet.sheet.id,
    "sheet_version": lambda sheet: str(sheet.sheet.version),
    "sheet_date": lambda sheet: _day(sheet.sheet.date),
}

VALUE_NAMES: frozenset[str] = frozenset(_VALUES)
"""The names by which a procedure may use a value of the order sheet."""


def sheet_values(sheet: OrderSheet) -> dict[str, Quantity | str]:
    """Return every value of *sheet* by name; one that does not apply is ``none``."""
    found: dict[str, Quantity | str] = {}
    for name, read in _VALUES.items():
        value = read(sheet)
        found[name] = NONE if value is None else value
    return found


def shown_values(sheet: OrderSheet) -> dict[str, str]:
    """Return every value of *sheet* by name, in words and safe writing."""
    return {
        name: shown(value) if isinstance(value, Quantity) else value
        for name, value in sheet_values(sheet).items()
    }


def typed_matches(expected: Quantity, typed: str) -> bool:
    """Tell whether what was *typed* is exactly *expected*; nothing is rounded or let pass.

    A number alone is taken in the unit of *expected*; one with a unit of another kind is not
    equal. Raises OrderError with a calm sentence if it cannot be read as a number.
    """
    return same(expected, read_typed(expected, typed))


# Compiled once something is typed: no start needs them.
_TIME = r"(?i:(?P<hour>[0-9]{1,2})(?::(?P<minute>[0-5][0-9]))?(?: ?(?P<half>[ap])\.?m\.?)?)"
_DATE = (
    r"(?:(?P<year>[0-9]{4})-(?P<number>[0-9]{2})-(?P<day>[0-9]{2})"
    r"|(?P<day_2>[0-9]{1,2}) ?(?P<month_2>[A-Za-z]{3,9})\.?,? ?(?P<year_2>[0-9]{4})"
    r"|(?P<month_3>[A-Za-z]{3,9})\.? ?(?P<day_3>[0-9]{1,2}),? (?P<year_3>[0-9]{4}))"
    r"(?P<rest>.*)"
)
_BETWEEN = r"(?:,| at|T)? ?"

_HOW = "Please type the date with the month as a word, such as 30 Nov 2026"
_HOW_DATE = f"{_HOW}."
_HOW_TIME = f"{_HOW} 14:00 or 30 Nov 2026 2 pm."
FIRST_YEAR, LAST_YEAR = 2000, 2099
"""Years that a sheet or a label can bear; any other is a slip of the key."""


def parse_discard(typed: str, zone: tzinfo) -> datetime:
    """Return the moment, in UTC, until which a bag may be used, by the date on its label.

    A date alone lasts to the end of that day in *zone* (USP <795> wording, restated). Where
    summer time makes a clock time happen twice or never, the earlier moment is taken, as that
    is the safe side. Raises OrderError, saying how to type it, for any form in which day and
    month could be mistaken for each other.
    """
    match = re.fullmatch(_DATE, " ".join(typed.split()))
    if match is None:
        raise OrderError(_HOW_DATE)
    day = _typed_day(match)
    rest = match["rest"]
    if not rest:
        return _earlier(day + timedelta(days=1), time(), zone)
    between = re.match(_BETWEEN, rest)
    clock = re.fullmatch(_TIME, rest[between.end() :]) if between and between.end() else None
    if clock is None:
        raise OrderError(_HOW_TIME)
    return _earlier(day, _typed_time(clock), zone)


def _typed_day(match: re.Match[str]) -> date:
    year = match["year"] or match["year_2"] or match["year_3"]
    day = match["day"] or match["day_2"] or match["day_3"]
    month = int(match["number"] or 0) or _month(match["month_2"] or match["month_3"] or "")
    if not FIRST_YEAR <= int(year) <= LAST_YEAR:
        raise OrderError("Please look at the year again, then type the whole date.")
    try:
        return date(int(year), month, int(day))
    except ValueError as error:
        raise OrderError(_HOW_DATE) from error


def _month(word: str) -> int:
    """Return the number of the month that *word* begins, or 0."""
    low = word.lower()
    for number, month in enumerate(MONTHS, start=1):
        if low and (month.lower().startswith(low) or (low == "sept" and number == 9)):
            return number
    return 0


def _typed_time(clock: re.Match[str]) -> time:
    hour, half = int(clock["hour"]), (clock["half"] or "").lower()
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "p" else 0)
    elif half or hour > 23 or clock["minute"] is None:
        raise OrderError(_HOW_TIME)
    return time(hour, int(clock["minute"] or 0))


def _earlier(day: date, clock: time, zone: tzinfo) -> datetime:
    local = datetime.combine(day, clock, zone)
    return min(local.astimezone(UTC), local.replace(fold=1).astimezone(UTC))
