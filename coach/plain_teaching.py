"""A teaching visit in plain lines: the same lessons, one sentence a line.

Owns what may be typed at a teaching visit. A dose that is rehearsed is followed as in `plain`,
with the nurse's words heard beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TextIO

from coach import words
from coach.errors import CoachError, ExitCode
from coach.journal.teaching import LEVELS, Learner, Visit
from coach.lines import Lines
from coach.plain import QUIT, DoseTalk, Plain
from coach.practice.beside import Beside, level_of, mark_again, row_of
from coach.practice.lessons import Lessons
from coach.practice.rehearsal import Marked, Rehearsal
from coach.practice.visiting import nothing_done, visit_today
from coach.says import rehearsal as texts
from coach.says import teaching as teaching_words
from coach.sitting.desk import Desk
from coach.sitting.view import View
from coach.voice import Gone

BACK, RESUME, ASIDE, MARK, NOTE = "back", "resume", "aside", "mark", "note"
ORDERS = frozenset(
    (
        RESUME, ASIDE, MARK, NOTE, "deal", "pick", "skip", "prompt", "rehearse", "words", "sheet",
        "marks", "sign", "undo", "done", "start", "listen", "go",
    )
)  # fmt: skip
"""What is typed at other prompts of a teaching visit, as it is written there."""


class _Back(Exception):
    """Somebody would rather go back than type a name."""


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

    def _ask(self, asks: str, place: tuple[str, str]) -> str:
        """Ask *asks*, at *place*; return what is typed. Raises Gone where that is to leave."""
        self.say(asks)
        heard = self.hear_at(place)
        if heard.casefold() in QUIT:
            raise Gone
        return heard

    def _ask_name(self, asks: str, why: str) -> str:
        """Ask for a name; return it. Raises _Back where somebody would rather go back.

        A word that means something to the coach is no name: it was typed for another prompt.
        """
        while True:
            name = self._ask(asks, (texts.TOLD_AT_NAME, why))
            if name.casefold() == BACK:
                raise _Back
            word, _, rest = name.partition(" ")
            ordered = word in ORDERS and (not rest or rest.isdecimal())
            if ordered or (word == MARK and (level_of(rest) in LEVELS or rest.startswith(NOTE))):
                self.say(texts.TOLD_NO_NAME.format(word=name))
            elif any(letter.isalpha() for letter in name):
                return name
            else:
                self.say(teaching_words.NO_NAME)

    def _refused(self, act: Callable[[], object]) -> None:
        """Do *act*; say what it refuses."""
        try:
            act()
        except _Back:
            pass
        except CoachError as error:
            self.say_all(str(error).splitlines())

    # Who learns

    def _learners(self) -> None:
        learners = self.lessons.learners()
        self._tell_run()
        names = (*(one.name for one in learners), texts.ADD.casefold())
        for number, who in enumerate(names, 1):
            self.say(texts.TOLD_WHO.format(number=number, who=who))
        heard = self._ask(texts.TOLD_WHO_ASKS, texts.TOLD_AT_WHO).casefold()
        if self._run(heard):
            return
        if heard.isdecimal() and 0 < int(heard) <= len(learners):
            self._refused(lambda: self._visit(learners[int(heard) - 1]))
        elif heard == str(len(names)):
            self._refused(self._add)
        else:
            self.say(words.NOT_KNOWN)

    def _tell_run(self) -> None:
        run = self.lessons.under_way()
        if run is not None:
            name = self.lessons.learner_of(run).name
            self.say_all((texts.OTHER_RUN.format(learner=name), texts.TOLD_RUN))

    def _run(self, heard: str) -> bool:
        """Go on with the rehearsal that is under way, or put it aside; tell if *heard* asks it."""
        if heard not in (RESUME, ASIDE):
            return False
        if heard == RESUME:
            self._refused(lambda: self._follow_run(self.lessons.resume()))
        else:
            self._refused(self._aside)
        return True

    def _aside(self) -> None:
        self.lessons.put_aside()
        self.say(texts.PUT_ASIDE)

    def _add(self) -> None:
        name = self._ask_name(texts.ASK_NAME, texts.TOLD_WHY_NAME)
        role = self._ask_name(texts.ASK_ROLE, texts.TOLD_WHY_ROLE)
        nurse = self._ask_name(texts.ASK_NURSE, texts.TOLD_WHY_NURSE)
        self._at_visit(self.lessons.add_learner(name, role), nurse)

    # A visit

    def _visit(self, learner: Learner) -> None:
        self._at_visit(learner, self._ask_name(texts.ASK_NURSE, texts.TOLD_WHY_NURSE))

    def _at_visit(self, learner: Learner, nurse: str) -> None:
        visit = visit_today(self.lessons, learner, nurse)
        chosen: dict[str, str] = {}
        while True:
            self._tell_visit(learner, chosen)
            heard = self._ask(texts.TOLD_VISIT, texts.TOLD_AT_VISIT).casefold()
            if heard == BACK:
                if left := nothing_done(self.lessons, visit, learner):
                    self.say(left)
                return
            if not self._run(heard):
                self._refused(partial(self._do, heard, learner, visit, chosen))

    def _tell_visit(self, learner: Learner, chosen: dict[str, str]) -> None:
        sheet = self.lessons.competence(learner)
        self._tell_run()
        self.say(sheet.missing)
        again = self.lessons.to_show_again(learner)
        if again:
            self.say(texts.SHOW_AGAIN.format(titles=self.lessons.named(again)))
        for one in sheet.practise_next[:1]:
            self.say(texts.NEXT.format(says=one.says.rstrip("."), reason=one.reason))
        for choice in self.lessons.circumstances():
            value = chosen.get(choice.choice, choice.values[0])
            now, other = choice.told(value), choice.told(choice.other(value))
            self.say(texts.TOLD_CHOSEN.format(now=now, choice=choice.choice, other=other))

    def _do(self, heard: str, learner: Learner, visit: Visit, chosen: dict[str, str]) -> None:
        circumstance = next((c for c in self.lessons.circumstances() if c.choice == heard), None)
        if heard == "rehearse":
            self.say(words.CHECKING)
            self._follow_run(self.lessons.begin(visit, chosen))
        elif heard == "words":
            self._questions(visit)
        elif heard == "sheet":
            self.say_all(filter(None, self.lessons.sheet_lines(learner, width=None)))
        elif heard == "marks":
            last = self.lessons.last_of(visit)
            self.say(texts.NO_MARKS) if last is None else self._marks(last)
        elif heard == "sign":
            self._sign(learner)
        elif circumstance is not None:
            now = chosen.get(heard, circumstance.values[0])
            chosen[heard] = circumstance.other(now)
        else:
            self.say(words.NOT_KNOWN)

    def _sign(self, learner: Learner) -> None:
        sheet = self.lessons.competence(learner)
        if not sheet.complete:
            self.say(sheet.missing)
            return
        nurse = self._ask_name(texts.ASK_SIGNER.format(learner=learner.name), texts.TOLD_WHY_SIGNER)
        self.say(texts.SIGNED.format(nurse=self.lessons.sign_off(learner, nurse).nurse))

    def _questions(self, visit: Visit) -> None:
        for question in self.lessons.questions():
            self.say(question.asks)
            points = {str(number): point for number, point in enumerate(question.points, 1)}
            for number, point in points.items():
                self.say(texts.TOLD_POINT.format(number=number, point=point))
            typed = self._ask(texts.TOLD_SAID, texts.TOLD_AT_WORDS).replace(",", " ").split()
            while not points.keys() >= set(typed):
                if typed[0].casefold() == BACK:
                    return
                self.say(words.NOT_KNOWN)
                typed = self._ask(texts.TOLD_SAID, texts.TOLD_AT_WORDS).replace(",", " ").split()
            said = [point for number, point in points.items() if number in typed]
            self.lessons.say_back(visit, question.id, said)
            self.say(texts.TOLD_KEPT.format(said=len(said), points=len(points)))

    # A rehearsal

    def _follow_run(self, rehearsal: Rehearsal) -> None:
        self.lines.drop()  # what was typed during the check answers no step
        PracticeTalk(self, rehearsal).follow()
        self._marks(rehearsal)

    def _marks(self, rehearsal: Rehearsal) -> None:
        self._tell_marks(rehearsal)
        while heard := self._ask(texts.TOLD_MARKS, texts.TOLD_AT_MARKS):
            if heard.casefold() == BACK:
                break
            place, _, level = heard.partition(" ")
            rows, level = rehearsal.to_mark(), level_of(level)
            if not (place.isdecimal() and 0 < int(place) <= len(rows) and level in LEVELS):
                self.say(words.NOT_KNOWN)
                continue
            self._refused(partial(self._mark_line, rehearsal, rows[int(place) - 1], level))
        self.say(rehearsal.verdict().says)

    def _mark_line(self, rehearsal: Rehearsal, row: Marked, level: str) -> None:
        self.say(mark_again(rehearsal, row, level))

    def _tell_marks(self, rehearsal: Rehearsal) -> None:
        for number, row in enumerate(rehearsal.to_mark(), 1):
            self.say(texts.TOLD_ROW.format(number=number, row=row_of(row)))
