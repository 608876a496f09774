"""Examples worked out in print, with the printed answers; each source beside its row.

All were read on their pages, except where a row says restated. Rounding in print: to the
nearest tenth, half up.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

import pytest

from coach.orders.quantities import Quantity, rate_of, shown, time_of, volume_of
from coach.orders.schedule import span


def of(written: str) -> Quantity:
    """Return the quantity in *written*, such as ``750 mL``."""
    amount, unit = written.split()
    return Quantity(Decimal(amount), unit)


@pytest.mark.parametrize(
    ("volume", "time", "printed"),
    [
        # Convergent Math for Nursing, module 6, practice set 2, problem 2
        ("750 mL", "6 h", "125 mL/h"),
        # manuelsweb.com, IV rate, examples 1 and 2
        ("1000 mL", "8 h", "125 mL/h"),
        ("50 mL", "3 min", "1,000 mL/h"),
        # a nursing-school lesson
        ("1000 mL", "12 h", "83.3 mL/h"),
        # bevinzey.com, example 1
        ("1200 mL", "8 h", "150 mL/h"),
    ],
)
def test_rates_come_out_as_printed(volume: str, time: str, printed: str) -> None:
    assert shown(rate_of(of(volume), of(time))) == printed


def test_an_end_time_comes_out_as_printed() -> None:
    """1,000 mL at 125 mL/h from 14:00 ends at 22:00: learnmath.org, IV infusion time (read)."""
    start = datetime.fromisoformat("2026-11-25T14:00+00:00")
    end = start + span(time_of(of("1000 mL"), of("125 mL/h")))
    assert f"{end:%H:%M}" == "22:00"


@pytest.mark.parametrize(
    ("hours", "printed"),
    [
        # learnmath.org, IV infusion time
        ("3.25", "3 hours 15 minutes"),
        ("6.67", "6 hours 40 minutes"),
    ],
)
def test_decimal_hours_come_out_as_printed(hours: str, printed: str) -> None:
    volume, rate = Quantity(Decimal(hours) * 100, "mL"), of("100 mL/h")
    assert shown(time_of(volume, rate, "min")) == printed


@pytest.mark.parametrize(
    ("dose", "strength", "printed"),
    [
        # OpenStax, Pharmacology for Nurses 2.4, example 2
        ("0.5 mg", "0.25 mg/mL", "2 mL"),
        # the same, basic formula: 20 mg in 2 mL
        ("60 mg", "10 mg/mL", "6 mL"),
        # a textbook's solution page (restated): 1,800 units in an hour
        ("1800 units", "100 units/mL", "18 mL"),
    ],
)
def test_volumes_come_out_as_printed(dose: str, strength: str, printed: str) -> None:
    assert shown(volume_of(of(dose), of(strength))) == printed


@pytest.mark.parametrize(("exact", "printed"), [("1.251", "1.3 mL"), ("1.243", "1.2 mL")])
def test_tenths_are_rounded_half_up_as_printed(exact: str, printed: str) -> None:
    assert shown(volume_of(of(f"{exact} mg"), of("1 mg/mL"))) == printed


def test_a_half_is_rounded_up_where_floats_round_down() -> None:
    """2.5 times 198, over 2.2 and 40, is 5.625; in floats 5.624999999999999 (computed)."""
    dose = Quantity(Decimal("2.5") * 198, "mg")
    strength = Quantity(Decimal("2.2") * 40, "mg/mL")
    assert f"{2.5 * 198 / 2.2 / 40}" == "5.624999999999999"
    assert volume_of(dose, strength) == of("5.6 mL")
    hundredfold = volume_of(Quantity(dose.amount * 10, "mg"), strength)
    assert shown(hundredfold) == "56.3 mL"
