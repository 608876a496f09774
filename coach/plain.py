"""The same sitting as plain lines: for screen readers, a dumb terminal, and scripts.

Owns the telling of a view from top to bottom, one full sentence a line, and the reading of one
line at a time. Nothing is repainted and no control character but the newline is written. It
decides nothing: every answer goes to the sitting.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import TextIO

from coach import words
from coach.clean import one_line
from coach.errors import EngineError, ExitCode, OrderError
from coach.lines import NO_LINE, Lines
from coach.orders.quantities import Quantity, shown
from coach.sitting.desk import Desk, NotNow
from coach.sitting.show import menu_of, view_of
from coach.sitting.sitting import Sitting
from coach.sitting.texts import clock_time, day_and_time
from coach.sitting.view import Card, Contact, Timer, View

LONG_MARK = 300
"""Seconds: a long timer speaks each time that so much of it has gone."""
LAST_MARK = 10
"""Seconds before the end at which a timer speaks once more."""


class _Gone(Exception):
    """The input has ended, or the person left."""


class Plain:
    """One conversation in lines."""

    def __init__(self, desk: Desk, lines: Lines, out: TextIO) -> None:
        """Talk about the doses of *desk*, reading *lines* and writing to *out*."""
        self.desk = desk
        self.lines = lines
        self.out = out

    def say(self, text: str, /, **values: object) -> None:
        """Write one line; *values* are filled in as they are."""
        self.out.write(one_line(text.format(**values) if values else text) + "\n")
        self.out.flush()

    def hear(self) -> str:
        """Return the next line, folded. Raises _Gone at the end of the input."""
        line = self.lines.line()
        if line is None:
            raise _Gone
        return one_line(line)

    def run(self, start: str) -> ExitCode:
        """Talk until the person leaves, from ``today`` or straight from ``follow``."""
        try:
            self._first_start()
            if start == "follow":
                self._open()
            else:
                self._today()
        except _Gone:
            pass
        return ExitCode.DONE

    def _first_start(self) -> None:
        if self.desk.journal.first_start_seen():
            return
        number = self.desk.sheet.contacts.emergency_number
        for text in words.FIRST:
            self.say(text, number=number)
        self.tell_contacts(self.desk.contacts())
        self.hear()
        self.desk.journal.mark_first_start()

    # Today

    def _today(self) -> None:
        while True:
            command = self._tell_today()
            heard = self.hear().casefold()
            if heard in ("quit", "leave", "q"):
                raise _Gone
            if heard == "call":
                self.tell_contacts(self.desk.contacts())
            elif heard in (command, "") and command:
                self._open()
            else:
                self.say(words.NOT_KNOWN)

    def _tell_today(self) -> str:
        today, zone = self.desk.today(), self.desk.zone
        self.say(words.TODAY, time=day_and_time(self.desk.clock.now().at, zone))
        if self.desk.sheet.demonstration:
            self.say(words.DEMONSTRATION)
        for missed in today.missed:
            self.say(words.MISSED, time=day_and_time(missed, zone))
        if today.under_way is not None:
            self.say(words.UNDER_WAY, time=day_and_time(today.under_way.begun.at, zone))
            self.say(words.TYPE_GO_ON)
            return "go"
        if today.take_out != today.due:
            self.say(words.TAKE_OUT, time=clock_time(today.take_out, zone))
        due, opens, closes = (
            day_and_time(at, zone) for at in (today.due, today.opens, today.closes)
        )
        if today.can_begin:
            self.say(words.DUE_NOW, time=due, closes=closes)
            self.say(words.TYPE_START)
            return "start"
        self.say(words.DUE_LATER, time=due, opens=opens)
        self.say(words.TYPE_TODAY)
        return ""

    def _open(self) -> None:
        today = self.desk.today()
        word = ""
        if today.under_way is None and today.can_begin and today.needs_word:
            self.say(words.NEEDS_WORD)
            word = self.hear()
        try:
            sitting = self.desk.begin(word)
        except NotNow as not_now:
            self.say(str(not_now))
            return
        _Talk(self, sitting).follow()

    def tell_contacts(self, contacts: Iterable[Contact]) -> None:
        """Say whom there is to call."""
        for contact in contacts:
            text = words.CONTACT if contact.name else words.CONTACT_BARE
            self.say(
                text,
                who=contact.who,
                phone=contact.phone,
                name=contact.name,
                hours=contact.hours,
            )


class _Talk:
    """One dose, step by step."""

    def __init__(self, plain: Plain, sitting: Sitting) -> None:
        self.plain = plain
        self.sitting = sitting
        self.say = plain.say

    def follow(self) -> None:
        """Go through the dose to its end. Raises _Gone if the person leaves before."""
        try:
            while not self.sitting.over:
                view = view_of(self.sitting)
                self._tell(view)
                self._hear(view)
        except _Gone:
            self.sitting.leave()
            self.say(words.LEFT_DOSE)
            raise
        view = view_of(self.sitting)
        self.say(words.FINISHED if view.way == "finished" else words.STOPPED)
        if view.card is not None:
            self._tell_card(view.card)

    # Telling

    def _tell(self, view: View) -> None:
        if view.urgent:
            self.say(words.URGENT, part=view.part)
        else:
            self.say(words.PLACE, place=view.place, total=view.total, part=view.part)
        if view.back:
            self.say(words.AGAIN)
        if view.card is not None and view.card.emergency:
            self.say(words.EMERGENCY, phone=view.card.contacts[0].phone)
        self.say(view.do)
        self.say(words.WHY, why=view.why)
        if view.pump is not None:
            self.say(words.PRESS, press=view.pump.press)
            self.say(words.EXPECT, expect=view.pump.expect)
        if view.card is not None:
            self._tell_card(view.card)
        if view.stretch:
            self._tell_stretch(view)
        if view.ends_at is not None and view.way == "wait":
            self.say(words.OVER_AT, time=clock_time(view.ends_at, self.sitting.dose.zone))
        if view.asks:
            self.say(view.asks)
        for number, choice in enumerate(view.choices, 1):
            self.say(words.CHOICE, number=number, says=choice.says.rstrip("."))
        self.say(self._prompt(view))

    def _prompt(self, view: View) -> str:
        if view.way == "wait":
            over = view.timer is not None and view.timer.over
            return words.TYPE_OVER if over else words.TYPE_WAIT
        if view.way == "run":
            return words.STRETCH_START if view.stretch else words.TYPE_START_TIMER
        return {
            "act": words.TYPE_DONE,
            "recheck": words.TYPE_CHECK,
            "reading": words.TYPE_READING,
        }.get(view.way, words.TYPE_PICK)

    def _tell_stretch(self, view: View) -> None:
        self.say(words.STRETCH)
        for number, title in enumerate(view.stretch, 1):
            self.say(words.STRETCH_STEP, number=number, title=title)
        lead_in = self.sitting.dose.procedure.source.lead_in
        self.say(words.STRETCH_STOP, lead_in=seconds_in_words(lead_in))

    def _tell_card(self, card: Card) -> None:
        self.say(words.CARD_LEAVE, leave=card.leave)
        self.say(words.CARD_CLOSE, close=card.close)
        self.plain.tell_contacts(card.contacts)
        for text in (card.situation, card.background, card.assessment, card.request):
            self.say(words.CARD_SAY, said=text)

    def _where(self, view: View) -> None:
        self.say(words.PLACE, place=view.place, total=view.total, part=view.part)
        if view.done:
            self.say(words.DONE_LAST, title=view.done)
        if view.following:
            self.say(words.NEXT, title=view.following)
        if view.given:
            self.say(words.GIVEN, given=view.given)
        parts = (
            (words.PART_JOINED if part.joined else words.PART_APART).format(
                name=part.name.lower(), word=part.word
            )
            for part in view.picture
        )
        self.say(words.LINE_NOW, parts="; ".join(parts))

    # Hearing

    def _hear(self, view: View) -> None:
        """Take lines until something has happened."""
        while True:
            heard = self.plain.hear()
            try:
                if self._command(view, heard) or self._answer(view, heard):
                    return
            except (EngineError, OrderError) as refused:
                self.say(str(refused))

    def _command(self, view: View, heard: str) -> bool:
        """Do what is asked at every prompt; tell whether the step has to be told anew."""
        word = heard.casefold()
        if word in ("quit", "leave"):
            raise _Gone
        if word == "undo":
            self.sitting.undo()
            self.say(words.UNDONE)
            return True
        if word == "wrong":
            self._wrong()
            return True
        if word == "again":
            return True
        if word == "why":
            self.say(words.WHY, why=view.why)
        elif word == "?":
            self._where(view_of(self.sitting))
        elif word == "call":
            self.plain.tell_contacts(self.sitting.words.contacts("nurse"))
        return False

    def _answer(self, view: View, heard: str) -> bool:
        """Answer the step; tell whether it was an answer."""
        word = heard.casefold()
        if word in ("why", "?", "call"):
            return False
        if view.way == "reading" and heard:
            self.sitting.read(heard)
            return True
        if view.choices:
            picked = _picked(view, word)
            if picked:
                self.sitting.answer(picked)
                return True
        elif word in ("", "done", "start", "wait") and view.way != "reading":
            self._go(view)
            return True
        self.say(words.NOT_KNOWN)
        self.say(words.HELP)
        return False

    def _go(self, view: View) -> None:
        if view.way == "run":
            self.sitting.start_run()
            self._run()
        elif view.way == "wait":
            self._wait()
        else:
            self.sitting.done()

    def _wrong(self) -> None:
        """Ask what is wrong, and say it to the sitting."""
        number, known = 0, {}
        for group in menu_of(self.sitting):
            self.say(words.WRONG_GROUP, says=group.says)
            for item in group.items:
                number += 1
                known[str(number)] = item.name
                self.say(words.WRONG_ITEM, number=number, says=item.says)
        fixed = (words.WRONG_LEAVE, words.WRONG_KEY, words.WRONG_CALL, words.WRONG_NOTHING)
        for text in fixed:
            number += 1
            known[str(number)] = text
            self.say(words.WRONG_ITEM, number=number, says=text)
        self.say(words.WRONG)
        picked = known.get(self.plain.hear(), "")
        if picked == words.WRONG_LEAVE:
            self._rest()
        elif picked == words.WRONG_KEY:
            self.sitting.undo()
            self.say(words.UNDONE)
        elif picked == words.WRONG_CALL:
            self.plain.tell_contacts(self.sitting.words.contacts("nurse"))
        elif picked and picked != words.WRONG_NOTHING:
            self.sitting.went_wrong(picked)
        elif not picked:
            self.say(words.NOT_KNOWN)

    def _rest(self) -> None:
        self.sitting.leave()
        self.say(words.RESTING)
        self.plain.hear()
        self.sitting.come_back()
        self.say(words.BACK)

    # Timers

    def _run(self) -> None:
        """Let what runs by itself run, speaking as it goes; a typed line stops it."""
        while self.sitting.running:
            view, timer = view_of(self.sitting), self.sitting.timer()
            assert timer is not None
            text = words.LEAD_IN if timer.kind == "lead-in" else words.TIMER
            self.say(text, title=view.title, left=seconds_in_words(timer.left))
            if not self._pass(timer):
                self.sitting.stop_run()
                self.say(words.RUN_STOPPED)
                return
            if timer.kind != "lead-in":
                self.say(words.OVER, title=view.title)
            self.sitting.tick()

    def _wait(self) -> None:
        """Wait for time that passes by itself; a typed line goes back to the prompt."""
        timer = self.sitting.timer()
        assert timer is not None
        if timer.over:
            self.sitting.done()
            return
        self.say(words.LEFT, left=seconds_in_words(timer.left))
        self._pass(timer)

    def _pass(self, timer: Timer) -> bool:
        """Let *timer* come to its end, speaking at its marks; tell whether nothing cut in."""
        while not timer.over:
            mark = next((m for m in _marks(timer.total) if m < timer.left), 0)
            heard = self.plain.lines.line_within(timer.total - mark - timer.passed)
            if heard is None:
                raise _Gone
            if heard != NO_LINE:
                return False
            now = self.sitting.timer()
            assert now is not None
            timer = now
            if mark and timer.left <= mark:
                self.say(words.LEFT, left=seconds_in_words(mark))
        return True


def _marks(total: int) -> list[int]:
    """Return the seconds before the end at which a timer speaks, the earliest first."""
    marks = {total // 2, LAST_MARK, *range(LONG_MARK, total, LONG_MARK)}
    return sorted((mark for mark in marks if 0 < mark < total), reverse=True)


def _picked(view: View, word: str) -> str:
    """Return the name of the choice that *word* picks: its number, name, letter or words."""
    for number, choice in enumerate(view.choices, 1):
        letter = choice.name[0] if choice.name in ("yes", "no") else ""
        if word and word in (str(number), choice.name, letter, choice.says.casefold()):
            return choice.name
    return ""


def seconds_in_words(number: int) -> str:
    """Return whole seconds in words, such as ``1 minute 30 seconds``."""
    return shown(Quantity(Decimal(number), "s"))
