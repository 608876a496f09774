"""The records in plain lines: the doses so far, one of them, how they went, the visit report.

Owns the talk about them. It must never fold a dose, or keep a row, itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from coach import words
from coach.errors import CoachError, OrderError
from coach.orders.times import day_starts
from coach.records.drawn import change_lines, dose_lines, remark, time_line_of, trend_lines
from coach.records.forms import answer_form, forms_of, needs_answer
from coach.records.model import DoseRecord
from coach.records.questions import Form
from coach.records.shelf import DAY, ENOUGH, Shelf
from coach.records.spoken import status_in_words
from coach.records.weeks import weeks_of
from coach.says import doses as dose_words
from coach.sitting.desk import Desk
from coach.sitting.sitting import Sitting
from coach.sitting.times import day_and_time, day_in_full
from coach.supplies import BACK, supply_lines
from coach.visit import report_of, unwrapped

Say = Callable[[str], None]
Hear = Callable[[], str]
FIND = "find "
AS_FAR = 90 * DAY
"""How far back is looked at once for a search."""


def write_down(form: Form, say: Say, hear: Hear) -> bool:
    """Ask what *form* asks, and keep it; tell whether it was kept.

    Raises JournalError where it cannot be kept.
    """
    answers: dict[str, str] = {}
    for number, question in enumerate(form.questions):
        say(form.ask(number, answers))
        while (heard := hear()).casefold() not in BACK:
            try:
                question.check(heard, answers)
            except OrderError as refused:
                say(str(refused))
                say(form.ask(number, answers))
            else:
                break
        else:
            return False
        answers[question.name] = heard
    say(form.keep(answers))
    return True


class RecordTalk:
    """A talk about the doses so far."""

    def __init__(self, shelf: Shelf, say: Say, hear: Hear) -> None:
        """Tell of *shelf* with *say*, and take each line that *hear* returns."""
        self.shelf = shelf
        self.say = say
        self.hear = hear
        self.found: list[DoseRecord] = []
        self.older = shelf.today()
        self.words = ""

    def run(self) -> None:
        """Tell the newest doses, and what is asked of them, until Enter alone."""
        self._find("")
        self.say(dose_words.TOLD_HOW)
        while (heard := self.hear()).casefold() not in ("", *BACK):
            try:
                self._take(heard)
            except CoachError as error:
                self.say_all(str(error).splitlines())
            self.say(dose_words.TOLD_HOW)

    def say_all(self, lines: Iterable[str]) -> None:
        """Say each of *lines*."""
        for line in lines:
            self.say(line)

    def _take(self, heard: str) -> None:
        word = heard.casefold()
        if word == "older":
            self._read_on()
        elif word == FIND.strip() or word.startswith(FIND):
            self._find(heard[len(FIND) :])
        elif word == "trends":
            lately, weeks = self.shelf.lately(), weeks_of(self.shelf)
            told = trend_lines(*lately, weeks, self.shelf.zone, plain=True)
            self.say_all(filter(None, told))
            self.say_all((dose_words.SUPPLIES_HEAD, *supply_lines(self.shelf.desk.supplies)))
        elif word == "report":
            self.say_all(line for line in unwrapped(report_of(self.shelf)) if line)
        elif word == "add":
            self._add(forms_of(self.shelf, None))
        elif word.isdecimal():
            self._open(int(word))
        else:
            self.say(words.NOT_KNOWN)

    def _find(self, typed: str) -> None:
        self.words, self.found, self.older = typed, [], self.shelf.today()
        self._read_on()

    def _read_on(self) -> None:
        """Tell older doses as they are found, until they are enough or many days were looked into.

        A search may go on through years: it is left to the person to go on with it.
        """
        first, last = len(self.found), self.older - AS_FAR
        while more_there := self.shelf.older_than(self.older):
            if len(self.found) - first >= ENOUGH or (self.words and self.older <= last):
                break
            more, self.older = self.shelf.back_from(self.older, self.words)
            self.found += more
            self._tell(more)
        if more_there and self.words:
            day = day_in_full(day_starts(self.older + DAY, self.shelf.zone), self.shelf.zone)
            self.say(dose_words.TOLD_SEARCHED.format(day=day))
        elif not self.found:
            nothing = dose_words.NONE_FOUND if self.words else dose_words.NONE_YET
            self.say(nothing.format(words=self.words))
        elif len(self.found) == first:
            self.say(dose_words.TOLD_NO_MORE)

    def _tell(self, more: Sequence[DoseRecord]) -> None:
        for number, one in enumerate(more, len(self.found) - len(more) + 1):
            self.say(
                dose_words.TOLD_ROW.format(
                    number=number,
                    due=f"{day_and_time(one.due, self.shelf.zone)}",
                    status=status_in_words(one),
                    more=remark(one),
                )
            )

    def _open(self, number: int) -> None:
        if not 0 < number <= len(self.found):
            self.say(dose_words.TOLD_NUMBER)
            return
        one, zone = self.found[number - 1], self.shelf.zone
        self.say_all(dose_lines(one, zone))
        self.say_all(time_line_of(one, zone))
        self.say_all(change_lines(one, self.shelf.before(one), zone))
        self.say(dose_words.TOLD_DOSE)
        if self.hear().casefold() == "add":
            self._add(forms_of(self.shelf, one))
            self.found[number - 1] = self.shelf.anew(one)

    def _add(self, forms: Sequence[Form]) -> None:
        for number, form in enumerate(forms, 1):
            self.say(dose_words.TOLD_ITEM.format(number=number, says=form.says))
        self.say(dose_words.TOLD_ADD)
        known = {str(number): form for number, form in enumerate(forms, 1)}
        while (heard := self.hear()) not in known:
            if heard.casefold() in ("", *BACK):
                return
            self.say(words.NOT_KNOWN)
        if write_down(known[heard], self.say, self.hear):
            self.shelf.forget()


def talk_of(desk: Desk, say: Say, hear: Hear) -> None:
    """Talk about the doses of *desk*; what cannot be read is told, and the talk is over."""
    try:
        RecordTalk(Shelf(desk), say, hear).run()
    except CoachError as error:
        for line in str(error).splitlines():
            say(line)


def write_answer(sitting: Sitting, say: Say, hear: Hear) -> bool:
    """Write down what was said on the call of now; return that the step stays.

    Raises EngineError if there is no call, JournalError where it cannot be kept.
    """
    write_down(answer_form(sitting), say, hear)
    return False


def pick(sitting: Sitting, picked: str, say: Say, hear: Hear) -> bool:
    """Give the answer *picked*, and tell whether it was given.

    What goes on from a call needs its words first. Raises EngineError, JournalError.
    """
    if needs_answer(sitting, picked):
        say(dose_words.ANSWER_FIRST)
        write_answer(sitting, say, hear)
        if needs_answer(sitting, picked):
            return False
    sitting.answer(picked)
    return True
