"""Choices and values of an order sheet, typed readings and discard dates."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, tzinfo
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import OrderError
from coach.orders.quantities import UNITS, Quantity, read_typed
from coach.orders.values import (
    CHOICES,
    DOSE_CHOICES,
    SHEET_CHOICES,
    VALUE_NAMES,
    parse_discard,
    sheet_choices,
    sheet_values,
    shown_values,
    typed_matches,
)
from tests.orders.written import AT_ROOM_TEMPERATURE, sheet

NEW_YORK = ZoneInfo("America/New_York")
NO_HEPARIN = (
    "ordered: yes\n  strength: 10 units/mL\n  volume: 3 mL",
    "ordered: no",
)


def test_the_choices_are_those_of_the_sheet_and_those_of_the_dose() -> None:
    assert CHOICES == {**SHEET_CHOICES, **DOSE_CHOICES}
    assert not SHEET_CHOICES.keys() & DOSE_CHOICES.keys()


def test_a_sheet_answers_each_of_its_choices() -> None:
    assert sheet_choices(sheet()) == {
        "heparin": "ordered",
        "clamp": "present",
        "connector": "negative",
        "storage": "refrigerator",
        "reuse": "allowed",
        "mode": "intermittent",
    }
    assert sheet_choices(sheet(NO_HEPARIN))["heparin"] == "not-ordered"


def test_every_value_has_a_name_and_every_name_a_value() -> None:
    assert sheet_values(sheet()).keys() == VALUE_NAMES
    assert shown_values(sheet()).keys() == VALUE_NAMES


def test_values_are_shown_in_safe_writing() -> None:
    words = shown_values(sheet(("allergies: []", "allergies: [latex, nuts]")))
    assert words["rate"] == "100 mL/h"
    assert words["dose"] == "1 g"
    assert words["heparin_units"] == "30 units"
    assert words["warm_up"] == "45 minutes"
    assert words["tubing_hours"] == "24 hours"
    assert words["sheet_date"] == "20 November 2026"
    assert words["storage_place"] == "the refrigerator"
    assert words["allergies"] == "latex, nuts"
    assert words["emergency_number"] == "911"


def test_a_value_that_does_not_apply_is_none() -> None:
    words = sheet_values(
        sheet(
            NO_HEPARIN,
            AT_ROOM_TEMPERATURE,
            ("reuse: allowed\n  hours: 24 h", "reuse: not-allowed"),
        )
    )
    without = (
        "heparin_strength", "heparin_volume", "heparin_units", "warm_up", "out_at_most",
        "tubing_hours", "address",
    )  # fmt: skip
    assert {name: words[name] for name in without} == dict.fromkeys(without, "none")
    assert words["storage_place"] == "the shelf"
    assert words["allergies"] == "none"


RATE = Quantity(Decimal("120"), "mL/h")


@pytest.mark.parametrize("typed", ["120", "120.0", "120 mL/h", "120ml/hr", "2 mL/min"])
def test_a_reading_matches_in_any_writing_of_the_same_amount(typed: str) -> None:
    assert typed_matches(RATE, typed)


@pytest.mark.parametrize("typed", ["12", "1200", "120.000001", "119", "120 mL", "120 mg", "2"])
def test_a_reading_that_is_off_by_anything_does_not_match(typed: str) -> None:
    assert not typed_matches(RATE, typed)


@pytest.mark.parametrize(
    ("ordered", "typed"),
    [
        ("1 g", "1000 mg"),
        ("0.5 mg", "500 mcg"),
        ("1.5 g", "1,500,000 mcg"),
        ("0.05 L", "50 mL"),
        ("2.1 mL/h", "50.4 mL/day"),
        ("120 mL/h", "2 mL/min"),
        ("1 mL/min", "1440 mL/day"),
        ("90 min", "1.5 h"),
        ("2 h", "120 minutes"),
        ("1 days", "24 h"),
        ("0.02 g/mL", "20 mg/mL"),
        ("5%", "5 percent"),
    ],
)
def test_units_of_one_kind_convert_both_ways(ordered: str, typed: str) -> None:
    assert typed_matches(quantity(ordered), typed)
    assert typed_matches(read_typed(quantity(ordered), typed), ordered)


@pytest.mark.parametrize(
    ("ordered", "typed"),
    [
        ("1 g", "1 mg"),
        ("1 g", "1 mL"),
        ("10 units", "10 mg"),
        ("10 units/mL", "10 mg/mL"),
        ("10 units/mL", "10 units"),
        ("2.1 mL/h", "2.1 mL/day"),
        ("2.1 mL/h", "2.1 mL"),
        ("2.1 mL/h", "50.3 mL/day"),
        ("30 min", "30 h"),
        ("30 min", "0.51 h"),
        ("30 min", "30 mL/min"),
        ("5%", "5 mL"),
        ("33.3 mL/h", "33.33 mL/h"),
        ("100 mL/h", "100.000001 mL/h"),
    ],
)
def test_nothing_else_converts_and_nothing_is_rounded(ordered: str, typed: str) -> None:
    assert not typed_matches(quantity(ordered), typed)


def quantity(written: str) -> Quantity:
    """Return the quantity in *written*, such as ``1 g`` or ``5%``."""
    amount, _, unit = written.replace("%", " %").partition(" ")
    return Quantity(Decimal(amount), unit)


AMOUNTS = st.decimals(min_value="0.000001", max_value=999_999, places=6)


@given(AMOUNTS, st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)))
def test_a_reading_in_another_unit_matches_just_where_both_say_the_same(
    amount: Decimal, unit: str, other: str
) -> None:
    ordered = Quantity(amount, unit)
    if UNITS[unit][0] == UNITS[other][0]:
        exact = Fraction(amount) * UNITS[unit][1] / UNITS[other][1]
        assert typed_matches(ordered, f"{amount:f} {other}") is (exact == Fraction(amount))
    else:
        assert not typed_matches(ordered, f"{amount:f} {other}")


def test_a_reading_that_is_no_number_is_neither() -> None:
    with pytest.raises(OrderError):
        typed_matches(RATE, "about 120")


@pytest.mark.parametrize(
    ("typed", "until"),
    [
        ("2026-11-30", "2026-12-01T05:00"),
        ("30 Nov 2026", "2026-12-01T05:00"),
        ("30 november 2026", "2026-12-01T05:00"),
        ("Nov 30 2026", "2026-12-01T05:00"),
        ("Nov. 30, 2026", "2026-12-01T05:00"),
        ("30NOV2026", "2026-12-01T05:00"),
        ("2026-12-31", "2027-01-01T05:00"),
        ("2028-02-29", "2028-03-01T05:00"),
        ("2026-11-30 14:00", "2026-11-30T19:00"),
        ("2026-11-30T14:00", "2026-11-30T19:00"),
        ("30 Nov 2026 14:00", "2026-11-30T19:00"),
        ("Nov 30 2026, 2 pm", "2026-11-30T19:00"),
        ("Nov 30 2026 at 2:30 p.m.", "2026-11-30T19:30"),
        ("1 Sept 2026 12 am", "2026-09-01T04:00"),
        ("1 Sep 2026 12 PM", "2026-09-01T16:00"),
        ("1 Sep 2026 0:15", "2026-09-01T04:15"),
    ],
)
def test_a_date_alone_lasts_to_the_end_of_the_day_and_a_time_to_the_minute(
    typed: str, until: str
) -> None:
    assert parse_discard(typed, NEW_YORK) == datetime.fromisoformat(until + "+00:00")


DATE = "Please type the date with the month as a word, such as 30 Nov 2026."
TIME = (
    "Please type the date with the month as a word, such as 30 Nov 2026 14:00 or 30 Nov 2026 2 pm."
)
YEAR = "Please look at the year again, then type the whole date."


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("11/30/2026", DATE),
        ("30.11.2026", DATE),
        ("11-30-2026", DATE),
        ("2026-30-11", DATE),
        ("2026-02-29", DATE),
        ("31 Nov 2026", DATE),
        ("30 Foo 2026", DATE),
        ("30 Nov 26", DATE),
        ("Nov 2026", DATE),
        ("", DATE),
        ("tomorrow", DATE),
        ("30 Nov 1026", YEAR),
        ("9999-12-31", YEAR),
        ("2026-11-30 14", TIME),
        ("2026-11-30 24:00", TIME),
        ("2026-11-30 14:00 pm", TIME),
        ("2026-11-30 0 am", TIME),
        ("2026-11-3014:00", TIME),
        ("2026-11-30 soon", TIME),
        ("30 Nov 20266", TIME),
    ],
)
def test_a_date_that_could_mislead_is_refused_with_how_to_type_it(
    typed: str, sentence: str
) -> None:
    with pytest.raises(OrderError) as refused:
        parse_discard(typed, NEW_YORK)
    assert str(refused.value) == sentence


def test_where_summer_time_skips_or_repeats_an_hour_the_earlier_moment_is_taken() -> None:
    assert parse_discard("2026-03-08 02:30", NEW_YORK) == datetime(2026, 3, 8, 6, 30, tzinfo=UTC)
    assert parse_discard("2026-11-01 01:30", NEW_YORK) == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)


def moment_or_sentence(typed: str, zone: tzinfo) -> datetime | str:
    """Return what *typed* means, or the calm sentence that refuses it."""
    try:
        return parse_discard(typed, zone)
    except OrderError as error:
        return str(error)


@given(
    st.text() | st.text("0123456789-:/ aApPmMnNoOvVtT,.", max_size=20),
    st.sampled_from([NEW_YORK, UTC, ZoneInfo("Pacific/Apia"), ZoneInfo("Australia/Lord_Howe")]),
)
def test_any_typing_is_a_moment_or_an_order_error(typed: str, zone: tzinfo) -> None:
    found = moment_or_sentence(typed, zone)
    if isinstance(found, str):
        assert found.startswith("Please ")
    else:
        assert found.utcoffset() == timedelta()


@given(st.datetimes(datetime(2000, 1, 2), datetime(2099, 12, 30)))  # noqa: DTZ001 - local times
def test_the_same_date_in_two_writings_is_the_same_moment(local: datetime) -> None:
    iso, spoken = f"{local:%Y-%m-%d %H:%M}", f"{local.day} {local:%b %Y %I:%M %p}"
    assert parse_discard(iso, NEW_YORK) == parse_discard(spoken, NEW_YORK)
