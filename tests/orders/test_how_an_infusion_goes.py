"""What the pump should show at a moment, through pauses, and what a reading says of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.errors import OrderError
from coach.orders.going import Look, Run, look, progress, running, volume_at
from coach.orders.quantities import Quantity, more, shown, total
from coach.orders.sheet import OrderSheet
from tests.orders.written import sheet, with_pump

START = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
PAUSED: tuple[Run, ...] = (
    (START, START + 6 * MINUTE),
    (START + 16 * MINUTE, START + 22 * MINUTE),
    (START + 30 * MINUTE, START + 12 * HOUR),
)
"""Ran 6 minutes, rested 10, ran 6, rested 8, and then ran on."""


def of(amount: str, unit: str = "mL") -> Quantity:
    """Return the quantity of *amount* in *unit*."""
    return Quantity(Decimal(amount), unit)


def looked(
    typed: str,
    minutes: int,
    earlier: tuple[int, str] | None = None,
    found: OrderSheet | None = None,
) -> Look:
    """Return what is said of *typed* mL after *minutes* of 50 mL at 100 mL/h."""
    at = START + minutes * MINUTE
    before = (START + earlier[0] * MINUTE, of(earlier[1])) if earlier else None
    return look(found or sheet(), ((START, at),), at, of(typed), before)


@pytest.mark.parametrize(
    ("minutes", "given", "left"),
    [
        (0, "0 mL", "50 mL"),
        (6, "10 mL", "40 mL"),
        (16, "10 mL", "40 mL"),
        (19, "15 mL", "35 mL"),
        (30, "20 mL", "30 mL"),
        (48, "50 mL", "0 mL"),
        (600, "50 mL", "0 mL"),
    ],
)
def test_what_was_given_stands_still_in_a_pause(minutes: int, given: str, left: str) -> None:
    found = progress(sheet(), PAUSED, START + minutes * MINUTE)
    assert (shown(found.given), shown(found.left)) == (given, left)


def test_what_the_reservoir_never_gives_stays_in_it() -> None:
    odd = sheet(with_pump("residual: 1.5 mL"))
    assert shown(progress(odd, PAUSED, START).in_reservoir) == "51.5 mL"
    assert shown(progress(odd, PAUSED, START + 10 * HOUR).in_reservoir) == "1.5 mL"


def test_a_line_is_kept_open_after_the_dose_and_only_then() -> None:
    odd = sheet(with_pump("keep_open: 2 mL/h"))
    runs = ((START, START + 9 * HOUR),)
    assert shown(progress(odd, runs, START + 30 * MINUTE).kept_open) == "0 mL"
    assert shown(progress(odd, runs, START + 90 * MINUTE).kept_open) == "2 mL"
    assert shown(progress(odd, runs, START + 90 * MINUTE).given) == "50 mL"
    assert shown(progress(sheet(), runs, START + 90 * MINUTE).kept_open) == "0 mL"


def test_an_hour_that_comes_twice_is_two_hours_of_running() -> None:
    new_york = ZoneInfo("America/New_York")
    start = datetime(2026, 11, 1, 0, 30, tzinfo=new_york)
    end = datetime(2026, 11, 1, 2, 30, tzinfo=new_york)
    assert running(((start, end),), end) == 3 * HOUR


@pytest.mark.parametrize(
    ("runs", "says"),
    [
        (((START, START - MINUTE),), "not one after another"),
        (((START, START + HOUR), (START + MINUTE, START + 2 * HOUR)), "not one after another"),
        (((START.replace(tzinfo=None), START),), "without its distance from UTC"),
    ],
)
def test_times_that_make_no_sense_are_refused(runs: tuple[Run, ...], says: str) -> None:
    with pytest.raises(OrderError, match=says):
        running(runs, START + 3 * HOUR)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 10**10), st.integers(0, 10**10)), max_size=6),
    st.integers(0, 10**11),
    st.integers(1, 9990),
)
def test_given_and_left_agree_with_fractions(
    lengths: list[tuple[int, int]], until: int, tenths: int
) -> None:
    """Runs and pauses in microseconds; what fractions give, to a millionth of a mL."""
    at, runs = START + timedelta(microseconds=until), []
    then = START
    ran = 0
    for pause, length in lengths:
        start = then + timedelta(microseconds=pause)
        then = start + timedelta(microseconds=length)
        runs.append((start, then))
        ran += max(0, min(length, (at - start) // timedelta(microseconds=1)))
    pumped = Fraction(tenths, 10) * Fraction(ran, 3_600_000_000)
    rate = Quantity(Decimal(tenths) / 10, "mL/h")
    span = running(runs, at)
    assert span == timedelta(microseconds=ran)
    assert abs(Fraction(volume_at(rate, span).amount) - pumped) <= Fraction(1, 2_000_000)
    found = progress(sheet(), runs, at)
    assert total(found.given, found.left) == of("50")


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        ("26.4", "behind"),
        ("26.3", "as-expected"),  # as 26.25 may be written
        ("25", "as-expected"),
        ("23.7", "as-expected"),
        ("23.6", "ahead"),
        ("27", "behind"),
        ("26", "as-expected"),
        ("23", "ahead"),
        ("50", "not-moving"),
    ],
)
def test_a_reading_is_held_against_the_window_of_the_tolerance(typed: str, verdict: str) -> None:
    found = looked(typed, 15)
    assert found.verdict == verdict
    # What is as expected by the places that it was typed with lies in the window that is shown.
    least = "23.7 mL" if typed == "23.7" else "23.8 mL"
    assert (shown(found.least), shown(found.expected)) == (least, "25 mL")
    assert shown(found.most) == "26.3 mL"
    assert found.working == "50 mL − 100 mL/h × 15 minutes = 25 mL"


@pytest.mark.parametrize(
    ("typed", "minutes", "call"),
    [("0", 8, True), ("20", 8, True), ("24", 8, False), ("33", 8, False), ("0", 27, True)],
)
def test_all_gone_too_soon_or_twice_what_should_have_gone_cannot_wait(
    typed: str, minutes: int, call: bool
) -> None:
    found = looked(typed, minutes)
    assert (found.verdict, found.call) == ("ahead", call)


def test_a_narrower_tolerance_makes_a_narrower_window() -> None:
    odd = sheet(with_pump("tolerance: 2%"))
    assert looked("24.4", 15, found=odd).verdict == "ahead"
    assert looked("24.5", 15, found=odd).verdict == "as-expected"


@pytest.mark.parametrize(
    ("typed", "earlier", "verdict"),
    [
        ("40", (6, "40"), "not-moving"),
        ("40.1", (6, "40"), "not-moving"),
        ("39.9", (6, "40"), "behind"),
        ("25", (6, "40"), "as-expected"),
        ("25", (15, "25"), "as-expected"),  # read twice at the same moment
        ("25", (14, "25.5"), "as-expected"),
    ],
)
def test_a_number_that_stood_still_is_told(
    typed: str, earlier: tuple[int, str], verdict: str
) -> None:
    assert looked(typed, 15, earlier).verdict == verdict


def test_a_pump_that_rests_is_not_called_stuck() -> None:
    runs = ((START, START + 6 * MINUTE),)
    before = (START + 6 * MINUTE, of("40"))
    found = look(sheet(), runs, START + 3 * HOUR, of("40"), before)
    assert found.verdict == "as-expected"


@pytest.mark.parametrize(("typed", "verdict"), [("1", "as-expected"), ("1.2", "behind")])
def test_at_the_end_as_much_may_be_left_as_the_sheet_says(typed: str, verdict: str) -> None:
    assert looked(typed, 40, (25, "9")).verdict == verdict


@pytest.mark.parametrize(
    ("typed", "minutes", "call"),
    [
        ("22.5", 15, False),  # just 10%
        ("22.4", 15, True),
        ("27.6", 15, True),
        ("50", 15, True),
        ("31", 14, False),  # not for 15 minutes yet
        ("25", 15, False),
        ("0", 60, False),
    ],
)
def test_far_off_for_a_quarter_of_an_hour_is_a_call(typed: str, minutes: int, call: bool) -> None:
    assert looked(typed, minutes).call is call


def test_more_than_the_whole_is_asked_for_again() -> None:
    with pytest.raises(
        OrderError, match=r"^51 mL is more than the whole 50 mL\. Look once more\.$"
    ):
        looked("51", 15)


def test_a_reading_that_is_no_volume_is_refused() -> None:
    with pytest.raises(OrderError):
        look(sheet(), ((START, START),), START, of("25", "mg"), None)


@settings(deadline=None)
@given(st.integers(0, 3000), st.integers(0, 500), st.integers(0, 500))
def test_every_reading_gets_one_verdict_and_a_window_around_what_is_expected(
    seconds: int, tenths: int, before: int
) -> None:
    at = START + timedelta(seconds=seconds)
    typed, earlier = Quantity(Decimal(tenths) / 10, "mL"), Quantity(Decimal(before) / 10, "mL")
    found = look(sheet(), ((START, at),), at, typed, (START, earlier))
    assert found.verdict in {"as-expected", "ahead", "behind", "not-moving"}
    assert not more(found.least, found.expected)
    assert not more(found.expected, found.most)
    assert not (found.call and found.verdict == "as-expected")
