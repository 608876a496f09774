"""Today: what is under way, what is next, what was missed, whom to call.

Owns the opening screen. What may be started, and
when, comes from the desk.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from textual import events
from textual.widget import Widget

from coach import words
from coach.errors import CoachError
from coach.screens.card import contact_lines
from coach.screens.frame import Frame
from coach.screens.widgets.words import Words
from coach.sitting.desk import Desk, Today
from coach.sitting.times import clock_time, day_and_time, seconds_in_words

if TYPE_CHECKING:
    from coach.sitting.sitting import Sitting

MINUTE = 60


def headline(today: Today, zone: tzinfo) -> str:
    """Return the one sentence that matters most."""
    if today.elsewhere and (today.under_way is not None or today.can_begin):
        return words.ELSEWHERE
    if today.under_way is not None:
        return words.UNDER_WAY.format(time=clock_time(today.under_way.begun.at, zone))
    if today.can_begin:
        return words.DUE_NOW.format(time=clock_time(today.due, zone))
    return words.DUE_LATER.format(time=day_and_time(today.due, zone))


def time_lines(today: Today, now: datetime, zone: tzinfo) -> str:
    """Return what comes, in order of time, with the time of day and the time to go."""
    if today.under_way is not None:
        return ""
    rows = [(today.due, words.DUE, words.DUE_PAST)]
    if today.take_out < today.due:
        rows.append((today.take_out, words.TAKE_OUT, ""))
    rows.append((today.opens, words.START_FROM, ""))
    rows.append((today.closes, words.START_UNTIL, ""))
    lines = []
    for at, ahead, past in sorted(rows, key=lambda row: row[0]):
        text = ahead if at > now else past
        if text:
            left = seconds_in_words(math.ceil((at - now).total_seconds() / MINUTE) * MINUTE)
            time = clock_time(at, zone)
            lines.append(text.format(time=time, left=left))
    return "\n".join(lines)


def missed_lines(today: Today, zone: tzinfo) -> str:
    """Return a calm sentence for a last dose that was stopped, and for each that was missed."""
    said = [words.MISSED.format(time=day_and_time(at, zone)) for at in today.missed]
    if today.stopped is not None:
        # Imported once there is something to say, so that the Today screen is there sooner.
        from coach.telling import last_stopped

        said.insert(0, last_stopped(today, zone))
    return "\n".join(said)


class TodayScreen(Frame):
    """The screen that opens first.

    It imports the others once they are opened, so that it is there sooner.
    """

    BEAT = 5.0
    """Seconds. The times to go are in minutes, and each look reads the journal."""

    def __init__(self, desk: Desk, straight_on: bool = False) -> None:
        """Show *desk*; *straight_on* goes to the dose at once where there is one."""
        super().__init__()
        self.desk = desk
        self.straight_on = straight_on

    def parts(self) -> Iterable[Widget]:
        """Return the headline, the times and the people."""
        yield Words(id="sentence")
        yield Words(id="times", classes="list")
        yield Words(id="missed", classes="list")
        yield Words(contact_lines(self.desk.contacts()), id="people", classes="list")

    def on_mount(self) -> None:
        """Before the first time ever show what the coach is for."""
        if not self.desk.journal.first_start_seen():
            from coach.screens.first import FirstScreen

            self.app.push_screen(FirstScreen(self.desk))
        else:
            self._straight_on()

    def on_screen_resume(self, event: events.ScreenResume) -> None:
        """Go straight on if that was asked for."""
        if self.desk.journal.first_start_seen():
            self._straight_on()

    def _straight_on(self) -> None:
        """Go to the dose if that was asked for, unless something is to be read here first."""
        if self.straight_on:
            self.straight_on = False
            if self.desk.today().other_sheet is None:
                self.enter()

    def beat(self) -> None:
        """Keep the times to go right."""
        self.show()

    def show(self) -> None:
        """Show what is under way and what is next."""
        today, now = self.desk.today(), self.desk.clock.now().at
        zone = self.desk.zone
        self.head(words.TODAY, words.DEMONSTRATION if self.desk.sheet.demonstration else "")
        self.say("sentence", headline(today, zone))
        self.say("times", self._other_sheet(today) or time_lines(today, now, zone))
        self.say("missed", missed_lines(today, zone))
        labels = [("Esc", words.CALL_TITLE)]
        if not today.elsewhere and (today.under_way is not None or today.can_begin):
            labels.append(("Enter", words.KEY_GO_ON if today.under_way else words.KEY_START))
        self.show_keys(*labels, ("q", words.KEY_LEAVE))

    def _other_sheet(self, today: Today) -> str:
        """Return that the dose under way is not by the sheet that is open, where that is so."""
        if today.other_sheet is None:
            return ""
        from coach.telling import other_sheet_lines

        return "\n".join(other_sheet_lines(today, self.desk.sheet.sheet))

    def enter(self) -> None:
        """Take up the dose that is under way, or begin the one that is due."""
        today = self.desk.today()
        if today.under_way is not None:
            self.open(self.desk.resume)
        elif today.needs_word and today.can_begin:
            from coach.screens.word import WordScreen

            self.app.push_screen(WordScreen(self))
        else:
            self.open(self.desk.begin)

    def open(self, begin: Callable[[], Sitting]) -> None:
        """Follow the dose that *begin* opens, or show why it does not.

        The steps are checked first where that was not done yet, which takes some seconds.
        """
        self.notice(words.CHECKING)
        self.call_after_refresh(self._open, begin)

    def _open(self, begin: Callable[[], Sitting]) -> None:
        try:
            sitting = begin()
        except CoachError as error:
            self.notice(str(error))
        else:
            from coach.screens.follow import FollowScreen

            self.notice("")
            self.app.push_screen(FollowScreen(sitting))

    def phone(self) -> str:
        """Return the first number to call."""
        first = self.desk.contacts()[0]
        return words.CALL_LINE.format(who=first.who, phone=first.phone)

    def trouble(self) -> None:
        """Show whom to call."""
        from coach.screens.contacts import ContactsScreen

        self.app.push_screen(ContactsScreen(self.desk.contacts()))

    def leave(self) -> None:
        """Leave: no dose is on the screen, so nothing has to be asked."""
        self.app.exit()
