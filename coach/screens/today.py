"""Today: what is under way, what is next, what was missed, whom to call.

Owns the opening screen. What may be started, and
when, comes from the desk.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, tzinfo
from typing import TYPE_CHECKING

from textual import events
from textual.widget import Widget

from coach import keys, words
from coach.errors import CoachError
from coach.places import practice_beside
from coach.says import ahead as ahead_words
from coach.says import doses as dose_words
from coach.says import supplies as supply_words
from coach.screens.card import contact_lines
from coach.screens.frame import Frame
from coach.screens.time_line import time_line
from coach.screens.widgets.words import Words
from coach.sitting.ahead import (
    Entry,
    in_order,
    is_late,
    of_later_doses,
    told,
    unrecorded_line,
    zone_line,
)
from coach.sitting.desk import Desk, Today
from coach.sitting.further import NOTHING, TOO_LATE, Further, after_it, warning
from coach.sitting.times import clock_time, day_and_time

if TYPE_CHECKING:
    from coach.sitting.sitting import Sitting

CELLS = (24, 48)
"""Cells of the time line in a small window and in a large one."""


def headline(today: Today, warns: str, zone: tzinfo) -> str:
    """Return the one sentence that matters most."""
    if today.elsewhere and (today.under_way is not None or today.can_begin):
        return words.ELSEWHERE
    if today.under_way is not None:
        return words.UNDER_WAY.format(time=clock_time(today.under_way.begun.at, zone))
    if warns == TOO_LATE:
        return words.DUE_CALL.format(time=clock_time(today.due, zone))
    if today.can_begin:
        return words.DUE_NOW.format(time=clock_time(today.due, zone))
    return words.DUE_LATER.format(time=day_and_time(today.due, zone))


def rows_of(today: Today, further: Further, now: datetime, zone: tzinfo) -> tuple[Entry, ...]:
    """Return what is late, then what comes, in order of time."""
    rows = [*after_it(today, further, now)]
    if today.take_out.astimezone(UTC) < today.due.astimezone(UTC):
        rows.append(Entry("fetch", today.take_out))
    if today.under_way is None:
        times = (("opens", today.opens), ("due", today.due), ("closes", today.closes))
        rows += (Entry(kind, at) for kind, at in times)
    return in_order(rows, now, zone)


def time_lines(rows: Iterable[Entry], now: datetime, zone: tzinfo) -> str:
    """Return *rows* as lines, each with its time and how far that is away."""
    return "\n".join(
        told(
            one,
            ahead_words.LATE_ROW if is_late(one, now, zone) else ahead_words.AHEAD_ROW,
            now,
            zone,
        )
        for one in rows
    )


def missed_lines(today: Today, zone: tzinfo) -> str:
    """Return a calm sentence for a last dose that was stopped, and for each that was missed."""
    said = [words.MISSED.format(time=day_and_time(at, zone)) for at in today.missed]
    said += filter(None, (unrecorded_line(today.unrecorded, zone),))
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

    def __init__(self, desk: Desk, straight_on: str = "") -> None:
        """Show *desk*; *straight_on* leads on to ``follow``, ``checklist`` or ``records``."""
        super().__init__()
        self.desk = desk
        self.straight_on = straight_on
        self.as_list = straight_on == "checklist"
        self.as_records = straight_on == "records"
        self.opening = False
        """Whether a dose is about to be taken up."""
        self.looked = False
        self.known: Further | None = None
        """What the record adds, until time passes or another screen was on top."""
        self.to_show: tuple[str, ...] | None = None
        """Which steps need to be shown again; None before that was looked up."""

    def parts(self) -> Iterable[Widget]:
        """Return the headline, the times and the people."""
        yield Words(id="sentence")
        yield Words(id="missed", classes="list")
        yield Words(id="times", classes="list")
        yield Words(id="time-line", classes="list")
        yield Words(id="zone", classes="list")
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
        self.known = None
        if self.desk.journal.first_start_seen():
            self._straight_on()

    def _straight_on(self) -> None:
        """Go to the dose if that was asked for, unless something is to be read here first."""
        if self.straight_on:
            self.straight_on = ""
            if self.as_records:
                self._records()
            elif self.desk.today().other_sheet is None:
                self.enter()

    def beat(self) -> None:
        """Keep the times to go right."""
        self.known = None
        self.show()

    def show(self) -> None:
        """Show what is under way and what is next."""
        today, now = self.desk.today(), self.desk.clock.now().at
        zone = self.desk.zone
        further = self._further(today)
        warns = warning(today, further.course, now)
        self.head(words.TODAY, words.DEMONSTRATION if self.desk.sheet.demonstration else "")
        self.say("sentence", headline(today, warns, zone))
        calmly = self._calmly(today, warns, further, now)
        again = () if further is NOTHING else self._again()
        self.say("missed", "\n".join(filter(None, (calmly, *again))))
        rows = rows_of(today, further, now, zone)
        self.say("times", time_lines(rows, now, zone))
        self.say("time-line", self._time_line(today, rows, now))
        self.say("zone", zone_line(self.desk.sheet.time_zone, now, zone))
        labels = [("Esc", words.CALL_TITLE)]
        if not today.elsewhere and (today.under_way is not None or today.can_begin):
            labels.append(("Enter", words.KEY_GO_ON if today.under_way else words.KEY_START))
        more = ((keys.RECORDS.shown, dose_words.KEY_RECORDS),)
        self.show_keys(*labels, ("s", supply_words.KEY_SUPPLIES), *more, ("q", words.KEY_LEAVE))

    def _further(self, today: Today) -> Further:
        """Return what the record adds; the first time of all once the rest was painted.

        It takes longer than all the rest, so no screen that is to be on top waits for it.
        """
        # A screen that was not styled yet lets this one through, which then counts as current.
        if self.straight_on or self.opening or self.app.screen is not self:
            return NOTHING
        if not self.looked:
            self.looked = True
            self.call_after_refresh(self.show)
            return NOTHING
        if self.known is None:
            self.known = self.desk.further(today)
        return self.known

    def _again(self) -> tuple[str, ...]:
        """Return which steps need to be shown again; looked up once, for it reads a file."""
        if self.to_show is None:
            # Imported once the rest was painted, so that the Today screen is there sooner.
            from coach.practice.today import show_again_lines

            path = practice_beside(self.desk.journal.path)
            self.to_show = show_again_lines(self.desk, path)
        return self.to_show

    def _calmly(self, today: Today, warns: str, further: Further, now: datetime) -> str:
        """Return what has to be read first: another sheet, what ends soon, what was missed."""
        said = [missed_lines(today, self.desk.zone)]
        if warns or today.other_sheet is not None:
            # Imported once there is something to say, so that the Today screen is there sooner.
            from coach.telling import other_sheet_lines, warning_line

            warned = warning_line(self.desk, today, further.course, now)
            said = [*other_sheet_lines(today, self.desk.sheet.sheet), warned, *said]
        return "\n".join(filter(None, said))

    def _time_line(self, today: Today, rows: Iterable[Entry], now: datetime) -> str:
        """Return the next 24 hours as a row of letters, and what they mean."""
        later = of_later_doses(self.desk.sheet, today.due, now)
        number = CELLS[0 if self.small else 1]
        drawn = time_line((*rows, *later), now, self.desk.zone, number)
        cells = ahead_words.NEXT_DAY.format(cells=drawn.cells)
        return "\n".join((cells, drawn.hours, drawn.legend))

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
        self.opening = True
        self.notice(words.CHECKING)
        self.call_after_refresh(self._open, begin)

    def _open(self, begin: Callable[[], Sitting]) -> None:
        self.opening = False
        try:
            sitting = begin()
        except CoachError as error:
            self.notice(str(error))
        else:
            from coach.screens.follow import FollowScreen

            self.notice("")
            screen = FollowScreen(sitting)
            self.app.push_screen(screen.other_way() if self.as_list else screen)

    def letter(self, key: str) -> None:
        """Show the supplies, or the doses so far."""
        if key in keys.SUPPLIES.presses:
            from coach.screens.supplies import SuppliesScreen

            self.app.push_screen(SuppliesScreen(self.desk.supplies))
        elif key in keys.RECORDS.presses:
            self._records()

    def _records(self) -> None:
        from coach.records.shelf import Shelf
        from coach.screens.records import RecordsScreen

        self.app.push_screen(RecordsScreen(Shelf(self.desk)))

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
