"""Generic Infusion Pump Hazard Analysis and Safety Requirements 1.0, MS-CIS-08-31, 2009.

A research model (restated). 1.1.2: rates from 0.1 to 999 mL/h. 8.14: wrong units are a hazard.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from coach.orders.quantities import Quantity, rate_of, shown, time_of
from tests.orders.written import said

NO_LIMIT = ("  highest_rate: 200 mL/h\n", "")


@pytest.mark.parametrize(
    ("rate", "taken"),
    [
        ("0.1 mL/h", True),
        ("0.099999 mL/h", False),
        ("999 mL/h", True),
        ("999.1 mL/h", False),
        ("2.4 mL/day", True),
        ("2.3 mL/day", False),
        ("16 mL/min", True),
        ("17 mL/min", False),
    ],
)
def test_a_rate_lies_in_the_band_of_a_pump(rate: str, taken: bool) -> None:
    number, unit = rate.split()
    volume = Quantity(Decimal(50), "mL")
    time = time_of(volume, Quantity(Decimal(number), unit), "min")
    rows = said(
        NO_LIMIT,
        ("rate: 100 mL/h", f"rate: {rate}"),
        ("infusion_time: 30 min", f"infusion_time: {time.amount} min"),
    )
    told = any("a rate that a pump can run, 0.1 mL/h to 999 mL/h" in row for row in rows)
    assert told is not taken


def test_the_printed_fast_push_is_above_any_pump() -> None:
    """50 mL over 3 min: manuelsweb.com, IV rate, example 2 (read)."""
    rate = rate_of(Quantity(Decimal(50), "mL"), Quantity(Decimal(3), "min"))
    assert shown(rate) == "1,000 mL/h"
    (row,) = said(
        NO_LIMIT,
        ("rate: 100 mL/h", f"rate: {shown(rate)}"),
        ("infusion_time: 30 min", "infusion_time: 3 min"),
    )
    assert "field medicine.rate: expected a rate that a pump can run" in row
