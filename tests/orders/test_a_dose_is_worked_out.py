"""What follows from a sheet: what to load, what stays behind, flushes, heparin, the workings."""

from __future__ import annotations

import re
from decimal import ROUND_DOWN, Decimal, localcontext

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import structs

from coach.orders import form
from coach.orders.dosing import (
    Working,
    flush_through,
    heparin,
    rest_in_tubing,
    saline,
    time_window,
    to_load,
    workings,
)
from coach.orders.quantities import Quantity, dose_of, same, shown
from coach.orders.sheet import OrderSheet
from coach.orders.values import least_flush
from tests.orders.written import said, sheet, with_pump, with_tubing

INNER = "tubing:\n  inner_volume: 3 mL"
TIMES = 'times: ["09:00", "21:00"]'
NO_HEPARIN = ("ordered: yes\n  strength: 10 units/mL\n  volume: 3 mL", "ordered: no")


def of(amount: str, unit: str) -> Quantity:
    """Return the quantity of *amount* in *unit*."""
    return Quantity(Decimal(amount), unit)


def row(found: OrderSheet, name: str) -> Working:
    """Return the one working of *found* called *name*."""
    (one,) = (working for working in workings(found) if working.name == name)
    return one


def test_a_reservoir_holds_the_dose_and_what_it_never_gives() -> None:
    assert to_load(sheet(), fills_tubing=False) == of("50", "mL")
    assert to_load(sheet(with_pump("residual: 1.5 mL")), fills_tubing=False) == of("51.5", "mL")


def test_a_reservoir_that_fills_the_tubing_too_holds_that_as_well() -> None:
    assert to_load(sheet(with_pump("residual: 1.5 mL")), fills_tubing=True) == of("54.5", "mL")


def test_what_stays_in_the_tubing_is_a_share_of_the_dose() -> None:
    rest = rest_in_tubing(sheet((INNER, "tubing:\n  inner_volume: 20 mL")))
    assert rest.volume == of("20", "mL")
    assert rest.share == of("40.0", "%")
    assert rest.dose == of("400", "mg")


def test_no_more_than_the_whole_dose_stays_in_the_tubing() -> None:
    rest = rest_in_tubing(
        sheet((INNER, "tubing:\n  inner_volume: 60 mL"), with_tubing("flush_through: 60 mL"))
    )
    assert rest.volume == of("50", "mL")
    assert shown(rest.share) == "100%"


def test_a_flush_through_runs_at_the_rate_of_the_dose() -> None:
    assert flush_through(sheet()) is None
    through = flush_through(sheet(with_tubing("flush_through: 5 mL")))
    assert through is not None
    assert through.volume == of("5", "mL")
    assert through.rate == of("100", "mL/h")
    assert through.time == of("180", "s")


def test_the_least_flush_is_twice_what_line_and_add_ons_hold() -> None:
    assert least_flush(sheet().line) == of("1.8", "mL")
    found = sheet(("inner_volume: 0.6 mL", "inner_volume: 0.0006 L"))
    assert same(least_flush(found.line), of("1.8", "mL"))


def test_saline_adds_up_and_no_syringe_is_shared() -> None:
    found = saline(sheet(("saline_before: 10 mL", "saline_before: 5 mL")))
    assert found.each_dose == of("15", "mL")
    assert found.each_day == of("30", "mL")
    assert found.syringes_each_dose == 2


@pytest.mark.parametrize("flush", ["saline_before: 10", "saline_after: 10"])
def test_a_flush_of_more_than_one_syringe_is_refused(flush: str) -> None:
    name = flush.partition(":")[0]
    (told,) = said((f"{flush} mL", f"{name}: 10.1 mL"))
    assert f"flush.{name}: expected at most 10 mL, what the barrel holds; found 10.1 mL" in told


def test_heparin_adds_up_beside_its_limit() -> None:
    found = heparin(sheet())
    assert found is not None
    assert found.each_flush == of("30", "units")
    assert found.each_day == of("60", "units")
    assert found.limit == of("300", "units")
    assert heparin(sheet(NO_HEPARIN)) is None


def test_a_tolerance_makes_the_dose_shorter_or_longer() -> None:
    shortest, longest = time_window(sheet())
    assert shortest == of("1714", "s")  # 1,800 s ÷ 1.05
    assert longest == of("1895", "s")  # 1,800 s ÷ 0.95


def test_every_working_says_how_it_comes_about() -> None:
    found = sheet(with_pump("residual: 1 mL"), with_tubing("flush_through: 5 mL"))
    assert [(one.field, one.working) for one in workings(found)] == [
        ("medicine.dose", "20 mg/mL × 50 mL = 1,000 mg"),
        ("medicine.volume", "1 g ÷ 20 mg/mL = 50 mL"),
        ("medicine.rate", "50 mL ÷ 30 minutes = 100 mL/h"),
        ("medicine.infusion_time", "50 mL ÷ 100 mL/h = 30 minutes"),
        ("pump.tolerance", "30 minutes ÷ 1.05 = 28 minutes 34 seconds"),
        ("pump.tolerance", "30 minutes ÷ 0.95 = 31 minutes 35 seconds"),
        ("doses.times", "2 times = 2 doses in 24 hours"),
        ("doses.times", "1,000 mg × 2 doses = 2,000 mg"),
        ("bag.warm_up", "45 minutes + 30 minutes = 1 hour 15 minutes"),
        ("tubing.inner_volume", "3 mL ÷ 50 mL = 6%"),
        ("tubing.inner_volume", "20 mg/mL × 3 mL = 60 mg"),
        ("tubing.flush_through", "5 mL ÷ 100 mL/h = 3 minutes"),
        ("pump.residual", "50 mL + 1 mL = 51 mL"),
        ("pump.residual", "50 mL + 1 mL + 3 mL = 54 mL"),
        ("line.inner_volume", "2 × (0.6 mL + 0.3 mL) = 1.8 mL"),
        ("flush.saline_after", "10 mL + 10 mL = 20 mL"),
        ("flush.saline_after", "20 mL × 2 doses = 40 mL"),
        ("flush.barrel", "2 syringes × 2 doses = 4 syringes"),
        ("heparin.volume", "10 units/mL × 3 mL = 30 units"),
        ("heparin.volume", "30 units × 2 doses = 60 units"),
        ("limits.heparin_units_per_day", "30 units × 2 doses = 60 units, of 300 units"),
    ]


def test_an_interval_says_that_its_doses_are_the_most() -> None:
    found = sheet((TIMES, "every: 5 h\n  first: 2026-11-20T09:00-05:00"))
    working = row(found, "doses in a day")
    assert working.field == "doses.every"
    assert working.working == "1 dose every 5 hours = 5 doses at most in 24 hours"


def test_what_is_not_ordered_is_not_worked_out() -> None:
    names = {one.name for one in workings(sheet(NO_HEPARIN))}
    assert "heparin in a day" not in names
    assert "time of the flush-through" not in names


VOLUMES = st.integers(1, 2000).map(lambda tenths: Decimal(tenths) / 10)
NUMBER = r"(0|[1-9][0-9]{0,2}(,[0-9]{3})*)(\.[0-9]*[1-9])?"
UNIT = r"(%| (mL|mg|g|mcg|units|(mg|g|mcg|units)/mL|mL/h|(day|hour|minute|second|dose|syringe)s?))"


@settings(deadline=None)
@given(volume=VOLUMES, inner=VOLUMES, residual=VOLUMES, tolerance=st.integers(1, 100))
def test_no_working_has_a_number_without_its_unit(
    volume: Decimal, inner: Decimal, residual: Decimal, tolerance: int
) -> None:
    part = Decimal(tolerance) / 10
    medicine = sheet().medicine
    pump, tubing = sheet().pump, sheet().tubing
    odd = structs.replace(
        sheet(),
        medicine=structs.replace(
            medicine,
            volume=Quantity(volume, "mL"),
            dose=dose_of(medicine.strength, Quantity(volume, "mL")),
        ),
        tubing=structs.replace(tubing, inner_volume=Quantity(inner, "mL")),
        pump=structs.replace(
            pump, residual=Quantity(residual, "mL"), tolerance=Quantity(part, "%")
        ),
    )
    with localcontext() as context:
        context.prec, context.rounding = 3, ROUND_DOWN
        narrow = workings(odd)
    assert narrow == workings(odd)
    for one in narrow:
        assert re.fullmatch(rf"{NUMBER}{UNIT}( {NUMBER}{UNIT})*", one.value), one
        assert one.working.count(one.value)


def test_every_working_stands_beside_a_field_of_the_sheet() -> None:
    known = {field for field, _ in form.every_field()}
    every = sheet((TIMES, "every: 5 h\n  first: 2026-11-20T09:00-05:00"))
    for found in (sheet(with_tubing("flush_through: 5 mL")), every):
        assert {one.field for one in workings(found)} <= known
