"""Flushing: INS Standards 2016 and 2021 (from memory).

The least flush is twice the inner volume of catheter and add-ons; the syringe barrel is of
10 mL width, whatever it holds.
"""

from __future__ import annotations

import pytest

from tests.orders.written import said


@pytest.mark.parametrize("which", ["before", "after"])
def test_a_flush_is_at_least_twice_the_inner_volume(which: str) -> None:
    old = f"saline_{which}: 10 mL"
    assert said((old, f"saline_{which}: 1.8 mL")) == ()
    (row,) = said((old, f"saline_{which}: 1.799999 mL"))
    assert "at least 1.8 mL, as 2 × (0.6 mL + 0.3 mL) = 1.8 mL" in row


def test_a_barrel_below_ten_is_refused_even_for_a_small_fill() -> None:
    (row,) = said(
        ("saline_before: 10 mL", "saline_before: 3 mL"),
        ("saline_after: 10 mL", "saline_after: 3 mL"),
        ("barrel: 10 mL", "barrel: 3 mL"),
    )
    assert "field flush.barrel: expected a barrel of at least 10 mL" in row
