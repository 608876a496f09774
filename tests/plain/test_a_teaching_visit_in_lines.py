"""A teaching visit in plain lines: the nurse's words beside the learner's answers."""

from __future__ import annotations

import io
from pathlib import Path
from random import Random

import pytest

from coach import places, words
from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.journal.teaching import Learner, Visit
from coach.lines import PipedLines
from coach.plain_teaching import Teach
from coach.practice.lessons import Lessons
from coach.sitting.desk import Desk
from tests.person import MORNING, holds
from tests.screens.classroom import small_procedures, without_heparin

BEGIN = ["1", "Rosa V.", "wife", "Ash"]
TO_THE_MARKS = ["rehearse", "", "1", "", "", "skip", ""]


def told(folder: Path, script: list[str]) -> list[str]:
    """Return what is said where *script* is typed at a teaching visit."""
    folder.mkdir(exist_ok=True)
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
    lines = told(tmp_path, ["1", "Ash", "rehearse", "aside", "marks", "1 alone", "", "quit"])
    assert "A rehearsal is under way. Take it up again first, or put it aside." in lines
    assert "The rehearsal was put aside. It does not count. Its marks are kept." in lines
    assert "Nurse: Wash your hands: alone." in lines
    assert not any(
        "under way" in line
        for line in lines[lines.index("Line 1. * Wash your hands: with hands-on help.") :]
    )


ASKED = ("?", "why", "wrong", "call", "list", "again")
"""What can be asked at every prompt."""


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ([], ["quit"]),
        (["1"], ["Rosa V.", "wife", "Ash", "quit"]),
        (["1", "Rosa V."], ["wife", "Ash", "quit"]),
        (["1", "Rosa V.", "wife"], ["Ash", "quit"]),
        (BEGIN, ["words", "1", "quit"]),
        ([*BEGIN, "words"], ["1", "quit"]),
        ([*BEGIN, "rehearse"], ["", "quit"]),
        ([*BEGIN, *TO_THE_MARKS], ["1 alone", "", "quit"]),
    ],
)
def test_at_each_prompt_one_can_ask_where_one_is_and_whom_to_call(
    tmp_path: Path, before: list[str], after: list[str]
) -> None:
    """What is asked changes nothing: the same follows as without it."""
    bare = told(tmp_path / "bare", [*before, *after])
    for number, word in enumerate(ASKED):
        menu = word == "wrong" and before[-1:] == ["rehearse"]
        asked = [word, "back"] if menu else [word]
        lines = told(tmp_path / str(number), [*before, *asked, *after])
        assert len(lines) > len(bare), word
        assert words.NOT_KNOWN not in lines, word
        assert lines[-1] == bare[-1], word
        phones = [line for line in lines if "555-" in line]
        assert bool(phones) == (word in ("call", "wrong") and not menu), word


@pytest.mark.parametrize(
    "typed", ["?", "1", "mark alone", "mark with a reminder", "deal 2", "pick", "prompt", "resume"]
)
def test_what_is_typed_for_something_else_is_no_name(tmp_path: Path, typed: str) -> None:
    """Neither of a learner, nor of who they are, nor of the nurse."""
    told(tmp_path, ["1", typed, "Mark", typed, "husband", typed, "Pat Skip", "words", "1", "quit"])
    with Journal.open(places.practice_beside(tmp_path / "journal.sqlite")) as journal:
        [learner], [visit] = journal.teaching.every(Learner), journal.teaching.every(Visit)
    assert (learner.name, learner.role, visit.nurse) == ("Mark", "husband", "Pat Skip")


def test_back_at_a_name_enters_nobody(tmp_path: Path) -> None:
    for typed in (["1", "back"], ["1", "Rosa", "back"], ["1", "Rosa", "wife", "Back"]):
        told(tmp_path, [*typed, "quit"])
    with Journal.open(places.practice_beside(tmp_path / "journal.sqlite")) as journal:
        assert journal.teaching.every(Learner) == ()


def test_a_visit_at_which_nothing_was_done_is_nobodys(tmp_path: Path) -> None:
    lines = told(tmp_path, [*BEGIN, "back", "quit"])
    assert "Nothing was done with Rosa V., so the name is not on the list." in lines
    assert lines.count("Type 1 for add a learner.") == 2
    lines = told(tmp_path, [*BEGIN, "words", "1", "back", "1", "Elm", "sheet", "back", "quit"])
    assert "Nothing was done at this visit, so the sheet of Rosa V. does not name it." in lines
    assert [line for line in lines if line.endswith((", Ash", ", Elm"))] == [
        "1. 25 November 2026, Ash"
    ]


def test_only_numbers_of_points_are_kept_as_points(tmp_path: Path) -> None:
    lines = told(tmp_path, [*BEGIN, "words", "mark alone", "7", "1, 2", "quit"])
    assert [line for line in lines if line.startswith("Kept")] == ["Kept: 2 of 2 points were said."]
