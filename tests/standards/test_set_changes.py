"""How long one set of tubing is kept.

Continuous use: at least every 7 days, CDC/HICPAC 2011 (restated).
Intermittent use: every 24 h, INS (restated). CDC 2011 makes no recommendation for it.
"""

from __future__ import annotations

import pytest

from tests.orders.written import said


@pytest.mark.parametrize(
    ("mode", "hours", "taken"),
    [
        ("intermittent", "24 h", True),
        ("intermittent", "1 day", True),
        ("intermittent", "24.5 h", False),
        ("intermittent", "96 h", False),
        ("continuous", "96 h", True),
        ("continuous", "7 days", True),
        ("continuous", "168 h", True),
        ("continuous", "169 h", False),
    ],
)
def test_tubing_is_kept_no_longer_than_published(mode: str, hours: str, taken: bool) -> None:
    rows = said(("mode: intermittent", f"mode: {mode}"), ("hours: 24 h", f"hours: {hours}"))
    assert (rows == ()) is taken
