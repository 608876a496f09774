"""Quantities: what is taken from a sheet, what is refused and how, and what is shown."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import OrderError
from coach.orders.quantities import (
    KINDS,
    UNITS,
    Quantity,
    in_unit,
    more,
    parse_quantity,
    read_typed,
    refuse_without_unit,
    rounded,
    same,
    seconds,
    shown,
    total,
)

AMOUNTS = st.decimals(min_value=0, max_value=999_999_999, places=6, allow_nan=False)
TIMES = [unit for unit in sorted(UNITS) if UNITS[unit][0] == "duration"]
DURATIONS = st.builds(Quantity, AMOUNTS, st.sampled_from(TIMES))
OTHERS = st.builds(Quantity, AMOUNTS, st.sampled_from(sorted(UNITS.keys() - {*TIMES})))
QUANTITIES = DURATIONS | OTHERS
LIKE_NUMBERS = st.text("0123456789.,-+eE mLghcudys/µ٣ ", max_size=14)


def of(amount: str, unit: str) -> Quantity:
    """Return the quantity of *amount* in *unit*."""
    return Quantity(Decimal(amount), unit)


def answer(read: Callable[..., Quantity], *given_to: object) -> Quantity | str:
    """Return what *read* makes of what is given to it: a quantity, or its calm sentence."""
    try:
        return read(*given_to)
    except OrderError as error:
        return str(error)


@pytest.mark.parametrize(
    ("text", "kind", "amount", "unit"),
    [
        ("2.50 mL", "volume", "2.50", "mL"),
        ("1,000 mg", "dose", "1000", "mg"),
        ("12,345,678.5 units", "units", "12345678.5", "units"),
        ("  5   mL ", "volume", "5", "mL"),
        ("0.5 L", "volume", "0.5", "L"),
        ("1 day", "duration", "1", "days"),
        ("999999999.999999 mcg", "mass", "999999999.999999", "mcg"),
        ("10 units/mL", "strength", "10", "units/mL"),
        ("2 mL/day", "rate", "2", "mL/day"),
    ],
)
def test_a_quantity_keeps_every_figure_that_was_written(
    text: str, kind: str, amount: str, unit: str
) -> None:
    found = parse_quantity(text, kind)
    assert str(found.amount) == amount
    assert found.unit == unit


VOLUME = "Write a number, a space and mL or L, such as 5 mL."
TOO_LONG = "Write at most 9 digits before the point and 6 after it."


@pytest.mark.parametrize(
    ("text", "kind", "sentence"),
    [
        ("100ml", "volume", "Write 100 mL."),
        ("5cc", "volume", "Write 5 mL."),
        ("5 ml", "volume", "Write 5 mL."),
        ("5 l", "volume", "Write 5 L."),
        ("10u", "units", "Write 10 units."),
        ("10 IU", "units", "Write 10 units."),
        ("10 µg", "mass", "Write 10 mcg."),
        ("10 ug", "mass", "Write 10 mcg."),
        (".5 mL", "volume", "Write 0.5 mL."),
        ("010 mL", "volume", "Write 10 mL."),
        ("00.5 mL", "volume", "Write 0.5 mL."),
        ("15 seconds", "duration", "Write 15 s."),
        ("2 hrs", "duration", "Write 2 h."),
        ("1 d", "duration", "Write 1 day."),
        ("2 d", "duration", "Write 2 days."),
        ("100 mL/hr", "rate", "Write 100 mL/h."),
        ("100 ml per hour", "rate", "Write 100 mL/h."),
        ("1e3 mL", "volume", VOLUME),
        ("NaN mL", "volume", VOLUME),
        ("Infinity mL", "volume", VOLUME),
        ("-5 mL", "volume", VOLUME),
        ("+5 mL", "volume", VOLUME),
        ("٣ mL", "volume", VOLUME),
        ("\uff15 mL", "volume", VOLUME),
        ("5", "volume", VOLUME),
        ("mL", "volume", VOLUME),
        ("", "volume", VOLUME),
        ("5 mg", "volume", VOLUME),
        ("1,00 mL", "volume", VOLUME),
        ("1,0000 mL", "volume", VOLUME),
        ("0,5 mL", "volume", VOLUME),
        ("0,500 mL", "volume", VOLUME),  # a decimal comma, or 500: never guessed
        ("01,000 mL", "volume", VOLUME),
        ("1_000 mL", "volume", VOLUME),
        ("5. mL", "volume", VOLUME),
        ("1 000 mL", "volume", VOLUME),
        ("1000000000 mL", "volume", TOO_LONG),
        ("0.1234567 mL", "volume", TOO_LONG),
        ("5 furlongs", "dose", "Write a number, a space and g, mg, mcg or units, such as 500 mg."),
        ("5 mL", "units", "Write a number, a space and units, such as 30 units."),
    ],
)
def test_what_is_refused_is_told_how_to_write_it(text: str, kind: str, sentence: str) -> None:
    with pytest.raises(OrderError) as refused:
        parse_quantity(text, kind)
    assert str(refused.value) == sentence


@given(st.text() | LIKE_NUMBERS, st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_quantity_or_an_order_error(text: str, kind: str) -> None:
    found = answer(parse_quantity, text, kind)
    if isinstance(found, str):
        assert found.startswith("Write ")
    else:
        assert found.unit in KINDS[kind]
        assert found.amount.is_finite()
        assert found.amount >= 0


@given(OTHERS)
def test_what_is_shown_reads_back_as_the_same_quantity(quantity: Quantity) -> None:
    kind = next(name for name, units in KINDS.items() if quantity.unit in units)
    assert same(parse_quantity(shown(quantity), kind), quantity)


@given(DURATIONS)
def test_a_duration_in_words_adds_up_to_the_same_seconds(duration: Quantity) -> None:
    words = shown(duration).split()
    sizes = {"day": 86_400, "hour": 3600, "minute": 60, "second": 1}
    parts = zip(words[::2], words[1::2], strict=True)
    added = sum(Decimal(n.replace(",", "")) * sizes[name.removesuffix("s")] for n, name in parts)
    assert added == seconds(duration)


@pytest.mark.parametrize(
    ("quantity", "words"),
    [
        (of("0.5", "mL"), "0.5 mL"),
        (of("5.0", "mL"), "5 mL"),
        (of("2.50", "mL"), "2.5 mL"),
        (of("1000", "mg"), "1,000 mg"),
        (of("1E+3", "mg"), "1,000 mg"),
        (of("100", "mL"), "100 mL"),
        (of("0", "mL"), "0 mL"),
        (of("0.000001", "L"), "0.000001 L"),
        (of("15", "s"), "15 seconds"),
        (of("1", "s"), "1 second"),
        (of("0", "min"), "0 seconds"),
        (of("0.5", "s"), "0.5 seconds"),
        (of("120", "s"), "2 minutes"),
        (of("150", "s"), "2 minutes 30 seconds"),
        (of("90", "min"), "1 hour 30 minutes"),
        (of("1.5", "h"), "1 hour 30 minutes"),
        (of("24", "h"), "24 hours"),
        (of("1440", "min"), "24 hours"),
        (of("3", "days"), "3 days"),
        (of("1.5", "days"), "1 day 12 hours"),
    ],
)
def test_a_quantity_is_shown_in_safe_writing(quantity: Quantity, words: str) -> None:
    assert shown(quantity) == words


def test_quantities_are_the_same_only_within_one_kind_and_exactly() -> None:
    assert same(of("1", "g"), of("1000.0", "mg"))
    assert same(of("2.4", "L"), of("2400", "mL"))
    assert same(of("2", "mL/min"), of("120", "mL/h"))
    assert same(of("24", "mL/day"), of("1", "mL/h"))
    assert not same(of("0.5", "mL"), of("0.500001", "mL"))
    assert not same(of("10", "mg/mL"), of("10", "units/mL"))
    assert not same(of("10", "mL"), of("10", "units"))


@given(QUANTITIES, QUANTITIES)
def test_of_two_quantities_of_a_kind_one_is_more_or_they_are_the_same(
    one: Quantity, other: Quantity
) -> None:
    if UNITS[one.unit][0] == UNITS[other.unit][0]:
        assert [more(one, other), more(other, one), same(one, other)].count(True) == 1
    else:
        assert not same(one, other)
        with pytest.raises(OrderError):
            more(one, other)


def test_a_unit_of_another_kind_is_refused() -> None:
    with pytest.raises(OrderError, match=r"^5 mL cannot be given in mg\.$"):
        in_unit(of("5", "mL"), "mg")
    with pytest.raises(OrderError, match=r"^5 mL cannot be given in s\.$"):
        seconds(of("5", "mL"))
    with pytest.raises(OrderError, match=r"^5 mL cannot be given in min\.$"):
        rounded(of("5", "mL"), "min")
    with pytest.raises(OrderError, match=r"^Only amounts of one kind can be added\.$"):
        total(of("5", "mL"), of("5", "mg"))


def test_a_unit_that_decimals_cannot_reach_is_rounded_half_up_at_the_sixth_place() -> None:
    assert in_unit(of("1", "s"), "h") == of("0.000278", "h")
    assert in_unit(of("0.000001", "mL"), "L") == of("1E-9", "L")


@pytest.mark.parametrize(
    ("typed", "amount", "unit"),
    [
        ("100", "100", "mL/h"),
        (" 100.50 ", "100.50", "mL/h"),
        ("1,000", "1000", "mL/h"),
        ("0100", "100", "mL/h"),
        ("100ml/hr", "100", "mL/h"),
        ("100 ML/H", "100", "mL/h"),
        ("100 mL per hour", "100", "mL/h"),
        ("2 ml/min", "2", "mL/min"),
        ("5u", "5", "units"),
        ("5 cc", "5", "mL"),
        ("3 Minutes", "3", "min"),
    ],
)
def test_typing_is_forgiven_its_case_and_spaces(typed: str, amount: str, unit: str) -> None:
    assert read_typed(of("100", "mL/h"), typed) == of(amount, unit)


PLAIN = "Please type the number as you see it, such as 100."


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", PLAIN),
        ("a hundred", PLAIN),
        ("1e3", PLAIN),
        ("-5", PLAIN),
        ("0,5", "Use a point: 0.5."),
        ("12,50 mL", "Use a point: 12.5."),
        ("5,0", PLAIN),
        ("0,500", PLAIN),
        ("5.", PLAIN),
        ("NaN", PLAIN),
        ("٣", PLAIN),
        ("9999999999", PLAIN),
        ("1.2345678", PLAIN),
        (".5", "Please type a 0 before the point, such as 0.5."),
        (".5 mL", "Please type a 0 before the point, such as 0.5."),
        (".123456", "Please type a 0 before the point, such as 0.123456."),
        (".1234567", PLAIN),
        ("5 furlongs", "Please type the number alone, or with its unit: mL/h."),
    ],
)
def test_what_cannot_be_read_is_answered_calmly(typed: str, sentence: str) -> None:
    with pytest.raises(OrderError) as refused:
        read_typed(of("100", "mL/h"), typed)
    assert str(refused.value) == sentence


@given(QUANTITIES, st.text() | LIKE_NUMBERS)
def test_any_typing_is_a_quantity_or_an_order_error(expected: Quantity, typed: str) -> None:
    found = answer(read_typed, expected, typed)
    if isinstance(found, str):
        assert found.startswith(("Please type ", "Use a point: "))
    else:
        assert found.unit in UNITS


@pytest.mark.parametrize("unit", ["mg/mL", "g/mL", "units/mL"])
def test_a_strength_is_typed_with_its_unit(unit: str) -> None:
    for typed in ("20", " 20 ", "2.5", "1,000"):
        with pytest.raises(OrderError, match="type the unit as well"):
            refuse_without_unit(of("20", unit), typed)
    refuse_without_unit(of("20", unit), "20 mg/mL")
    refuse_without_unit(of("20", "mL"), "20")
