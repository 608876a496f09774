"""However odd a sheet is: it is refused in words, or every sum of it comes out, with its unit."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import msgspec
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coach.errors import FileProblems
from coach.orders.dosing import workings
from coach.orders.going import look, progress
from coach.orders.likeness import likeness, programme
from coach.orders.quantities import KINDS, UNITS, Quantity, dose_of, number, time_of
from coach.orders.read import sheet_from_bytes
from coach.orders.sheet import OrderSheet
from coach.orders.values import sheet_values, shown_values
from tests.orders.written import ALSO, SHEET, with_pump, with_tubing

START = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
FIELD_KINDS = {
    "dose": "dose",
    "strength": "strength",
    "volume": "volume",
    "rate": "rate",
    "infusion_time": "duration",
    "window": "duration",
    "warm_up": "duration",
    "out_at_most": "duration",
    "inner_volume": "volume",
    "addons_volume": "volume",
    "hours": "duration",
    "flush_through": "volume",
    "left_when_done": "volume",
    "residual": "volume",
    "keep_open": "rate",
    "tolerance": "share",
    "saline_before": "volume",
    "saline_after": "volume",
    "barrel": "volume",
    "every": "duration",
    "lead_time": "duration",
    "safety": "duration",
    "highest_rate": "rate",
    "heparin_units_per_day": "units",
}
"""The fields that hold a quantity, as they are named in the file, each with its kind."""


def whole_text() -> str:
    """Return a sheet that has every field, one of them a line."""
    text = SHEET + ALSO
    for old, new in (
        with_pump("residual: 1 mL", "keep_open: 1 mL/h", "tolerance: 5%"),
        with_tubing("flush_through: 3 mL"),
    ):
        text = text.replace(old, new)
    return text


TEXT = whole_text()
LINES = tuple(TEXT.splitlines())
PLACES = tuple(
    place for place, line in enumerate(LINES) if line.strip().partition(":")[0] in FIELD_KINDS
)
AMOUNTS = st.one_of(
    st.decimals(min_value=0, max_value=999_999_999, places=6),
    st.decimals(min_value=0, max_value=100, places=1),
    st.sampled_from([Decimal("0.000001"), Decimal(999_999_999), Decimal(0), Decimal(1)]),
)


def written(amount: Decimal, unit: str) -> str:
    """Return the quantity as a sheet has it."""
    return f"{number(amount)}{'' if unit == '%' else ' '}{unit}"


@st.composite
def odd(draw: st.DrawFn) -> str:
    """Draw a sheet in which some quantities are any other of their kind."""
    lines = list(LINES)
    for place in draw(st.sets(st.sampled_from(PLACES), min_size=1, max_size=5)):
        name = lines[place].partition(":")[0]
        unit = draw(st.sampled_from(KINDS[FIELD_KINDS[name.strip()]]))
        lines[place] = f"{name}: {written(draw(AMOUNTS), unit)}"
    return "\n".join(lines)


@st.composite
def fitting(draw: st.DrawFn) -> str:
    """Draw a sheet whose medicine agrees with itself, in any units and sizes."""
    volume = Quantity(Decimal(draw(st.integers(50, 99_999))) / 10, "mL")
    rate = Quantity(Decimal(draw(st.integers(1, 1999))) / 10, "mL/h")
    strength = Quantity(
        Decimal(draw(st.integers(1, 999_999))) / 100, draw(st.sampled_from(KINDS["strength"]))
    )
    dose, time = dose_of(strength, volume), time_of(volume, rate, "min")
    assume(1 <= time.amount <= 100_000)
    new = {"volume": volume, "rate": rate, "strength": strength, "dose": dose}
    new["infusion_time"] = time
    text = TEXT.replace('times: ["09:00", "21:00"]', "every: 80 days\n  first: 2026-11-20T09:00Z")
    text = text.replace("out_at_most: 6 h", "out_at_most: 79 days")
    text = text.replace("keep_open: 1 mL/h", "keep_open: 0.1 mL/h")
    for name, value in new.items():
        text = re.sub(
            rf"(medicine:.*?\n  {name}: )[^\n]*",
            rf"\g<1>{written(value.amount, value.unit)}",
            text,
            count=1,
            flags=re.DOTALL,
        )
    return text


def taken(text: str) -> OrderSheet | None:
    """Return the sheet in *text*, or None if it is refused, in words and with the field."""
    try:
        return sheet_from_bytes(text.encode(), "orders.yaml")
    except FileProblems as refused:
        found = tuple(refused.problems)
    assert all(row.field and row.expected and row.found for row in found)
    return None


def holds_a_float(value: object) -> bool:
    """Tell whether a float hides anywhere in *value*."""
    if isinstance(value, msgspec.Struct):
        return any(holds_a_float(getattr(value, name)) for name in value.__struct_fields__)
    if isinstance(value, tuple):
        return any(holds_a_float(one) for one in value)
    return isinstance(value, float)


SHOWN = re.compile(
    r"(0|[1-9][0-9]{0,2}(,[0-9]{3})*)(\.[0-9]*[1-9])?"
    r"(%| (mL|mg|g|mcg|L|units|(mg|g|mcg|units)/mL|mL/(h|day|min)"
    r"|(day|hour|minute|second|dose|syringe)s?))"
)


def every_sum_comes_out(sheet: OrderSheet, seconds: int) -> None:
    """Assert that what follows from *sheet* is exact, has its units and can be shown."""
    assert not holds_a_float(sheet)
    assert not holds_a_float(workings(sheet))
    for one in workings(sheet):
        parts = re.findall(r"[0-9][^ %]*(?:%| [^ ]+)", one.value)
        assert parts, one
        assert all(SHOWN.fullmatch(part) for part in parts), one
    assert all(isinstance(value, str) for value in shown_values(sheet).values())
    at = START + timedelta(seconds=seconds)
    found = progress(sheet, ((START, at),), at)
    assert not holds_a_float(found)
    seen = look(sheet, ((START, at),), at, found.left, None)
    assert seen.verdict == "as-expected"
    assert not holds_a_float(seen)
    for name, expected in programme(sheet_values(sheet)).items():
        for other in programme(sheet_values(sheet)).values():
            typed = Quantity(other.amount, expected.unit)
            assert isinstance(likeness(expected, typed, programme(sheet_values(sheet))), str), name


@settings(deadline=None)
@given(odd(), st.integers(0, 10**7))
def test_a_sheet_with_odd_amounts_is_refused_or_comes_out(text: str, seconds: int) -> None:
    sheet = taken(text)
    if sheet is not None:
        every_sum_comes_out(sheet, seconds)


@settings(deadline=None)
@given(fitting(), st.integers(0, 10**7))
def test_a_sheet_of_any_size_comes_out(text: str, seconds: int) -> None:
    sheet = taken(text)
    assert sheet is not None
    every_sum_comes_out(sheet, seconds)


def test_every_field_with_a_quantity_is_tried() -> None:
    names = {LINES[place].strip().partition(":")[0] for place in PLACES}
    assert names == set(FIELD_KINDS)
    assert {UNITS[unit][0] for kind in FIELD_KINDS.values() for unit in KINDS[kind]} <= {
        kind for kind, _ in UNITS.values()
    }
