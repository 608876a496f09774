"""Printed answers that do not follow from what is printed beside them: none is followed.

Each row says what is printed, where, and what the stated problem gives (computed).
"""

from __future__ import annotations

from decimal import Decimal

from coach.orders.dosing import rest_in_tubing
from coach.orders.quantities import Quantity, dose_of, same, shown, volume_of
from tests.orders.written import sheet


def of(written: str) -> Quantity:
    """Return the quantity in *written*, such as ``750 mL``."""
    amount, unit = written.split()
    return Quantity(Decimal(amount), unit)


def test_an_equation_with_other_numbers_than_its_problem_is_not_followed() -> None:
    """OpenStax, Pharmacology for Nurses 2.4, practice 3 (read).

    The problem states 3 mcg/kg/min and 86 kg; the equation uses 2.5 and 85, and prints 7.97. Both
    figures are in mL/h of 1,600 mcg/mL (computed); the stated problem gives 9.675.
    """
    strength = of("1600 mcg/mL")
    stated, misprinted = Decimal(3) * 86 * 60, Decimal("2.5") * 85 * 60
    assert shown(volume_of(Quantity(stated, "mcg"), strength)) == "9.7 mL"
    assert shown(volume_of(Quantity(misprinted, "mcg"), strength)) == "8 mL"
    assert same(dose_of(strength, of("9.675 mL")), Quantity(stated, "mcg"))
    assert not same(dose_of(strength, of("7.97 mL")), Quantity(stated, "mcg"))


def test_a_point_in_the_wrong_place_is_not_followed() -> None:
    """Chapter 48, quizwizapp.com mPWid: 10 mg at 40 mg/mL, printed "= 2.5", answer 0.3 mL."""
    assert shown(volume_of(of("10 mg"), of("40 mg/mL"))) == "0.3 mL"
    assert same(dose_of(of("40 mg/mL"), of("0.25 mL")), of("10 mg"))
    assert not same(dose_of(of("40 mg/mL"), of("2.5 mL")), of("10 mg"))


def test_a_key_that_names_another_answer_than_its_working_is_not_followed() -> None:
    """coursehero.com p40gt05p, question 25: key "A", which is 0.5 mL; the working says 0.75 mL."""
    ordered, strength = of("7500 units"), of("10000 units/mL")
    assert same(dose_of(strength, of("0.75 mL")), ordered)
    assert not same(dose_of(strength, of("0.5 mL")), ordered)


def test_a_share_that_is_rounded_up_is_not_followed() -> None:
    """iv-therapy.net, comment 18686: 17 mL of 50 mL, printed as 35%; of 100 mL, 17 mL are lost."""
    tubing = ("tubing:\n  inner_volume: 3 mL", "tubing:\n  inner_volume: 17 mL")
    assert shown(rest_in_tubing(sheet(tubing)).share) == "34%"
    hundred = (
        ("dose: 1 g", "dose: 2 g"),
        ("  volume: 50 mL", "  volume: 100 mL"),
        ("rate: 100 mL/h", "rate: 200 mL/h"),
    )
    rest = rest_in_tubing(sheet(tubing, *hundred))
    assert (shown(rest.volume), shown(rest.share)) == ("17 mL", "17%")
