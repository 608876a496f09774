"""How long one set of tubing is kept.

Intermittent use, the only one that a sheet may order: every 24 h, INS (restated). CDC 2011
makes no recommendation for it.
"""

from __future__ import annotations

import pytest

from tests.orders.written import said


@pytest.mark.parametrize(
    ("hours", "taken"),
    [("24 h", True), ("1 day", True), ("24.5 h", False), ("96 h", False)],
)
def test_tubing_is_kept_no_longer_than_published(hours: str, taken: bool) -> None:
    rows = said(("hours: 24 h", f"hours: {hours}"))
    assert (rows == ()) is taken
