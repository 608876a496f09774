"""A teaching visit in plain lines: the same lessons, one sentence a line.

Owns what may be typed at a teaching visit. A dose that is rehearsed is followed as in `plain`,
with the nurse's words heard beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TextIO

from coach import telling, words
from coach.errors import CoachError, ExitCode
from coach.journal.teaching import LEVELS, Learner, Visit
from coach.lines import Lines
from coach.plain import QUIT, DoseTalk, Plain
from coach.practice.beside import Beside, level_of, mark_again, row_of
from coach.practice.lessons import Lessons
from coach.practice.rehearsal import Rehearsal
from coach.practice.visiting import visit_today
from coach.says import rehearsal as texts
from coach.sitting.desk import Desk
from coach.sitting.view import View
from coach.voice import Gone

BACK = "back"


class PracticeTalk(DoseTalk):
    """One rehearsal, step by step."""

    STAYS = texts.STAYS
    ENDS = staticmethod(lambda view: (texts.ENDED,))

    def __init__(self, plain: Plain, rehearsal: Rehearsal) -> None:
        """Follow *rehearsal*."""
        super().__init__(plain, rehearsal.sitting)
        self.rehearsal = rehearsal
        self.beside = Beside(rehearsal)

    def follow(self) -> None:
        """Go through the rehearsal to its end. Raises Gone if the person leaves before."""
        self.say_all((texts.TOLD_PRACTICE, texts.HELP))
        self._tell_surprise()
        super().follow()

    def _take(self, view: View, heard: str) -> bool:
        """Do what *heard* asks; then compare what was done with the surprise that was dealt."""
        again = super()._take(view, heard)
        try:
            self.say_all(self.beside.look().splitlines())
        except CoachError as error:
            self.say(str(error))
        if again and not self.sitting.over:
            self.say(texts.TOLD_PRACTICE)
            self._tell_surprise()
        return again

    def _aside(self, view: View, heard: str) -> bool:
        return self._nurse(heard) or super()._aside(view, heard)

    def _cut_in(self) -> str:
        """Return the line that is heard where a timer has spoken; the nurse's cut nothing short."""
        while True:
            heard = super()._cut_in()
            if not self._nurse(heard):
                return heard

    def _tell_surprise(self) -> None:
        pending = self.rehearsal.pending
        if pending is not None:
            self.say(texts.SEEN.format(shown=pending.shown))

    def _nurse(self, heard: str) -> bool:
        """Do what the nurse asks with *heard*; tell whether it was anything of hers."""
        word, _, rest = heard.partition(" ")
        rest = rest.strip()
        acts: dict[str, Callable[[], None]] = {
            "deal": lambda: self._deal(rest),
            "pick": lambda: self._dealt(self.rehearsal.pick),
            "skip": lambda: self.say(self.rehearsal.skip_wait()),
            "prompt": lambda: self.say(self.beside.prompt()),
            "mark": lambda: self.say(self._mark(rest)),
        }
        act = acts.get(word.casefold())
        if act is None:
            return False
        try:
            act()
        except CoachError as error:
            self.say(str(error))
        return True

    def _mark(self, rest: str) -> str:
        kind, _, note = rest.partition(" ")
        if kind.casefold() == "note" and note.strip():
            return self.beside.note(note.strip())
        return self.beside.mark(level_of(rest))

    def _deal(self, number: str) -> None:
        choices = self.rehearsal.can_deal()
        if number.isdecimal() and 0 < int(number) <= len(choices):
            name = choices[int(number) - 1].name
            self._dealt(lambda: self.rehearsal.deal(name))
            return
        if not choices:
            self.say(texts.DEAL_NONE)
            return
        for place, one in enumerate(choices, 1):
            self.say(texts.TOLD_DEAL.format(number=place, says=one.says.rstrip(".")))
        self.say(texts.TOLD_DEAL_PICK)

    def _dealt(self, deal: Callable[[], object]) -> None:
        deal()
        self._tell_surprise()


class Teach(Plain):
    """A teaching visit, in lines."""

    def __init__(
        self,
        lessons: Lessons,
        desk: Desk,
        lines: Lines,
        out: TextIO,
        columns: Callable[[], int] | None = None,
    ) -> None:
        """Teach by *lessons*, reading *lines* and writing to *out*."""
        super().__init__(desk, lines, out, columns)
        self.lessons = lessons

    def teach(self) -> ExitCode:
        """Talk until the nurse leaves."""
        try:
            self.say(texts.TOLD_PRACTICE)
            while True:
                self._learners()
        except (Gone, KeyboardInterrupt):
            pass
        return ExitCode.DONE

    def _ask(self, asks: str) -> str:
        """Ask *asks*; return what is typed. Raises Gone where that is to leave."""
        self.say(asks)
        heard = self.hear()
        if heard.casefold() in QUIT:
            raise Gone
        return heard

    def _refused(self, act: Callable[[], object]) -> None:
        """Do *act*; say what it refuses."""
        try:
            act()
        except CoachError as error:
            self.say_all(str(error).splitlines())

    # Who learns

    def _learners(self) -> None:
        learners, run = self.lessons.learners(), self.lessons.under_way()
        if run is not None:
            name = self.lessons.learner_of(run).name
            self.say_all((texts.OTHER_RUN.format(learner=name), texts.TOLD_RUN))
        names = (*(one.name for one in learners), texts.ADD.casefold())
        for number, who in enumerate(names, 1):
            self.say(texts.TOLD_WHO.format(number=number, who=who))
        heard = self._ask(texts.TOLD_WHO_ASKS).casefold()
        if run is not None and heard == "resume":
            self._refused(lambda: self._follow_run(self.lessons.resume()))
        elif run is not None and heard == "aside":
            self._refused(self.lessons.put_aside)
        elif heard == "call":
            self.say_all(telling.contact_lines(self.desk.contacts()))
        elif heard.isdecimal() and 0 < int(heard) <= len(learners):
            self._refused(lambda: self._visit(learners[int(heard) - 1]))
        elif heard == str(len(names)):
            self._refused(self._add)
        else:
            self.say(words.NOT_KNOWN)

    def _add(self) -> None:
        name = self._ask(texts.ASK_NAME)
        self._visit(self.lessons.add_learner(name, self._ask(texts.ASK_ROLE)))

    # A visit

    def _visit(self, learner: Learner) -> None:
        visit = visit_today(self.lessons, learner, self._ask(texts.ASK_NURSE))
        chosen: dict[str, str] = {}
        while True:
            self._tell_visit(learner, chosen)
            heard = self._ask(texts.TOLD_VISIT).casefold()
            if heard == BACK:
                return
            self._refused(partial(self._do, heard, learner, visit, chosen))

    def _tell_visit(self, learner: Learner, chosen: dict[str, str]) -> None:
        sheet = self.lessons.competence(learner)
        self.say(sheet.missing)
        again = self.lessons.to_show_again(learner)
        if again:
            self.say(texts.SHOW_AGAIN.format(titles=self.lessons.named(again)))
        for one in sheet.practise_next[:1]:
            self.say(texts.NEXT.format(says=one.says, reason=one.reason))
        for choice in self.lessons.circumstances():
            value = chosen.get(choice.choice, choice.values[0])
            other = next(one for one in choice.values if one != value)
            self.say(texts.TOLD_CHOSEN.format(choice=choice.choice, value=value, other=other))

    def _do(self, heard: str, learner: Learner, visit: Visit, chosen: dict[str, str]) -> None:
        circumstance = next((c for c in self.lessons.circumstances() if c.choice == heard), None)
        if heard == "rehearse":
            self.say(words.CHECKING)
            self._follow_run(self.lessons.begin(visit, chosen))
        elif heard == "words":
            self._questions(visit)
        elif heard == "sheet":
            self.say_all(filter(None, self.lessons.sheet_lines(learner)))
        elif heard == "marks":
            last = self.lessons.last_of(visit)
            self.say(texts.NO_MARKS) if last is None else self._marks(last)
        elif heard == "sign":
            self._sign(learner)
        elif circumstance is not None:
            now = chosen.get(heard, circumstance.values[0])
            chosen[heard] = next(one for one in circumstance.values if one != now)
        else:
            self.say(words.NOT_KNOWN)

    def _sign(self, learner: Learner) -> None:
        sheet = self.lessons.competence(learner)
        if not sheet.complete:
            self.say(sheet.missing)
            return
        nurse = self._ask(texts.ASK_SIGNER.format(learner=learner.name))
        self.say(texts.SIGNED.format(nurse=self.lessons.sign_off(learner, nurse).nurse))

    def _questions(self, visit: Visit) -> None:
        for question in self.lessons.questions():
            self.say(question.asks)
            for number, point in enumerate(question.points, 1):
                self.say(texts.TOLD_POINT.format(number=number, point=point))
            heard = self._ask(texts.TOLD_SAID)
            if heard.casefold() == BACK:
                return
            said = [p for n, p in enumerate(question.points, 1) if str(n) in heard.split()]
            self.lessons.say_back(visit, question.id, said)
            self.say(texts.TOLD_KEPT.format(said=len(said), points=len(question.points)))

    # A rehearsal

    def _follow_run(self, rehearsal: Rehearsal) -> None:
        self.lines.drop()  # what was typed during the check answers no step
        PracticeTalk(self, rehearsal).follow()
        self._marks(rehearsal)

    def _marks(self, rehearsal: Rehearsal) -> None:
        rows = rehearsal.to_mark()
        for number, row in enumerate(rows, 1):
            self.say(texts.TOLD_ROW.format(number=number, row=row_of(row)))
        while heard := self._ask(texts.TOLD_MARKS):
            place, _, level = heard.partition(" ")
            rows = rehearsal.to_mark()
            if not (place.isdecimal() and 0 < int(place) <= len(rows) and level in LEVELS):
                self.say(words.NOT_KNOWN)
                continue
            self.say(mark_again(rehearsal, rows[int(place) - 1], level))
        self.say(rehearsal.verdict().says)
