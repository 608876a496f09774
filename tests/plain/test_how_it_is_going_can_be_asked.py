"""In plain lines, too, what the pump shows as left is held against the order."""

from __future__ import annotations

import io
from pathlib import Path

from coach import words
from coach.clock import ManualClock
from coach.lines import PipedLines
from coach.plain import Plain
from tests.person import MORNING, Person, desk_at


def told(folder: Path, until: str, *typed: str) -> list[str]:
    """Return what is said once the dose stands at *until*, half of the medicine's time on."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    desk.journal.mark_first_start()
    Person(desk.begin(), clock).follow(until)
    clock.move(90)
    out = io.StringIO()
    Plain(desk, PipedLines(io.StringIO("\n".join([*typed, "quit", ""])), clock), out).run("follow")
    return out.getvalue().splitlines()


def test_what_is_as_it_should_be_stays_at_the_step(tmp_path: Path) -> None:
    said = told(tmp_path, "infuse", "how", "how 5")
    assert words.TOLD_PACE in said
    assert words.PACE_VERDICTS["as-expected"] in said
    assert "The pump shows 5 mL. By the clock it should be about 4.9 mL." in said
    assert words.PACE_CALL not in said


def test_a_pump_that_does_not_move_goes_straight_to_the_call(tmp_path: Path) -> None:
    said = told(tmp_path, "infuse", "how 10")
    assert words.PACE_CALL in said
    at = said.index(words.PACE_CALL)
    assert any("Stop the pump. Call the nurse." in line for line in said[at + 1 :])


def test_a_number_that_cannot_be_is_refused_calmly(tmp_path: Path) -> None:
    said = told(tmp_path, "infuse", "how 99", "how much?")
    assert any("more than the whole 10 mL" in line for line in said)
    assert any(line.startswith("Please type the number") for line in said)


def test_where_no_medicine_runs_that_is_said(tmp_path: Path) -> None:
    assert words.PACE_NOT_NOW in told(tmp_path, "clear-table", "how 5")
