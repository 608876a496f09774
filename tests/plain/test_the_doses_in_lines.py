"""The doses so far, the visit report and what was said on a call, in plain lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach import record_talk, words
from coach.clock import ManualClock
from coach.journal.records import Answer, Asked
from coach.record_talk import pick, talk_of, write_answer
from coach.records import shelf
from coach.records.shelf import DAY
from coach.says import doses as dose_words
from coach.sitting.desk import Desk
from coach.sitting.show import view_of
from tests.person import MORNING, Person, desk_at


def talked(desk: Desk, *script: str) -> list[str]:
    """Return what is said to *script*."""
    told: list[str] = []
    heard = iter(script)
    talk_of(desk, told.append, lambda: next(heard))
    assert next(heard, None) is None, "all of the script was heard"
    return told


def after_a_dose(folder: Path, hours: int = 2) -> Desk:
    """Return the desk some hours after a dose that went well."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    Person(desk.begin(), clock).follow()
    clock.move(hours * 3600)
    return desk


def test_nothing_on_record_is_said_so(tmp_path: Path) -> None:
    assert talked(desk_at(tmp_path), "")[0] == dose_words.NONE_YET


def test_the_list_a_dose_and_the_report_are_told_in_sentences(tmp_path: Path) -> None:
    told = talked(after_a_dose(tmp_path), "2", "", "9", "older", "trends", "report", "what", "")
    assert told[0] == "1: due 11:00 on 25 November, not given."
    assert told[1] == "2: due 10:00 on 25 November, given in full."
    assert "Went in: 10 mL of 10 mL." in told
    for said in (dose_words.TOLD_NUMBER, dose_words.TOLD_NO_MORE, words.NOT_KNOWN):
        assert said in told
    assert any("1 of 2 due doses were given in full" in line for line in told)
    assert "What went wrong" in told
    assert "" not in told


def test_how_the_doses_went_is_said_in_words_with_no_plot(tmp_path: Path) -> None:
    told = talked(after_a_dose(tmp_path), "trends", "")
    for said in (
        "When the medicine was started.",
        "10:00 on 25 November: 3 minutes before it was due, in time.",
        "10:00 on 25 November: 100 of 100.",
        "Week of 23 Nov: 1 begun, 0 with resistance, 0 with a soiling.",
    ):
        assert said in told
    assert not any(mark in line for line in told for mark in ("[", "##", "..", " r,"))


def test_doses_are_found_and_written_beside(tmp_path: Path) -> None:
    desk = after_a_dose(tmp_path)
    told = talked(
        desk, "find not given", "1", "add", "1", "I was out", "Ana", "1", "",
        "add", "1", "May I swim?", "add", "2", "back", "add", "", "find zebra", "quit",
    )  # fmt: skip
    assert told.count(dose_words.KEPT) == 2
    assert "Why not given: I was out (Ana)" in told
    assert dose_words.NONE_FOUND.format(words="zebra") in told
    assert [one.words for one in desk.journal.records.every(Asked)] == ["May I swim?"]


def test_a_search_tells_how_far_it_looked_and_goes_on_from_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_talk, "AS_FAR", DAY)
    monkeypatch.setattr(shelf, "AT_ONCE", 1)
    desk = after_a_dose(tmp_path, hours=72)
    told = talked(desk, "find given in full", "older", "older", "older", "")
    told = told[told.index(dose_words.TOLD_HOW) + 1 :]
    assert dose_words.NONE_FOUND.format(words="given in full") not in told
    on_from = [dose_words.TOLD_SEARCHED.format(day=f"{day} November 2026") for day in (28, 27, 26)]
    assert [line for line in told if line != dose_words.TOLD_HOW] == [
        *on_from,
        "1: due 10:00 on 25 November, given in full.",
    ]
    assert talked(desk, "find zebra", *["older"] * 3, "")[-2] == dose_words.NONE_FOUND.format(
        words="zebra"
    )


def test_a_stop_goes_on_once_its_words_were_read_back(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    sitting = desk_at(tmp_path, clock=clock).begin()
    Person(sitting, clock).follow("infuse")
    sitting.went_wrong("pump-warning")
    goes_on = view_of(sitting).choices[-1].name
    told: list[str] = []

    def picked(*script: str) -> bool:
        heard = iter(script)
        return pick(sitting, goes_on, told.append, lambda: next(heard))

    assert not picked("back")
    assert not picked("Let it run.", "May", "perhaps", "no")
    assert told[-1] == dose_words.NOT_THE_SAME
    heard = iter(("Let it run.", "May", "yes"))
    assert not write_answer(sitting, told.append, lambda: next(heard))
    assert picked()
    kept = sitting.journal.records.every(Answer)
    assert [(one.who, one.read_back) for one in kept] == [("May", False), ("May", True)]
