"""A teaching visit in plain lines: the nurse's words beside the learner's answers."""

from __future__ import annotations

import io
from pathlib import Path
from random import Random

from coach import places
from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.lines import PipedLines
from coach.plain_teaching import Teach
from coach.practice.lessons import Lessons
from coach.sitting.desk import Desk
from tests.person import MORNING, holds
from tests.screens.classroom import small_procedures, without_heparin

BEGIN = ["1", "Rosa V.", "wife", "Ash"]


def told(folder: Path, script: list[str]) -> list[str]:
    """Return what is said where *script* is typed at a teaching visit."""
    procedures, orders = small_procedures(folder), without_heparin(folder)
    clock, out = ManualClock(MORNING), io.StringIO()
    with Journal.open(folder / "journal.sqlite") as journal:
        desk = Desk(orders, procedures, journal, clock, holds)
        lessons = Lessons(desk, places.practice_beside(journal.path), Random(1))
        Teach(lessons, desk, PipedLines(io.StringIO("\n".join(script) + "\n"), clock), out).teach()
        lessons.close()
        assert journal.every_sitting() == ()
    return out.getvalue().splitlines()


def deal(lines: list[str], says: str) -> str:
    """Return what is typed to deal the surprise that *says* something, as the *lines* offer it."""
    return next(
        line.split(" for: ")[0][5:] for line in lines if "Type deal" in line and says in line
    )


def test_a_rehearsal_from_its_start_to_the_sign_off(tmp_path: Path) -> None:
    to_join = ["rehearse", "", "mark alone", "1", "mark alone", "", "mark alone"]
    offered = told(tmp_path / "first", [*BEGIN, *to_join, "deal", "quit"])
    touched = deal(offered, "touched")
    met = [touched, "wrong", "1", "mark alone", "", "mark alone", "", "mark alone"]
    ended = ["skip", "", ""]
    script = [*BEGIN, "sign", *to_join, *met, *ended, "sign", "Ash", "back", "quit"]
    lines = told(tmp_path / "second", script)
    for line in (
        "Now this happens: The end of the line brushes your sleeve.",
        "Nurse: right. told: The connector touched something.",
        "2 minutes of 2 minutes were skipped for practice.",
        "This rehearsal counts: each critical step was done alone.",
        "Nothing is missing: the rule of the agency holds.",
        "Signed off by Ash.",
    ):
        assert line in lines, "\n".join(lines)
    assert lines.count("This is practice. No real call, no real medicine.") > 5
    missing = next(place for place, line in enumerate(lines) if line.startswith("Still missing"))
    assert missing < lines.index("Signed off by Ash.")


def test_a_missed_surprise_is_named_to_the_nurse_and_marks_are_corrected(tmp_path: Path) -> None:
    to_join = ["rehearse", "prompt", "", "1", "", "pick"]
    script = [*BEGIN, *to_join, "", "skip", "", "1 alone", "9 alone", "", "quit"]
    lines = told(tmp_path, script)
    assert "Nurse: Wash your hands: with a reminder, prompts: 1." in lines
    assert any(line.startswith("Nurse: missed.") for line in lines), "\n".join(lines)
    assert any("Line 1. * Wash your hands: with a reminder" in line for line in lines)
    assert "Nurse: Wash your hands: alone, prompts: 1." in lines
    assert any(line.startswith("It does not count.") for line in lines)


def test_questions_are_asked_and_points_are_ticked(tmp_path: Path) -> None:
    lines = told(tmp_path, [*BEGIN, "words", "2", "sheet", "nonsense", "quit"])
    assert "Kept: 1 of 2 points were said." in lines
    assert any("1 of 2" in line for line in lines[lines.index("Kept: 1 of 2 points were said.") :])


def test_a_rehearsal_that_was_left_is_taken_up_or_put_aside(tmp_path: Path) -> None:
    told(tmp_path, [*BEGIN, "rehearse", "", "mark hands-on", "quit"])
    lines = told(tmp_path, ["resume", "mark", "quit"])
    assert "A rehearsal of Rosa V. is under way." in lines
    assert any(line.startswith("There is no such level.") for line in lines)
    lines = told(tmp_path, ["aside", "quit"])
    assert sum("under way" in line for line in lines) == 1
