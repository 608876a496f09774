"""In the night that clocks go back, two doses have the same time on the wall, and both count.

In New York clocks go from 02:00 back to 01:00 on 7 November 2027 (IANA time zone database).
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach import telling, words
from coach.clock import ManualClock
from coach.screens.today import rows_of
from coach.sitting.further import NOTHING
from tests.person import Person, changed_sheet, desk_at

FIRST = datetime(2027, 11, 7, 5, 30, tzinfo=UTC)
"""01:30 by summer time."""
SECOND = datetime(2027, 11, 7, 6, 30, tzinfo=UTC)
"""01:30 an hour later."""
HALF_PAST = {"first: 2026-11-20T09:00-05:00": "first: 2026-11-20T09:30-05:00"}
ROOM = {
    "storage: refrigerator ": "storage: room ",
    "  warm_up: 2 min  ": "  # ",
    "  out_at_most: 4 h  ": "  # ",
}


def test_both_doses_are_due_and_both_can_be_begun(tmp_path: Path) -> None:
    clock = ManualClock(FIRST)
    desk = desk_at(tmp_path, changed_sheet(tmp_path, HALF_PAST), clock)
    assert desk.today().due.astimezone(UTC) == FIRST
    Person(desk.begin(), clock, {"read-discard": ["30 Dec 2027"] * 3}).follow()
    clock.move((SECOND - clock.now().at).total_seconds())
    assert desk.today().can_begin
    assert desk.today().due.astimezone(UTC) == SECOND
    assert desk.today().missed == ()
    assert desk.begin().row.due.astimezone(UTC) == SECOND


@pytest.mark.parametrize("due", [FIRST, SECOND])
def test_a_bag_that_needs_no_warming_is_not_taken_out_earlier(
    tmp_path: Path, due: datetime
) -> None:
    desk = desk_at(tmp_path, changed_sheet(tmp_path, {**HALF_PAST, **ROOM}), ManualClock(due))
    today = desk.today()
    assert words.TAKE_OUT_FIRST not in telling.today_lines(desk)
    rows = rows_of(today, NOTHING, due, desk.zone)
    assert "fetch" not in [row.kind for row in rows]
