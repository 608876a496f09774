"""Today: what is under way, what is next, what was missed, whom to call.

Owns the opening screen and what may have to be said before a dose. What may be started, and
when, comes from the desk.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, words
from coach.errors import CoachError
from coach.screens.card import ContactsScreen, contact_lines
from coach.screens.frame import LONGEST_TYPED, Frame
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
    if today.take_out != today.due:
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
    """Return a calm sentence for each dose that was missed."""
    return "\n".join(words.MISSED.format(time=day_and_time(at, zone)) for at in today.missed)


class TodayScreen(Frame):
    """The screen that opens first."""

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
            self.app.push_screen(FirstScreen(self.desk))
        elif self.straight_on:
            self.straight_on = False
            self.enter()

    def on_screen_resume(self) -> None:
        """Go straight on if that was asked for."""
        if self.straight_on and self.desk.journal.first_start_seen():
            self.straight_on = False
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
        self.say("times", time_lines(today, now, zone))
        self.say("missed", missed_lines(today, zone))
        labels = [("Esc", words.CALL_TITLE)]
        if not today.elsewhere and (today.under_way is not None or today.can_begin):
            labels.append(("Enter", words.KEY_GO_ON if today.under_way else words.KEY_START))
        self.show_keys(*labels, ("q", words.KEY_LEAVE))

    def enter(self) -> None:
        """Take up the dose that is under way, or begin the one that is due."""
        today = self.desk.today()
        if today.under_way is not None:
            self.open(self.desk.resume)
        elif today.needs_word and today.can_begin:
            self.app.push_screen(WordScreen(self))
        else:
            self.open(self.desk.begin)

    def open(self, begin: Callable[[], Sitting]) -> None:
        """Follow the dose that *begin* opens, or show why it does not."""
        try:
            sitting = begin()
        except CoachError as error:
            self.notice(str(error))
        else:
            # Imported once a dose is opened, so that the Today screen is there sooner.
            from coach.screens.follow import FollowScreen

            self.app.push_screen(FollowScreen(sitting))

    def trouble(self) -> None:
        """Show whom to call."""
        self.app.push_screen(ContactsScreen(self.desk.contacts()))

    def leave(self) -> None:
        """Leave: no dose is on the screen, so nothing has to be asked."""
        self.app.exit()


class FirstScreen(Frame):
    """What the coach is for, and what it does not replace; shown once."""

    def __init__(self, desk: Desk) -> None:
        """Take the *desk* that keeps whether it was seen."""
        super().__init__()
        self.desk = desk

    def parts(self) -> Iterable[Widget]:
        """Return the notice, whom to call, and when to call for help at once."""
        contacts = self.desk.contacts()
        number = self.desk.sheet.contacts.emergency_number
        yield Words(words.FIRST, id="sentence")
        yield Words(words.FIRST_EMERGENCY.format(number=number), id="asks")
        yield Words(f"{words.FIRST_CALL}\n{contact_lines(contacts)}", classes="list")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.FIRST_TITLE)
        self.show_keys(
            ("Esc", words.CALL_TITLE), ("Enter", words.KEY_UNDERSTOOD), ("q", words.KEY_LEAVE)
        )

    def enter(self) -> None:
        """Keep that it was seen, and go on."""
        try:
            self.desk.journal.mark_first_start()
        except CoachError as error:
            self.notice(str(error))
        else:
            self.back()

    def trouble(self) -> None:
        """Show whom to call."""
        self.app.push_screen(ContactsScreen(self.desk.contacts()))

    def leave(self) -> None:
        """Leave: it is shown again the next time."""
        self.app.exit()


class WordScreen(Frame):
    """Asks who said that a dose may be started after an emergency."""

    def __init__(self, today: TodayScreen) -> None:
        """Begin the dose from *today* once somebody is named."""
        super().__init__()
        self.today = today

    def parts(self) -> Iterable[Widget]:
        """Return the question, and a place to type."""
        yield Words(words.WORD_ASKS, id="sentence")
        yield Words(words.WORD_HOW, id="why")
        yield Input(id="typed", max_length=LONGEST_TYPED, select_on_focus=False)
        yield Words(contact_lines(self.today.desk.contacts()), classes="list")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.WORD_TITLE)
        self.take_typing(wanted=True)
        self.show_keys(("Esc", words.KEY_BACK), ("Enter", words.KEY_START))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Begin the dose on the word of who is named."""
        event.stop()
        who = clean.one_line(event.value)
        if not who:
            self.notice(words.WORD_EMPTY)
            return
        desk = self.today.desk
        self.back()
        self.today.open(lambda: desk.begin(who))
