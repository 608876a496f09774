"""At every prompt one can ask where one is, why, once more, what is left, and for help.

Whole talks are gone through from scripts; the first time that each prompt comes up, every word is
tried there before the script goes on.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from coach import words
from coach.clock import ManualClock
from coach.journal.records import Answer, Asked, Called, Correction, OnPaper, Reason
from coach.lines import NO_LINE
from coach.orders.write import open_draft
from coach.plain import Plain
from coach.says import doses as dose_words
from coach.says import sheet as sheet_words
from coach.says import supplies as supply_words
from coach.sheet_talk import SheetTalk
from coach.sitting.desk import Desk
from coach.sitting.show import view_of
from coach.voice import Voice
from tests.person import MORNING, Person, changed_sheet, desk_at
from tests.plain.scripts import hoped_for
from tests.plain.test_a_typed_line_is_taken import turned

ASKED = ("?", "why", "again", "list", "list all", "wrong")
NURSE = "Nurse: 555-0100, Nurse on call (invented), any hour."
FIELD = re.compile(r"It means: |Expected |[a-z_.]+ is ")
"""How the last line that is said of a field of the order sheet begins."""
WHERE = ("You are ", "Part ", "This comes first. ")


@dataclass
class Curious:
    """Lines of a script; at each new prompt every word is asked first, and the answer kept."""

    clock: ManualClock
    script: list[str]
    out: io.StringIO = field(default_factory=io.StringIO)
    answers: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    """What was said to a word at a prompt, by the two."""
    asks: bool = True
    _open: list[str] = field(default_factory=list)
    _told: int = 0
    _asked: tuple[str, str] = ("", "")

    def line(self) -> str | None:
        """Return what is asked next at this prompt, or the next line of the script."""
        lines = self.out.getvalue().splitlines()
        if self._asked[1]:
            prompt, word = self._asked
            said = self.answers.setdefault(self._asked, [])
            said += lines[self._told :]
            self._told = len(lines)
            if word == "wrong" and lines[-1] == words.WRONG != prompt:
                return "back"
            self._asked = ("", "")
        prompt = lines[-1] if lines else ""
        if self.asks and not self._open and (prompt, ASKED[0]) not in self.answers:
            # With a timer that runs, help stops it: that is looked at elsewhere.
            runs = prompt == words.TYPE_LISTEN
            self._open = [word for word in ASKED if not (runs and word == "wrong")]
        if self._open:
            self._asked, self._told = (prompt, self._open.pop(0)), len(lines)
            return self._asked[1]
        return self.script.pop(0) if self.script else None

    def line_within(self, seconds: float) -> str | None:
        """Let *seconds* pass."""
        self.clock.sleep(seconds)
        return NO_LINE

    def drop(self) -> None:
        """Keep every line."""


Talk = Callable[[Path, bool], tuple[list[Curious], object]]
"""Has a talk in a folder, with words asked or without; returns it, and all that was kept."""


def plainly(desk: Desk, script: Iterable[str], asks: bool, start: str = "today") -> Curious:
    """Talk at *desk*, and return what was asked and answered."""
    assert isinstance(desk.clock, ManualClock)
    lines = Curious(desk.clock, list(script), asks=asks)
    Plain(desk, lines, lines.out).run(start)
    assert not lines.script, (lines.script[:3], lines.out.getvalue()[-900:])
    return lines


def kept_by(desk: Desk) -> object:
    """Return everything that was kept, but for the times."""
    book = desk.journal.records
    rows = [
        [(type(row).__name__, getattr(row, "words", ""), getattr(row, "who", "")) for row in found]
        for found in (book.every(k) for k in (Answer, Asked, Called, Correction, OnPaper, Reason))
    ]
    events = [
        (event.kind, event.step, event.value)
        for number in range(1, 4)
        for event in desk.journal.events(number)
    ]
    return rows, events, [(one.item, one.number) for one in desk.journal.stock.entries()]


def new_desk(folder: Path) -> Desk:
    """Return a desk at which the first start was read."""
    desk = desk_at(folder)
    desk.journal.mark_first_start()
    return desk


def a_whole_dose(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    desk = desk_at(folder)
    return [plainly(desk, ["", "start", *hoped_for(), "quit"], asks)], kept_by(desk)


def a_dose_that_is_left_and_taken_up(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    desk = new_desk(folder)
    shown = plainly(desk, ["go", "wrong", "quit"], asks=False).out.getvalue().splitlines()
    leave = next(line for line in shown if line.endswith(f"{words.WRONG_LEAVE}.")).split(".")[0]
    scripts = (["go", "wrong", leave, "", "quit"], ["go", "quit"])
    return [plainly(desk, script, asks) for script in scripts], kept_by(desk)


def a_dose_that_is_listened_to(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    desk = new_desk(folder)
    return [plainly(desk, ["", "listen", "", "", "", "", "quit"], asks, "checklist")], kept_by(desk)


def a_call_that_is_gone_on_from(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    desk = new_desk(folder)
    sitting = desk.begin()
    assert isinstance(desk.clock, ManualClock)
    Person(sitting, desk.clock).follow("infuse")
    sitting.went_wrong("pump-warning")
    goes_on = str(len(view_of(sitting).choices))
    said = ["Let it run.", "May", "yes"]
    return [plainly(desk, ["go", goes_on, *said, "quit"], asks)], kept_by(desk)


def a_dose_that_somebody_has_to_allow(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    desk = new_desk(folder)
    assert isinstance(desk.clock, ManualClock)
    sitting = desk.begin()
    emergency = next(one for one in sitting.dose.procedure.mishaps if one.final)
    sitting.went_wrong(emergency.id)
    Person(sitting, desk.clock).follow()
    desk.clock.move(3_600)
    return [plainly(desk, ["start", "Dr. Lee", "quit"], asks)], kept_by(desk)


def after_a_dose(folder: Path) -> Desk:
    """Return the desk two hours after a dose that went well."""
    desk = new_desk(folder)
    assert isinstance(desk.clock, ManualClock)
    Person(desk.begin(), desk.clock).follow()
    desk.clock.move(2 * 3600)
    return desk


RECORDS = (
    *("2", "add", "1", "early", "The nurse said so", "Ana"),
    *("2", "add", "2", "9.5", "Ana", "I read it again"),
    *("2", "add", "3", "Ana", "Ana", "I was asked"),
    *("2", "add", "4", "Ana", "Ana", "So it was"),
    *("2", "add", "5", "A7", "Ana", "It stands on the box"),
    *("2", "add", "9", "2", "Ana", "It was red"),
    *("2", "add", "6", "Ana", "Two of one"),
    *("1", "add", "2", "25 Nov 2026 11:00", "25 Nov 2026 11:03", "", "Ana", "Ana"),
    *("add", "1", "May I swim?"),
    *("add", "2", "Ash"),
    *("add", "3", "24 Nov 2026 12:00", "24 Nov 2026 12:00", "24 Nov 2026 12:03", "10", "A", "A"),
    *("find given", "older", "trends", "quit"),
)
"""Something of each kind that can be written down of the doses."""


def the_doses_from_today(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    desk = after_a_dose(folder)
    return [plainly(desk, ["doses", *RECORDS, "quit"], asks)], kept_by(desk)


def the_supplies(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    desk = new_desk(folder)
    came = ("2", "1", "14", "30 Dec 2026", "A7", "2", "1", "9", "31 Dec 2026", "")
    counted = ("2", "2", "13", "30 Dec 2026", "one leaked", "")
    return [plainly(desk, ["supplies", *came, *counted, "quit"], asks)], kept_by(desk)


def an_order_sheet(folder: Path, asks: bool) -> tuple[list[Curious], object]:
    path = changed_sheet(folder, {})
    wrong = ["medicine.dose", "20 mg", "end", "medicine.dose", "200 mg"]
    script = [*wrong, "person.initials", "X. Y.", "end", "next", "S. Vo"]
    lines = Curious(ManualClock(MORNING), script, asks=asks)
    voice = Voice(lines, lines.out)
    SheetTalk(open_draft(path), lines.clock, (), voice.say, voice.hear_beside).run()
    return [lines], path.read_bytes()


TALKS: dict[str, Talk] = {
    talk.__name__: talk
    for talk in (
        a_whole_dose, a_dose_that_is_left_and_taken_up, a_dose_that_is_listened_to,
        a_call_that_is_gone_on_from, a_dose_that_somebody_has_to_allow, the_doses_from_today,
        the_supplies, an_order_sheet,
    )
}  # fmt: skip
ANSWERS: dict[str, dict[tuple[str, str], list[str]]] = {}
"""What was said in each talk; each is gone through once."""


def asked_in(name: str, folders: pytest.TempPathFactory) -> dict[tuple[str, str], list[str]]:
    """Return what was said in the talk *name* to each word at each prompt."""
    if name not in ANSWERS:
        (curious, kept), (_, plain) = (
            TALKS[name](folders.mktemp("talk"), asks) for asks in (True, False)
        )
        assert kept == plain, "what is asked changes nothing"
        ANSWERS[name] = {key: said for one in curious for key, said in one.answers.items()}
    return ANSWERS[name]


@pytest.fixture(params=TALKS)
def answers(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> dict[tuple[str, str], list[str]]:
    """Return what was said in one talk to each word at each prompt."""
    return asked_in(request.param, tmp_path_factory)


def test_no_word_is_unknown_and_the_question_is_said_again(
    answers: dict[tuple[str, str], list[str]],
) -> None:
    for (prompt, word), said in answers.items():
        assert words.NOT_KNOWN not in said, (prompt, word)
        of_a_field = FIELD.match(prompt) and FIELD.match(said[-1])
        assert said[-1] == prompt or of_a_field, (prompt, word, said)


def test_each_word_says_what_it_is_for(answers: dict[tuple[str, str], list[str]]) -> None:
    help_ = (words.WRONG, NURSE, sheet_words.TALK_WRONG.split("{")[0])
    for (prompt, word), said in answers.items():
        about = " ".join(said[:-1])
        if word == "?":
            assert about.startswith(WHERE), (prompt, said)
        elif word == "wrong":
            assert any(one in about for one in help_) or prompt == words.WRONG, (prompt, said)
        elif word in ("why", "list"):
            assert about, (prompt, word)


ASKED_ELSEWHERE = {"find", "started", "over"}
"""Found by another prompt; and two that are asked as the others are, of a dose that was given."""
NOT_COME_TO = {
    "TYPE_STOCK",  # a question follows it
    "TYPE_PICK",  # these two end a step as the others do, and no step of a good day has them
    "TYPE_START_TIMER",
}


def prompts() -> set[str]:
    """Return every text after which a line is waited for, but for those of a rehearsal."""
    own = (dose_words, supply_words, sheet_words, words)
    named = {
        name: text
        for module in own
        for name, text in vars(module).items()
        if name.startswith(("TYPE_", "TALK_KEEP", "TALK_NOT_YET")) and isinstance(text, str)
    }
    told = {named[name] for name in named.keys() - NOT_COME_TO}
    told |= {words.FIRST_READ, words.STRETCH_START, words.WRONG, words.TOLD_RESTING}
    told |= {dose_words.TOLD_HOW, dose_words.TOLD_ADD, dose_words.TOLD_DOSE, sheet_words.SIGN_ASKS}
    told |= {text for name, text in dose_words.ASKS.items() if name not in ASKED_ELSEWHERE}
    told |= set(supply_words.STOCK_ASKS.values())
    return {text.split("“{")[0] for text in told | {words.NEEDS_WORD.split("} ")[1]}}


def test_every_prompt_was_come_to(tmp_path_factory: pytest.TempPathFactory) -> None:
    seen = {prompt for name in TALKS for prompt, _ in asked_in(name, tmp_path_factory)}
    assert {one for one in prompts() if not any(one in prompt for prompt in seen)} == set()


@pytest.mark.parametrize("word", ASKED[:-1])
def test_a_word_that_is_typed_while_a_hold_runs_stops_it_and_is_answered(
    tmp_path: Path, word: str
) -> None:
    told, _ = turned(tmp_path, words.STRETCH_START, [""], [NO_LINE, word])
    after = told[told.index(words.RUN_STOPPED) + 1 :]
    assert words.NOT_KNOWN not in after
    if word == "again":
        assert after[0].startswith("Part ")
    else:
        assert after.index(words.STRETCH_START) > 1
        assert not after[0].startswith("Part ") or word == "?"
