"""CDC, Handwashing (read at the publisher): scrub hands for at least 20 seconds.

WHO Guidelines on Hand Hygiene in Health Care, 2009 (restated on another page): a whole rub
takes 20 to 30 seconds.
"""

from __future__ import annotations

import pytest

from tests.orders.written import said


@pytest.mark.parametrize("ordered", ["20 s", "21 s", "40 s", "1 min"])
def test_twenty_seconds_of_soap_or_more_may_be_ordered(ordered: str) -> None:
    assert said(("wash: 20 s", f"wash: {ordered}")) == ()


@pytest.mark.parametrize("ordered", ["19.999999 s", "15 s", "0.3 min"])
def test_less_than_twenty_seconds_of_soap_is_refused(ordered: str) -> None:
    (row,) = said(("wash: 20 s", f"wash: {ordered}"))
    assert "field hands.wash: expected at least 20 seconds" in row


def test_a_rub_below_twenty_seconds_is_refused() -> None:
    (row,) = said(("rub: 20 s", "rub: 19 s"))
    assert "field hands.rub: expected at least 20 seconds" in row
