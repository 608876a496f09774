"""The same sitting as plain lines: for screen readers, a dumb terminal, and scripts.

Owns the reading of one line at a time, and what each may mean. Every change is a new line;
nothing is repainted and no control character but the newline is written. It decides nothing:
every answer goes to the sitting.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import TextIO

from coach import telling, words
from coach.errors import CoachError, EngineError, ExitCode, OrderError
from coach.lines import Lines
from coach.plain_timers import Timers
from coach.record_talk import pick, talk_of, write_answer
from coach.says import doses as dose_words
from coach.sitting.checklist import all_lines, list_lines
from coach.sitting.desk import Desk
from coach.sitting.pace import Pace
from coach.sitting.show import menu_of, view_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import View, choice_named
from coach.supplies import Talk
from coach.voice import HOW, LIST, LIST_ALL, LISTEN, Asides, Gone, Voice, asides

QUIT = ("quit", "leave", "q")
GO_ON = ("", "done", "start", "wait")
"""What may be typed where a step asks for nothing but going on."""


class Plain(Voice):
    """One conversation in lines."""

    def __init__(
        self, desk: Desk, lines: Lines, out: TextIO, columns: Callable[[], int] | None = None
    ) -> None:
        """Talk about the doses of *desk*, reading *lines* and writing to *out*.

        *columns* tells how wide a terminal is, if there is one.
        """
        super().__init__(lines, out, columns)
        self.desk = desk

    def run(self, start: str) -> ExitCode:
        """Talk until the person leaves, from ``today``, or straight to the dose.

        ``follow`` goes there, and ``checklist`` says first what is left of it. Raises NotNow if
        there is no dose to go to, and CoachError if the record cannot be kept.
        """
        try:
            self._first_start()
            if start in ("follow", "checklist"):
                self._follow(listed=start == "checklist")
            else:
                self._today()
        except (Gone, KeyboardInterrupt):
            pass
        return ExitCode.DONE

    def _first_start(self) -> None:
        if self.desk.journal.first_start_seen():
            return
        number = self.desk.sheet.contacts.emergency_number
        self.say_all(text.format(number=number) for text in words.TOLD_FIRST)
        self.say_all(telling.contact_lines(self.desk.contacts()))
        self.say(words.FIRST_READ)
        if self.hear_at(words.TOLD_AT_FIRST).casefold() in QUIT:
            raise Gone
        self.desk.journal.mark_first_start()

    # Today

    def _today(self) -> None:
        """Tell the day's first page again after each dose, until the person leaves."""
        while True:
            self._tell_today()
            self._hear_start()
            try:
                sitting = self._begin()
            except CoachError as error:
                self.say_all(str(error).splitlines())
            else:
                DoseTalk(self, sitting).follow()

    def _follow(self, *, listed: bool) -> None:
        today = self.desk.today()
        if today.under_way is None and not today.can_begin:
            self._tell_today()
        self.say_all(telling.other_sheet_lines(today, self.desk.sheet.sheet))
        sitting = self._begin()
        if listed:
            self.say_all(all_lines(sitting))
        DoseTalk(self, sitting).follow()

    def _tell_today(self) -> None:
        self.say_all(telling.today_lines(self.desk))

    def _hear_start(self) -> None:
        """Return once a dose is to be taken up. Raises Gone if the person leaves."""
        while True:
            today = self.desk.today()
            self.say(telling.today_prompt(today))
            heard = self.hear_beside(
                {
                    **self._asides(words.TOLD_AT_TODAY),
                    "again": lambda: telling.today_lines(self.desk),
                }
            ).casefold()
            if heard in QUIT:
                raise Gone
            if heard == "supplies":
                hear = partial(self.hear_at, words.TOLD_AT_SUPPLIES)
                Talk(self.desk.supplies, self.say, hear).run()
            elif heard == "doses":
                talk_of(self.desk, self.say, partial(self.hear_at, dose_words.TOLD_AT))
            elif heard in ("", "go", "start") and (today.under_way or today.can_begin):
                return
            else:
                self.say(words.NOT_KNOWN)

    def hear_at(self, place: tuple[str, str]) -> str:
        """Return the next line that is an answer at *place*, where no dose is open."""
        return self.hear_beside(self._asides(place))

    def _asides(self, place: tuple[str, str]) -> Asides:
        whom = list(telling.contact_lines(self.desk.contacts()))
        if self.desk.today().under_way is not None:
            whom.append(words.TOLD_WRONG_GO)
        return asides(place, whom, lambda: (words.TOLD_NO_LIST,))

    def _begin(self) -> Sitting:
        """Take up the dose that is under way, or begin the one that is due."""
        today = self.desk.today()
        word = ""
        if today.under_way is None and today.can_begin and today.needs_word:
            self.say(words.NEEDS_WORD.format(why=words.WORD_FOR[today.word_for]))
            word = self.hear_at(words.TOLD_AT_WORD)
        if today.under_way is None:
            self.say(words.CHECKING)
        sitting = self.desk.begin(word)
        self.lines.drop()  # what was typed during the check answers no step
        return sitting


class DoseTalk(Timers):
    """One dose, step by step."""

    STAYS = words.LEFT_DOSE
    ENDS: Callable[[View], Iterable[str]] = staticmethod(telling.end_lines)

    def __init__(self, plain: Plain, sitting: Sitting) -> None:
        """Follow *sitting*, speaking and hearing as *plain* does."""
        super().__init__(plain, sitting)
        self.pace = Pace(sitting)

    def follow(self) -> None:
        """Go through the dose to its end. Raises Gone if the person leaves before."""
        self.say(words.HELP)
        try:
            while not self.sitting.over:
                view = view_of(self.sitting)
                zone, source = self.sitting.dose.zone, self.sitting.dose.procedure.source
                self.say_all(telling.step_lines(view, zone, source.lead_in))
                self.say(telling.prompt(view))
                while not self._take(view, self.voice.hear()):
                    self.say(telling.prompt(view_of(self.sitting)))
        except (Gone, KeyboardInterrupt):
            self.sitting.leave()
            self.say(self.STAYS)
            raise Gone from None
        self.say_all(self.ENDS(view_of(self.sitting)))

    # Hearing

    def _take(self, view: View, heard: str) -> bool:
        """Do what *heard* asks; tell whether the step has to be told anew."""
        try:
            return self._command(view, heard.casefold()) or self._answer(view, heard)
        except (EngineError, OrderError) as refused:
            self.say(str(refused))
            return False

    def _command(self, view: View, word: str) -> bool:
        """Do what can be asked at every prompt; tell whether it may have changed the step."""
        if word in QUIT:
            raise Gone
        if word == "undo":
            self._undo()
        elif word == "wrong":
            self._wrong(view)
        return word in ("undo", "wrong", "again")

    def _undo(self) -> None:
        self.sitting.undo()
        self.say(words.UNDONE)

    def _aside(self, view: View, heard: str) -> bool:
        """Do what *heard* asks beside the step, which stays; return whether it asks that."""
        word = heard.casefold()
        if word == "why":
            self.say(words.WHY.format(why=view.why))
        elif word == "?":
            self.say_all(telling.where_lines(view_of(self.sitting)))
        elif word == "call":
            self.say_all(telling.contact_lines(self.sitting.words.contacts("nurse")))
        elif word in (LIST, LIST_ALL):
            self.say_all((list_lines if word == LIST else all_lines)(self.sitting))
        elif word == "answer":
            write_answer(self.sitting, self.say, partial(self._hear_at, dose_words.TOLD_AT_CALL))
        elif word == "note":
            self.say(words.TOLD_NOTE_EMPTY)
        elif word.startswith("note "):
            self.sitting.note(heard[len("note ") :])
            self.say(words.NOTED)
        else:
            return False
        return True

    def _hear_at(self, place: tuple[str, str]) -> str:
        """Return the next line that is an answer at *place*, which is no step."""
        whom = (
            *telling.contact_lines(self.sitting.words.contacts("nurse")),
            words.TOLD_WRONG_BACK,
        )
        lists = partial(list_lines, self.sitting), partial(all_lines, self.sitting)
        return self.voice.hear_beside(asides(place, whom, *lists))

    def _pace(self, typed: str) -> bool:
        """Hold what the pump shows as left against the order; tell whether the step changes."""
        if not self.pace.can_look():
            self.say(words.PACE_NOT_NOW)
        elif not typed:
            self.say(words.TOLD_PACE)
        else:
            seen = self.pace.look(typed)
            nurse = self.sitting.words.contact("nurse", "Nurse")
            phone = words.CALL_LINE.format(who=nurse.who, phone=nurse.phone)
            self.say_all(telling.pace_lines(seen, phone))
            if seen.off:
                self.pace.tell()
                return True
        return False

    def _answer(self, view: View, heard: str) -> bool:
        """Answer the step or a question about it; tell whether a step has to be told now."""
        word = heard.casefold()
        if self._aside(view, heard):
            return False
        if word.split(" ")[0] == HOW:
            return self._pace(word.removeprefix(HOW).strip())
        if view.way == "reading" and heard:
            self.sitting.read(heard)
            return True
        if picked := choice_named(view, word):
            hear = partial(self._hear_at, dose_words.TOLD_AT_CALL)
            return pick(self.sitting, picked, self.say, hear)
        if word in GO_ON and not view.choices and view.way != "reading":
            return self._go(view, listens=False)
        if word == LISTEN and view.way in ("run", "wait"):
            return self._go(view, listens=True)
        self.say_all((words.NOT_KNOWN, words.HELP))
        return False

    def _go(self, view: View, *, listens: bool) -> bool:
        """Go on with the step; tell whether the step to do now has to be told."""
        if view.way == "run":
            self.sitting.start_run()
            self._run(listens=listens)
        elif view.way == "wait":
            return self._wait(listens=listens)
        else:
            self.sitting.done()
        return True

    def _wrong(self, view: View) -> None:
        """Ask what is wrong, and say it to the sitting."""
        known = self._menu()
        while (heard := self.voice.hear()) not in known:
            word = heard.casefold()
            if word in QUIT:
                raise Gone
            if word == "back":
                return
            if word == "undo":
                self._undo()
                return
            if word in ("again", "wrong"):
                known = self._menu()
                continue
            if not self._aside(view, heard):
                self.say(words.NOT_KNOWN)
            self.say(words.WRONG)
        self._say_wrong(known[heard])

    def _menu(self) -> dict[str, str]:
        """Say what can be wrong; return what each number stands for."""
        known: dict[str, str] = {}
        for group in menu_of(self.sitting):
            self.say(words.WRONG_GROUP.format(says=group.says))
            for item in group.items:
                self._offer(known, item.name, item.says)
        self.say(words.WRONG_ELSE)
        own = (words.WRONG_LEAVE, words.TOLD_WRONG_KEY, words.WRONG_CALL, words.WRONG_NOTHING)
        for text in own:
            self._offer(known, text, text)
        self.say(words.WRONG)
        return known

    def _offer(self, known: dict[str, str], name: str, says: str) -> None:
        number = str(len(known) + 1)
        known[number] = name
        text = words.WRONG_ASKED if says.endswith("?") else words.WRONG_ITEM
        self.say(text.format(number=number, says=says.rstrip(".?")))

    def _say_wrong(self, picked: str) -> None:
        if picked == words.WRONG_LEAVE:
            self._rest()
        elif picked == words.TOLD_WRONG_KEY:
            self._undo()
        elif picked == words.WRONG_CALL:
            self.say_all(telling.contact_lines(self.sitting.words.contacts("nurse")))
        elif picked != words.WRONG_NOTHING:
            self.sitting.went_wrong(picked)

    def _rest(self) -> None:
        self.sitting.leave()
        self.say(words.TOLD_RESTING)
        if self._hear_at(words.TOLD_AT_AWAY).casefold() in QUIT:
            raise Gone
        self.sitting.come_back()
        self.say(words.BACK)
