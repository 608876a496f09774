"""Writing that has been misread: none is taken from a sheet, none is ever shown.

Joint Commission, do-not-use list (read): U, u, IU; a trailing zero; a missing leading zero.
ISMP, error-prone abbreviations (2021; read or restated): µg, cc, ml, l, no space before the
unit, no commas in thousands.
"""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import OrderError
from coach.orders.quantities import UNITS, Quantity, parse_quantity, shown


@pytest.mark.parametrize(
    ("never", "kind", "write"),
    [
        ("10 U", "units", "Write 10 units."),  # Joint Commission
        ("10 u", "units", "Write 10 units."),  # Joint Commission
        ("10 IU", "units", "Write 10 units."),  # Joint Commission
        (".5 mg", "mass", "Write 0.5 mg."),  # Joint Commission
        ("5 µg", "mass", "Write 5 mcg."),  # ISMP, with the micro sign
        ("5 μg", "mass", "Write 5 mcg."),  # ISMP, with the Greek letter
        ("5 cc", "volume", "Write 5 mL."),  # ISMP
        ("10mg", "mass", "Write 10 mg."),  # ISMP
        ("5 ml", "volume", "Write 5 mL."),  # ISMP
        ("5 l", "volume", "Write 5 L."),  # ISMP
    ],
)
def test_what_the_lists_forbid_is_refused_with_what_to_write(
    never: str, kind: str, write: str
) -> None:
    with pytest.raises(OrderError) as refused:
        parse_quantity(never, kind)
    assert str(refused.value) == write


@pytest.mark.parametrize(
    ("amount", "unit", "written"),
    [
        ("5.0", "mg", "5 mg"),  # Joint Commission
        ("0.50", "mg", "0.5 mg"),  # Joint Commission
        ("100000", "units", "100,000 units"),  # ISMP
        ("0.5", "mL", "0.5 mL"),  # Joint Commission
    ],
)
def test_what_the_lists_ask_for_is_what_is_shown(amount: str, unit: str, written: str) -> None:
    assert shown(Quantity(Decimal(amount), unit)) == written


SAFE = re.compile(
    r"(0|[1-9][0-9]{0,2}(,[0-9]{3})*)(\.[0-9]*[1-9])?"
    r"(%| (mL|L|g|mg|mcg|units|(mL|units|g|mg|mcg)/(mL|h|min|day)|(day|hour|minute|second)s?))"
)


@given(st.decimals(min_value=0, max_value=999_999_999, places=6), st.sampled_from(sorted(UNITS)))
def test_nothing_shown_is_on_a_list(amount: Decimal, unit: str) -> None:
    written = shown(Quantity(amount, unit))
    parts = re.findall(r"\S+ \S+|\S+%", written)
    assert " ".join(parts) == written
    assert all(SAFE.fullmatch(part) for part in parts)
