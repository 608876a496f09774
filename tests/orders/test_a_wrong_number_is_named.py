"""What a wrong number looks like: each known slip is named, and an equal number never is."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from coach.orders.likeness import FACTORS, likeness, programme
from coach.orders.quantities import UNITS, Quantity, number, same
from coach.orders.values import sheet_values
from coach.proof.reading import HIGHEST_GRADE, MOST_WORDS, grade_of, sentences_of
from tests.orders.written import sheet

LOOK = "Look at it once more."
POINT = "Look at the point and each zero."
PLACE = "Is it in the wrong place?"
RATES = st.decimals(min_value="0.1", max_value=999, places=1)
FIGURES = st.integers(10, 99_999)


def of(written: str) -> Quantity:
    """Return the quantity in *written*, such as ``1.2 mL/h``."""
    amount, unit = written.split()
    return Quantity(Decimal(amount), unit)


def rate(amount: Decimal) -> Quantity:
    """Return *amount* mL/h."""
    return Quantity(amount, "mL/h")


@pytest.mark.parametrize(
    ("expected", "typed", "says"),
    [
        (
            "1.2 mL/h",
            "28.8 mL/h",
            "28.8 is 24 times 1.2. Is that an amount for a whole day?",
        ),
        (
            "28.8 mL/h",
            "1.2 mL/h",
            "1.2 is 28.8 divided by 24. Was it taken for a whole day?",
        ),
        ("28.8 mL/day", "1.2 mL/day", "1.2 is 28.8 divided by 24. Is that an amount for one hour?"),
        ("120 mL/h", "2 mL/h", "2 is 120 divided by 60. Is that an amount for one minute?"),
        (
            "2 mL/h",
            "120 mL/h",
            "120 is 60 times 2. Was it taken for one minute?",
        ),
        ("2 mL/min", "120 mL/min", "120 is 60 times 2. Is that an amount for one hour?"),
        (
            "125 mL/h",
            "5.2 mL/h",
            "5.2 is about 125 divided by 24. Was it taken for a whole day?",
        ),
        (
            "2.1 mL/h",
            "50 mL/h",
            "50 is about 24 times 2.1. Is that an amount for a whole day?",
        ),
        ("30 min", "0.5 min", "0.5 is 30 divided by 60. Is that a number of hours?"),
        ("2 h", "120 h", "120 is 60 times 2. Is that a number of minutes?"),
        ("2.1 mL/h", "21 mL/h", f"21 is 10 times 2.1. {POINT}"),
        ("2.1 mL/h", "0.21 mL/h", f"0.21 is 2.1 divided by 10. {POINT}"),
        ("5 mL", "5000 mL", f"5,000 is 1,000 times 5. {POINT}"),
        (
            "125 mL/h",
            "152 mL/h",
            "152 is 125 with two figures swapped.",
        ),
        (
            "12.5 mL/h",
            "15.2 mL/h",
            "15.2 is 12.5 with two figures swapped.",
        ),
        ("125 mL/h", "15 mL/h", "15 is 125 with one figure left out."),
        ("125 mL/h", "1225 mL/h", "1,225 is 125 with one figure typed twice."),
        ("50 mL", "100 mL/h", "100 mL/h is a rate. The order has a volume here."),
        ("50 mL", "50 mg", "50 mg is an amount of medicine. The order has a volume here."),
        (
            "2.1 mL/h",
            "2.1 mL/day",
            "2.1 mL/day has another unit than the order.",
        ),
        ("1.2 mL/h", "288 mL/day", f"288 mL/day is 10 times 1.2 mL/h. {POINT}"),
    ],
)
def test_each_way_to_be_wrong_has_its_words(expected: str, typed: str, says: str) -> None:
    assert likeness(of(expected), of(typed), {}) == says
    assert grade_of(says) <= HIGHEST_GRADE


@pytest.mark.parametrize(
    ("field", "typed", "names"),
    [
        ("rate", "50", ["volume"]),
        ("rate", "30", ["time"]),
        ("rate", "0.5", ["time"]),
        ("rate", "1", ["dose"]),
        ("rate", "20", ["strength"]),
        ("volume", "100", ["rate"]),
        ("volume", "1000", ["dose"]),
    ],
)
def test_a_number_in_the_place_of_another_is_named(
    field: str, typed: str, names: list[str]
) -> None:
    numbers = programme(sheet_values(sheet()))
    found = likeness(numbers[field], Quantity(Decimal(typed), numbers[field].unit), numbers)
    for name in names:
        assert f"is the {name} of this order. {PLACE}" in found


def test_of_many_likenesses_the_first_is_named() -> None:
    others = {"volume": of("240 mL"), "dose": of("240 mg"), "time": of("24 h")}
    found = likeness(of("10 mL/h"), of("240 mL/h"), others)
    assert found == f"240 is the volume of this order. {PLACE}"


@pytest.mark.parametrize("typed", ["0 mL/h", "101 mL/h", "67.3 mL/h"])
def test_a_number_that_is_like_nothing_is_not_named(typed: str) -> None:
    assert likeness(of("100 mL/h"), of(typed), programme(sheet_values(sheet()))) == ""


@given(RATES, st.sampled_from(FACTORS))
def test_so_many_times_too_much_or_too_little_is_named(amount: Decimal, factor: int) -> None:
    more = amount * factor
    assert f"{number(more)} is {factor:,} times {number(amount)}." in likeness(
        rate(amount), rate(more), {}
    )
    back = likeness(rate(more), rate(amount), {})
    assert f"{number(amount)} is {number(more)} divided by {factor:,}." in back


@given(FIGURES, st.integers(0, 3), st.data())
def test_neighbours_that_are_swapped_are_named(
    figures: int, places: int, data: st.DataObject
) -> None:
    written = str(figures)
    place = data.draw(st.integers(0, len(written) - 2))
    swapped = written[:place] + written[place + 1] + written[place] + written[place + 2 :]
    one, other = (Decimal(each).scaleb(-places) for each in (written, swapped))
    assume(one != other and swapped[0] != "0")  # a 0 in front is not typed: one figure less
    found = likeness(rate(one), rate(other), {})
    assert "swapped" in found or re.search(" times | divided by ", found)


@given(FIGURES, st.data())
def test_a_figure_left_out_or_typed_twice_is_named(figures: int, data: st.DataObject) -> None:
    written = str(figures)
    place = data.draw(st.integers(0, len(written) - 1))
    shorter, longer = written[:place] + written[place + 1 :], written[: place + 1] + written[place:]
    named = "swapped|left out|typed twice| times | divided by "
    for other in (Decimal(shorter), Decimal(longer)):
        assume(other)
        assert re.search(named, likeness(rate(Decimal(written)), rate(other), {}))


@pytest.mark.parametrize(("typed", "times"), [("20", "10 times 2"), ("0.2", "2 divided by 10")])
def test_a_tenfold_number_is_named_before_another_number_that_it_happens_to_be(
    typed: str, times: str
) -> None:
    numbers = {
        "strength": Quantity(Decimal(typed), "mg/mL"),
        "volume": Quantity(Decimal(typed), "mL"),
    }
    found = likeness(rate(Decimal(2)), rate(Decimal(typed)), numbers)
    assert found == f"{typed} is {times}. Look at the point and each zero."


@given(RATES, st.sampled_from(["volume", "dose", "time"]), st.integers(1, 5000))
def test_another_number_of_the_order_typed_here_is_named(
    amount: Decimal, name: str, other: int
) -> None:
    assume(Decimal(other) not in (amount, amount * 10, amount / 10))
    unit = {"volume": "mL", "dose": "mg", "time": "min"}[name]
    others = {name: Quantity(Decimal(other), unit), "rate": rate(amount)}
    found = likeness(rate(amount), rate(Decimal(other)), others)
    assert f"is the {name} of this order." in found


AMOUNTS = st.decimals(min_value=0, max_value=999_999, places=6)
ANY = st.builds(Quantity, AMOUNTS, st.sampled_from(sorted(UNITS)))


@given(ANY, st.sampled_from(sorted(UNITS)))
def test_an_equal_number_is_never_named(quantity: Quantity, unit: str) -> None:
    typed = Quantity(quantity.amount, quantity.unit)
    assert likeness(quantity, typed, programme(sheet_values(sheet()))) == ""
    converted = Quantity(quantity.amount, unit)
    if same(quantity, converted):
        assert likeness(quantity, converted, programme(sheet_values(sheet()))) == ""


@given(ANY, ANY)
def test_whatever_is_typed_the_words_are_short_and_set_nothing(
    expected: Quantity, typed: Quantity
) -> None:
    found = likeness(expected, typed, programme(sheet_values(sheet())))
    assert not re.search(r"\b(set|change|correct|should|must|use)\b", found)
    assert all(len(one.split()) <= MOST_WORDS for one in sentences_of(found))
