"""A whole dose, run in plain lines from a script of answers."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.person import changed_sheet
from tests.plain.scripts import Told, ending, hoped_for, played, written

NO_HEPARIN = {
    "  ordered: yes ": "  ordered: no ",
    "  strength: 10 units/mL   # 1, 10 or 100 units/mL.\n": "",
    "  volume: 3 mL            # How much heparin closes the line.\n": "",
}
SCRUBS = "Now: Scrub the end and the sides of the connector hard for 15 seconds. Timer: 15 seconds."


def dose(
    tmp_path: Path,
    answers: dict[str, list[str]] | None = None,
    spoils: dict[str, str] | None = None,
    changes: dict[str, str] | None = None,
) -> Told:
    """Write a script for a dose, then play it."""
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    orders = changed_sheet(tmp_path, changes or {})
    again = {step: list(given) for step, given in (answers or {}).items()}
    script = written(tmp_path / "a", orders, again, dict(spoils or {}))
    return played(tmp_path / "b", script, orders)


def test_a_dose_with_heparin_ordered(tmp_path: Path) -> None:
    told = dose(tmp_path)
    assert ending(told) == "finished"
    assert told.lines[-1] == "This dose is done and written down."
    assert "Say once more what you gave: saline, 10 mL of cefazolin, saline, heparin." in told.text
    assert told.text.count(SCRUBS) == 4


def test_a_dose_with_no_heparin_ordered(tmp_path: Path) -> None:
    told = dose(tmp_path, changes=NO_HEPARIN)
    assert ending(told) == "finished"
    assert "heparin syringe" not in told.text
    assert "units" not in told.text
    assert told.text.count(SCRUBS) == 3


def test_resistance_at_the_first_flush(tmp_path: Path) -> None:
    told = dose(tmp_path, {"saline-before-push": ["no"], "look-at-clamps": ["no"]})
    assert ending(told) == "stopped"
    assert "Stop. Do not push again. Call the nurse." in told.lines
    assert "Nurse: 555-0100, Nurse on call (invented), any hour." in told.lines
    assert "Start the pump." not in told.lines


def test_a_touched_tip(tmp_path: Path) -> None:
    told = dose(tmp_path, spoils={"saline-after-air": "saline-after-tip-touched"})
    assert ending(told) == "finished"
    assert "Put this second saline syringe in the bin. Take a new one." in told.lines


def test_a_label_that_does_not_match(tmp_path: Path) -> None:
    told = dose(tmp_path, {"label-strength-type": ["5 mg/mL"], "label-strength-doubt": ["5 mg/mL"]})
    assert ending(told) == "stopped"
    assert any("The label of the bag shows 5 mg/mL." in line for line in told.lines)
    assert any(line.startswith("Pharmacist: 555-0101") for line in told.lines)


@pytest.mark.parametrize("changes", [{}, NO_HEPARIN])
def test_the_time_of_a_dose_is_never_less_than_its_holds_and_waits(
    tmp_path: Path, changes: dict[str, str]
) -> None:
    told = dose(tmp_path, changes=changes)
    scrubs = told.text.count(SCRUBS)
    waits = 2 * 60 + 3 * 60  # warming and infusing
    assert told.seconds >= waits + scrubs * (15 + 6) + 3 * 20  # and three times washed hands


def test_every_sentence_of_a_stretch_is_told_before_it_and_as_it_runs(tmp_path: Path) -> None:
    told = dose(tmp_path)
    for number, does, seconds in (
        (3, "Keep hold of the connector. Take the cap off the tubing.", 8),
        (4, "Push the end of the tubing onto the connector and turn it until it is tight.", 10),
        (2, "Hold the connector in the air for 6 seconds. Let it touch nothing.", 6),
    ):
        read = told.lines.index(f"{number}. {does}")
        assert read < told.lines.index(f"Now: {does} Timer: {seconds} seconds.")


def test_every_line_is_a_sentence_that_any_terminal_can_show(tmp_path: Path) -> None:
    told = dose(tmp_path)
    for line in told.lines:
        assert line.isprintable()
        assert line[-1] in ".?:!", line


def test_a_script_that_ends_early_leaves_the_dose_as_it_is(tmp_path: Path) -> None:
    told = played(tmp_path, ["", ""])
    assert told.lines[-1].startswith("Your dose stays as it is.")
    assert ending(told) == ""
    events = told.desk.journal.events(1)
    assert [event.kind for event in events][-1] == "left"


@pytest.mark.parametrize("typed", ["x", "no", "3", "donee", "[/]", "\x1b[2J", "\u202e"])
def test_what_is_no_answer_is_said_so_and_nothing_happens(tmp_path: Path, typed: str) -> None:
    told = played(tmp_path, [typed])
    assert "That is no answer here." in told.lines
    assert [event.kind for event in told.desk.journal.events(1)] == ["left"]


def test_the_commands_that_work_at_every_prompt(tmp_path: Path) -> None:
    told = played(tmp_path, ["", "?", "why", "call", "again", "undo"])
    assert "Done last: Take the bag out." in told.lines
    assert "Next: Clear the table." in told.lines
    assert any(line.startswith("The line now: bag warming;") for line in told.lines)
    assert told.text.count("Why: Heat can harm the medicine.") == 3
    assert "Emergency: 911." in told.lines
    assert "The last answer is taken back." in told.lines
    assert sum(line.endswith("Step 1 of 2.") for line in told.lines) == 2


def test_today_comes_first_and_says_what_is_due(tmp_path: Path) -> None:
    told = played(tmp_path, ["call", "nonsense", "start", "quit"], start="today")
    assert told.lines[0] == "Today, 09:50 on 25 November."
    assert "This is a demonstration. The person, the agency and the pump are made up." in told.lines
    assert "The bag comes out at 09:58." in told.lines
    assert any(line.startswith("A dose is due at 10:00 on 25 November.") for line in told.lines)
    assert "That is no answer here." in told.lines
    assert told.lines[-1].startswith("Your dose stays as it is.")


def test_leaving_the_table_and_coming_back_asks_for_clean_hands_again(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    (tmp_path / "c").mkdir()
    script = list(hoped_for()[:14])
    menu = played(tmp_path / "b", [*script, "wrong"])
    line = next(line for line in menu.lines if line.endswith(". I have to leave the table."))
    told = played(tmp_path / "c", [*script, "wrong", line.split(".")[0], "", "quit"])
    assert "You are back. Some things may have to be done once more." in told.lines
    assert "Wipe the table and the keys you will press. Let them dry." in told.lines[-12:]
