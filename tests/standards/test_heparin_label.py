"""Heparin to lock a line: FDA label, NDA 017037, and its label change of 2007 (restated).

10 and 100 units/mL keep a catheter open. Strong vials killed by mix-up. 100 units/mL is not for
newborns and infants. Label writing, FDA, December 2012 (restated): units are units/mL times mL.
Low platelets: ASH 2018; doi 10.1007/s11239-012-0785-8 (read): no heparin of any kind.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from coach.orders.quantities import Quantity, dose_of
from tests.orders.written import said

NO_LIMIT = ("  heparin_units_per_day: 300 units\n", "")


@pytest.mark.parametrize("strength", ["1", "10", "100"])
def test_lock_strengths_are_taken(strength: str) -> None:
    new = f"strength: {strength} units/mL"
    assert said(NO_LIMIT, ("strength: 10 units/mL", new)) == ()


@pytest.mark.parametrize("strength", ["1,000", "5,000", "10,000", "20,000"])
def test_treatment_strengths_are_refused_by_name(strength: str) -> None:
    (row,) = said(NO_LIMIT, ("strength: 10 units/mL", f"strength: {strength} units/mL"))
    assert f"found {strength} units/mL" in row
    assert "1,000 units/mL or more must never be used to lock a line" in row


@pytest.mark.parametrize("strength", ["2", "50", "999", "10.5"])
def test_other_strengths_are_refused(strength: str) -> None:
    (row,) = said(NO_LIMIT, ("strength: 10 units/mL", f"strength: {strength} units/mL"))
    assert "expected 1, 10 or 100 units/mL" in row


@pytest.mark.parametrize(
    ("born", "taken"),
    [
        ("2025-11-20", True),  # one year old on the day of the sheet
        ("2025-11-21", False),
        ("2026-11-20", False),
    ],
)
def test_a_hundred_units_are_not_for_infants(born: str, taken: bool) -> None:
    rows = said(
        NO_LIMIT,
        ("strength: 10 units/mL", "strength: 100 units/mL"),
        ("born: 1951-04-02", f"born: {born}"),
    )
    assert (rows == ()) is taken


def test_a_child_born_on_the_29th_of_february_is_one_on_the_first_of_march() -> None:
    strong = ("strength: 10 units/mL", "strength: 100 units/mL")
    born = ("born: 1951-04-02", "born: 2028-02-29")
    assert len(said(NO_LIMIT, strong, born, ("date: 2026-11-20", "date: 2029-02-28"))) == 1
    assert said(NO_LIMIT, strong, born, ("date: 2026-11-20", "date: 2029-03-01")) == ()


def test_the_units_of_a_container_are_strength_times_volume() -> None:
    ten, five = Quantity(Decimal(10), "units/mL"), Quantity(Decimal(5), "mL")
    assert dose_of(ten, five) == Quantity(Decimal(50), "units")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("low_platelets_history: no", "low_platelets_history: yes"),
        ("allergies: []", "allergies: [heparin]"),
        ("allergies: []", "allergies: [latex, HEPARIN flush]"),
    ],
)
def test_no_heparin_after_low_platelets_or_with_an_allergy(old: str, new: str) -> None:
    (row,) = said((old, new))
    assert "field heparin.ordered: expected no heparin" in row
