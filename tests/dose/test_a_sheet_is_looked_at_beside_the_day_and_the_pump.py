"""A sheet from the future, or with the card of another pump, is refused when it is opened."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.errors import FileProblems
from tests.person import MORNING, changed_sheet, desk_at


def said(folder: Path, old: str, new: str) -> str:
    """Return what is said of the demonstration sheet with *old* replaced."""
    orders = changed_sheet(folder, {old: new})
    with pytest.raises(FileProblems) as refused:
        desk_at(folder, orders, ManualClock(MORNING))
    (row,) = refused.value.problems
    return f"{row.field}: expected {row.expected}; found {row.found}"


def test_a_sheet_that_is_signed_tomorrow_is_refused(tmp_path: Path) -> None:
    assert said(tmp_path, "date: 2026-11-20 ", "date: 2026-11-26 ") == (
        "sheet.date: expected a date up to today, 2026-11-25; found 2026-11-26"
    )


def test_a_pump_card_that_is_not_there_is_told_at_once(tmp_path: Path) -> None:
    assert said(tmp_path, "card: demo ", "card: other ") == (
        'pump.card: expected a file in pump_cards; found "other"'
    )


def test_a_real_sheet_takes_no_invented_pump(tmp_path: Path) -> None:
    assert said(tmp_path, "demonstration: yes ", "demonstration: no ") == (
        "pump.card: expected the card of the real pump, as this sheet is no demonstration; "
        'found "demo", an invented one'
    )
