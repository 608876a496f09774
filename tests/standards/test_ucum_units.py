"""Every unit that is handed on is one of the Unified Code for Units of Measure.

ucumvert 0.3 reads them by the grammar of UCUM 2.1 and the units of its ucum-essence.xml. What a
unit is called on an order sheet is often no code of UCUM: mcg, units, day.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import lark
import pytest
from ucumvert import get_ucum_parser

from coach.orders.quantities import UNITS, Quantity
from coach.records.export.terms import UCUM, quantity


@pytest.fixture(scope="module")
def parser() -> Any:
    """Return what reads a unit, and raises a LarkError where it is none."""
    return get_ucum_parser()


@pytest.mark.parametrize("unit", UNITS)
def test_each_unit_is_handed_on_as_one_of_ucum(unit: str, parser: Any) -> None:
    found = quantity(Quantity(Decimal(1), unit))
    assert found["unit"] == unit
    assert found["system"] == UCUM
    parser.parse(found["code"])


@pytest.mark.parametrize("name", ["mcg", "units", "day", "days", "mL/day", "cc"])
def test_names_that_ucum_does_not_know_are_told_apart(name: str, parser: Any) -> None:
    with pytest.raises(lark.LarkError):
        parser.parse(name)
