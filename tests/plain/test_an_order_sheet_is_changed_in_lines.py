"""An order sheet in plain lines: field by field, in full sentences, kept only as the nurse says."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coach import words
from coach.clock import ManualClock
from coach.orders.read import read_sheet
from coach.orders.write import open_draft
from coach.says import sheet as sheet_words
from coach.sheet_talk import SheetTalk
from tests.person import DEMO, changed_sheet

CLOCK = ManualClock(datetime(2026, 11, 25, 15, 0, tzinfo=UTC))


def talked(sheet: Path, lines: Iterable[str]) -> list[str]:
    """Return what is said while somebody types *lines* about *sheet*."""
    said: list[str] = []
    heard = iter(lines)
    SheetTalk(open_draft(sheet), CLOCK, (), said.append, lambda *_: next(heard)).run()
    return said


def test_enter_alone_leaves_every_field_as_it_is(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {})
    said = talked(sheet, [""] * 200)
    assert "flush.barrel is 10 mL." in said
    assert "tubing.flush_through is left out." in said
    assert said[-1] == words.SHEET_SAME
    assert sheet.read_bytes() == DEMO.read_bytes()


def test_a_field_is_told_changed_and_kept_as_a_version_that_somebody_signed(
    tmp_path: Path,
) -> None:
    sheet = changed_sheet(tmp_path, {})
    said = talked(sheet, ["person.initials", "X. Y.", "back", "end", "next", "", "S. Vo"])
    assert "person.initials is now X. Y." in said
    assert sheet_words.SIGN_EMPTY in said
    found = read_sheet(sheet)
    assert (found.person.initials, found.sheet.signed_by) == ("X. Y.", "S. Vo")
    assert (found.sheet.version, str(found.sheet.date)) == (2, "2026-11-25")
    assert said[-1] == words.SHEET_KEPT.format(name="orders.yaml.before")


def test_what_is_not_right_is_told_at_the_field_and_never_kept(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {})
    said = talked(sheet, ["medicine.dose", "20 mg", "", "end", "next", "drop"])
    problem = next(line for line in said if line.startswith("Expected 200 mg, as 20 mg/mL"))
    assert f"medicine.dose: {problem}" in said
    assert words.NOT_KNOWN in said
    assert said[-1] == sheet_words.TALK_DROPPED
    assert sheet.read_bytes() == DEMO.read_bytes()


def test_a_field_can_be_left_out_and_gone_back_to(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {})
    said = talked(sheet, ["person.address", "out", "end", "person.born", "end", "same"])
    assert "person.address is now left out." in said
    assert any(line.startswith("person.born is ") for line in said)
    assert read_sheet(sheet).person.address == ""
    assert read_sheet(sheet).sheet.version == 1


def test_lines_that_end_early_leave_the_file_as_it_is(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {})
    with pytest.raises(StopIteration):
        talked(sheet, ["person.initials", "X. Y."])
    assert sheet.read_bytes() == DEMO.read_bytes()
