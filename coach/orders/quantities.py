"""Amounts with their units: read, compared, calculated with and written safely.

Owns every unit and every sum in the program. All of it is decimal: nothing here is ever a
float. It must never know what an amount is for.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Context, Decimal, Inexact

import msgspec

from coach.errors import OrderError


class Quantity(msgspec.Struct, frozen=True):
    """An amount and the unit it is in."""

    amount: Decimal
    unit: str
    """One of the units of ``UNITS``."""


UNITS: dict[str, tuple[str, int]] = {
    "mL": ("volume", 1),
    "L": ("volume", 1000),
    "mcg": ("mass", 1),
    "mg": ("mass", 1000),
    "g": ("mass", 1_000_000),
    "units": ("units", 1),
    "s": ("duration", 1),
    "min": ("duration", 60),
    "h": ("duration", 3600),
    "days": ("duration", 86_400),
    "mL/day": ("rate", 1),
    "mL/h": ("rate", 24),
    "mL/min": ("rate", 1440),
    "mcg/mL": ("mass in a volume", 1),
    "mg/mL": ("mass in a volume", 1000),
    "g/mL": ("mass in a volume", 1_000_000),
    "units/mL": ("units in a volume", 1),
    "%": ("share", 1),
}
"""Each unit with what it measures and how many of the smallest unit of that it holds."""

KINDS: dict[str, tuple[str, ...]] = {
    "volume": ("mL", "L"),
    "mass": ("g", "mg", "mcg"),
    "units": ("units",),
    "dose": ("g", "mg", "mcg", "units"),
    "duration": ("s", "min", "h", "days"),
    "rate": ("mL/h", "mL/day", "mL/min"),
    "strength": ("g/mL", "mg/mL", "mcg/mL", "units/mL"),
    "strength in units": ("units/mL",),
    "share": ("%",),
}
"""The units in which each kind of quantity may be written on an order sheet."""

_SPOKEN = {
    "cc": "mL", "ccs": "mL", "millilitre": "mL", "milliliter": "mL", "liter": "L", "litre": "L",
    "gm": "g", "gram": "g", "milligram": "mg",
    "µg": "mcg", "μg": "mcg", "ug": "mcg", "microgram": "mcg",
    "u": "units", "iu": "units", "unit": "units",
    "sec": "s", "second": "s", "m": "min", "minute": "min", "hr": "h", "hour": "h",
    "d": "days", "day": "days",
    "percent": "%", "per cent": "%",
}  # fmt: skip
"""Other ways to write a unit, in lower case: forgiven when typed, corrected on a sheet."""

# No 0 before a comma: 0,500 is a half to some and 500 to others.
_NUMBER = r"(?P<number>[1-9][0-9]{0,2}(?:,[0-9]{3})+|[0-9]+)(?P<part>\.[0-9]+)?"
_WRITTEN = re.compile(_NUMBER + r"(?P<gap> ?)(?P<unit>[^0-9.,\s][^0-9.,]*)")
# Compiled once something is typed: no start needs them.
_TYPED = _NUMBER + r" ?(?P<unit>[^0-9.,\s][^0-9.,]*)?"
_COMMA = r"(?P<whole>[0-9]{1,9}),(?P<part>[0-9]{1,6})(?![0-9,.])"

_DIGITS_BEFORE = 9
_DIGITS_AFTER = 6
_ENOUGH = 60
"""Digits in which every product of two quantities is exact (15 digits each, and a unit)."""

_EXAMPLES = {
    "volume": "5 mL",
    "mass": "500 mg",
    "units": "30 units",
    "dose": "500 mg",
    "duration": "15 s",
    "rate": "100 mL/h",
    "strength": "20 mg/mL",
    "strength in units": "10 units/mL",
    "share": "5%",
}
_TOO_LONG = "Write at most 9 digits before the point and 6 after it."
_PLAIN = "Please type the number as you see it, such as 100."


def _context() -> Context:
    return Context(prec=_ENOUGH, rounding=ROUND_HALF_UP, traps=[])


def parse_quantity(text: str, kind: str) -> Quantity:
    """Return the quantity that *text* states in the strict writing of an order sheet.

    *kind* is one of ``KINDS``. Raises OrderError with a sentence that says what to write:
    a number, one space (none before %) and the unit in full safe writing; at most 9 digits
    before and 6 after the point. (Joint Commission do-not-use list; ISMP error-prone
    abbreviations, 2021.)
    """
    written = " ".join(text.split())
    match = _WRITTEN.fullmatch("0" + written if written.startswith(".") else written)
    unit = _meant(match["unit"]) if match else ""
    if match is None or unit not in KINDS[kind]:
        raise OrderError(_how_to_write(kind))
    number = match["number"] + (match["part"] or "")
    amount = _amount(number)
    if amount is None:
        raise OrderError(_TOO_LONG)
    starts_well = re.match(r"0(\.|$)|[1-9]", number)
    as_written = "days" if match["unit"] == "day" else match["unit"]
    spaced = bool(match["gap"]) is (_gap(unit) == " ")
    if written.startswith(".") or not starts_well or not spaced or as_written != unit:
        plain = number.lstrip("0")
        plain = plain if plain[:1].isdigit() else "0" + plain
        named = "day" if (plain, unit) == ("1", "days") else unit
        raise OrderError(_how_to_write(kind, f"{plain}{_gap(named)}{named}"))
    return Quantity(amount, unit)


def _gap(unit: str) -> str:
    """Return what stands between a number and its *unit*."""
    return "" if unit == "%" else " "


def _amount(number: str) -> Decimal | None:
    """Return the number, or None if it has more digits than are allowed."""
    digits, _, part = number.replace(",", "").partition(".")
    if len(digits) > _DIGITS_BEFORE or len(part) > _DIGITS_AFTER:
        return None
    return Decimal(f"{digits}.{part}" if part else digits)


def _meant(unit: str) -> str:
    """Return the unit that *unit* means in any common writing, or ``""``."""
    top, slash, bottom = unit.strip().replace(" per ", "/").partition("/")
    found = _one_unit(top)
    if not slash:
        return found
    below = _one_unit(bottom)
    joined = f"{found}/{'day' if below == 'days' else below}"
    return joined if joined in UNITS else ""


def _one_unit(name: str) -> str:
    low = name.strip().lower()
    for spelling in (low, low.removesuffix("s")):
        for unit in UNITS:
            if spelling == unit.lower():
                return unit
        if spelling in _SPOKEN:
            return _SPOKEN[spelling]
    return ""


def _how_to_write(kind: str, instead: str = "") -> str:
    """Return the sentence that says how a *kind* is written, or what to write *instead*."""
    if instead:
        return f"Write {instead}."
    *others, last = KINDS[kind]
    listed = f"{', '.join(others)} or {last}" if others else last
    between = ", a space and" if _gap(last) else " and"
    return f"Write a number{between} {listed}, such as {_EXAMPLES[kind]}."


_UNIT_NEEDED = {"mass in a volume": "mg/mL", "units in a volume": "units/mL"}
"""Labels give a strength in several units; an example for each kind."""


def refuse_without_unit(expected: Quantity, typed: str) -> None:
    """See that *typed* says its unit where *expected* is a strength: 1 g/mL is not 1 mg/mL.

    Asked of what is typed now, not of what is on record. Raises OrderError with a calm sentence.
    """
    unit = _UNIT_NEEDED.get(UNITS[expected.unit][0])
    if unit is not None and re.fullmatch(r"[0-9.,\s]+", typed):
        raise OrderError(f"Please type the unit as well, as you see it, such as {unit}.")


def read_typed(expected: Quantity, typed: str) -> Quantity:
    """Return what a person *typed*: a number in the unit of *expected*, or with its own unit.

    Typing is forgiven its case, a missing space and common names of units; the number itself
    is taken as it stands. Raises OrderError with a calm sentence if it cannot be read.
    """
    written = " ".join(typed.split())
    pointed = written.startswith(".")
    match = re.fullmatch(_TYPED, "0" + written if pointed else written)
    amount = _amount(match["number"] + (match["part"] or "")) if match else None
    if match is None or amount is None:
        raise OrderError(_with_a_point(written) or _PLAIN)
    if pointed:
        raise OrderError(f"Please type a 0 before the point, such as 0{match['part']}.")
    if match["unit"] is None:
        return Quantity(amount, expected.unit)
    unit = _meant(match["unit"])
    if not unit:
        raise OrderError(f"Please type the number alone, or with its unit: {expected.unit}.")
    return Quantity(amount, unit)


def _with_a_point(written: str) -> str:
    """Return the sentence that shows a number typed with a comma written safely.

    Empty where it has none, or where the comma could stand for thousands.
    """
    match = re.match(_COMMA, written)
    part = match["part"].rstrip("0") if match else ""
    if match is None or len(match["part"]) == 3 or not part:
        return ""
    return f"Use a point: {int(match['whole'])}.{part}."


def _in_smallest(quantity: Quantity) -> Decimal:
    return product(quantity.amount, Decimal(UNITS[quantity.unit][1]))


def same(one: Quantity, other: Quantity) -> bool:
    """Tell whether two quantities are exactly equal; those of different kinds never are."""
    if UNITS[one.unit][0] != UNITS[other.unit][0]:
        return False
    return _in_smallest(one) == _in_smallest(other)


def more(one: Quantity, other: Quantity) -> bool:
    """Tell whether *one* is more than *other*, exactly. Raises OrderError across kinds."""
    if UNITS[one.unit][0] != UNITS[other.unit][0]:
        raise OrderError(f"{shown(one)} cannot be held against {shown(other)}.")
    return _in_smallest(one) > _in_smallest(other)


def in_unit(quantity: Quantity, unit: str) -> Quantity:
    """Return *quantity* in *unit*.

    Exact where a decimal number can say it; otherwise rounded half up to 6 places. Raises
    OrderError if *unit* measures something else.
    """
    if UNITS[quantity.unit][0] != UNITS[unit][0]:
        raise OrderError(f"{shown(quantity)} cannot be given in {unit}.")
    return Quantity(divided(_in_smallest(quantity), Decimal(UNITS[unit][1]), 6), unit)


def rounded(quantity: Quantity, unit: str) -> Quantity:
    """Return *quantity* rounded half up to a whole *unit*. Raises OrderError across kinds."""
    if UNITS[quantity.unit][0] != UNITS[unit][0]:
        raise OrderError(f"{shown(quantity)} cannot be given in {unit}.")
    smallest = _in_smallest(quantity)
    return Quantity(divided(smallest, Decimal(UNITS[unit][1]), 0, keep=False), unit)


def total(first: Quantity, *others: Quantity) -> Quantity:
    """Return the sum of quantities of one kind, in the unit of the *first*.

    Exact where a decimal number can say it; otherwise rounded half up to 6 places. Raises
    OrderError across kinds.
    """
    if any(UNITS[first.unit][0] != UNITS[other.unit][0] for other in others):
        raise OrderError("Only amounts of one kind can be added.")
    found = _in_smallest(first)
    for other in others:
        found = _context().add(found, _in_smallest(other))
    return Quantity(divided(found, Decimal(UNITS[first.unit][1]), 6), first.unit)


def product(one: Decimal, other: Decimal) -> Decimal:
    """Return one times the other, exactly, whatever the decimal context around it."""
    return _context().multiply(one, other)


def divided(top: Decimal, bottom: Decimal, places: int, keep: bool = True) -> Decimal:
    """Return the quotient half up to *places*; exact ones stay whole if *keep* says so.

    Raises OrderError if *bottom* is 0.
    """
    if not bottom:
        raise OrderError("Nothing can be divided by 0.")
    context = _context()
    quotient = context.divide(top, bottom)
    if keep and not context.flags[Inexact]:
        return quotient
    return quotient.quantize(Decimal(1).scaleb(-places), context=_context())


def seconds(duration: Quantity) -> Decimal:
    """Return *duration* in seconds, exactly. Raises OrderError for any other kind."""
    return in_unit(duration, "s").amount


def dose_of(strength: Quantity, volume: Quantity) -> Quantity:
    """Return strength times volume, exactly: a mass in the unit of the strength, or units.

    Raises OrderError if the kinds are not those.
    """
    if strength.unit not in KINDS["strength"]:
        raise OrderError(f"{shown(strength)} is not a strength.")
    amount = product(strength.amount, in_unit(volume, "mL").amount)
    return Quantity(amount, strength.unit.removesuffix("/mL"))


def volume_of(dose: Quantity, strength: Quantity) -> Quantity:
    """Return dose divided by strength in mL, rounded half up to a tenth.

    Raises OrderError if the kinds are not those, or the strength is 0.
    """
    if strength.unit not in KINDS["strength"]:
        raise OrderError(f"{shown(strength)} is not a strength.")
    top = in_unit(dose, strength.unit.removesuffix("/mL")).amount
    return Quantity(divided(top, strength.amount, 1, keep=False), "mL")


def time_of(volume: Quantity, rate: Quantity, unit: str = "s") -> Quantity:
    """Return volume divided by rate, rounded half up to a whole *unit* of time.

    Raises OrderError if the kinds are not those, or the rate is 0.
    """
    top = product(in_unit(volume, "mL").amount, Decimal(86_400))
    if UNITS[rate.unit][0] != "rate":
        raise OrderError(f"{shown(rate)} is not a rate.")
    bottom = product(_in_smallest(rate), Decimal(UNITS[unit][1]))
    return Quantity(divided(top, bottom, 0, keep=False), unit)


def rate_of(volume: Quantity, time: Quantity) -> Quantity:
    """Return volume divided by time in mL/h, rounded half up to a tenth, as lessons give it.

    Raises OrderError if the kinds are not those, or the time is 0.
    """
    top = product(in_unit(volume, "mL").amount, Decimal(3600))
    return Quantity(divided(top, seconds(time), 1, keep=False), "mL/h")


def shown(quantity: Quantity) -> str:
    """Return *quantity* in safe writing, for people.

    A 0 before the point and none after the last figure, thousands set apart, a space before
    the unit (none before %); a duration in words. (Joint Commission; ISMP 2021.)
    """
    if UNITS[quantity.unit][0] == "duration":
        return _in_words(quantity)
    return f"{number(quantity.amount)}{_gap(quantity.unit)}{quantity.unit}"


def number(amount: Decimal) -> str:
    """Return *amount* in safe writing, without its unit."""
    written = f"{amount:,f}"
    return written.rstrip("0").rstrip(".") if "." in written else written


def _in_words(duration: Quantity) -> str:
    """Return ``1 hour 30 minutes``; days are named only where the duration is in days."""
    left = seconds(duration)
    parts: list[str] = []
    for size, name in ((86_400, "day"), (3600, "hour"), (60, "minute")):
        if name == "day" and duration.unit != "days":
            continue
        whole, left = _context().divmod(left, Decimal(size))
        if whole:
            parts.append(_counted(whole, name))
    if left or not parts:
        parts.append(_counted(left, "second"))
    return " ".join(parts)


def _counted(amount: Decimal, name: str) -> str:
    return f"{number(amount)} {name}" + ("" if amount == 1 else "s")
