"""The desk: the order sheet, the procedures, the journal and the clock, put together.

Owns what the Today screen says: what is under way, what is next, and whether a dose may be begun
at all. It must never follow a step.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from functools import cached_property
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import msgspec

from coach import words
from coach.clock import Clock
from coach.errors import CoachError, FileProblems, Problem
from coach.journal.rows import SittingRow
from coach.journal.store import Journal
from coach.orders.read import sheet_from_bytes
from coach.orders.schedule import (
    DAY,
    due_times,
    nearest_due,
    opens_at,
    smallest_gap,
    span,
    window_of,
)
from coach.orders.sheet import SheetInfo
from coach.orders.times import DoseTimes, day_starts, standing, times_of
from coach.sitting.ahead import Entry, of_sheet
from coach.sitting.beyond import beyond_the_sheet
from coach.sitting.contacts import Contact
from coach.sitting.further import Further, further_of

if TYPE_CHECKING:
    from coach.sitting.opening import FirstFault, Opening, Stopped
    from coach.sitting.sitting import Sitting
    from coach.sitting.stock import Supplies

_LATEST = datetime(9999, 1, 1, tzinfo=UTC)
LOOK_BACK = timedelta(hours=24)
"""How far Today looks back for doses that were due and never begun."""
DELIVERIES = 20
"""How many of the last things that came are looked at: one of today is among them."""


class NotNow(CoachError):
    """A dose that may not be begun at this time; the text says why and what to do."""


class Today(msgspec.Struct, frozen=True):
    """What is under way, what is next, and what was missed."""

    under_way: SittingRow | None
    other_sheet: SheetInfo | None
    """The order sheet of the dose under way, where it is not the one that is open."""
    due: datetime
    """Aware. The due time that can be begun now, or else the next one."""
    take_out: datetime
    opens: datetime
    """Aware. From when the dose can be begun."""
    begin_by: datetime
    """Aware. The last moment to take its bag out, if it is to warm up in time."""
    closes: datetime
    """Aware. Until when it can be begun."""
    ends: datetime
    """Aware. When all of its medicine is in, if it starts when it is due."""
    can_begin: bool
    missed: tuple[datetime, ...]
    """Due times of the last day that were never begun and can no longer be."""
    unrecorded: tuple[datetime, ...]
    """The same, from the day of the order sheet on, where none of its doses is on record yet."""
    later: tuple[datetime, ...]
    """Aware. The due times after that one, up to a day from now."""
    beside: tuple[Entry, ...]
    """What the order sheet names that is due beside the doses."""
    last: SittingRow | None
    """The dose that ended last."""
    stopped: Stopped | None
    """How the last dose was stopped; None where it was not."""
    word_for: str
    """Why the nurse's word is needed to begin: ``emergency``, ``stopped`` (for another reason than
    a bag or a supply), ``too-soon`` (see `Desk.begin`), or nothing."""
    elsewhere: bool
    """Whether another window has a dose open, so that none can be taken up here."""

    @property
    def needs_word(self) -> bool:
        """Whether the nurse's word is needed to begin a dose."""
        return bool(self.word_for)


_WORD_FOR = {
    "emergency": "The last dose ended with an emergency call.",
    "stopped": "The last dose was stopped.",
    "too-soon": "The last dose was begun only a short time ago.",
    "too-late": "A bag can no longer warm up in time.",
}


def names_somebody(word: str) -> bool:
    """Tell whether *word* can be the name of who gave leave: no command, and no yes or no."""
    first = word.casefold().strip(" .,!?").split(" ")[0]
    return sum(letter.isalpha() for letter in word) > 1 and first not in words.NO_NAMES


def _word_after(stopped: Stopped | None) -> str:
    if stopped is None or stopped.frees:
        return ""
    return "emergency" if stopped.call == "emergency" else "stopped"


class Desk:
    """Everything that one person's doses need, for every front end."""

    def __init__(
        self,
        orders: Path,
        procedures: Path,
        journal: Journal,
        clock: Clock,
        first_fault: FirstFault,
    ) -> None:
        """Open the order sheet; *first_fault* is asked before a dose. Raises FileProblems."""
        self.procedures = procedures
        self.first_fault = first_fault
        self.journal = journal
        self.clock = clock
        try:
            self.sheet_raw = orders.read_bytes()
        except OSError as error:
            row = Problem(str(orders), 0, 0, "", "an order sheet that can be read", "none")
            raise FileProblems((row,)) from error
        self.sheet = sheet_from_bytes(self.sheet_raw, str(orders))
        self.zone = ZoneInfo(self.sheet.time_zone)
        today = clock.now().at.astimezone(self.zone).date()
        problems = tuple(beyond_the_sheet(self.sheet, str(orders), procedures, today))
        if problems:
            raise FileProblems(problems)
        self._stops: dict[int, Stopped] = {}
        self._free: dict[int, bool] = {}
        self._begun: dict[int, datetime | None] = {}
        self._others: dict[int, SheetInfo | None] = {}

    @cached_property
    def _opening(self) -> Opening:
        # Imported once a dose is looked into, so that the Today screen is there sooner.
        from coach.sitting.opening import Opening

        return Opening(
            self.sheet, self.sheet_raw, self.procedures, self.journal, self.clock, self.first_fault
        )

    def contacts(self) -> tuple[Contact, ...]:
        """Return everybody there is to call, the nurse first."""
        people = self.sheet.contacts
        return (
            Contact("Nurse", people.nurse.name, people.nurse.phone, people.nurse.hours),
            Contact(
                "Pharmacist",
                people.pharmacist.name,
                people.pharmacist.phone,
                people.pharmacist.hours,
            ),
            Contact("Emergency", "", people.emergency_number, ""),
        )

    def today(self) -> Today:
        """Return what is under way and what is next."""
        now, under_way = self.clock.now().at, self.journal.under_way()
        window = span(self.sheet.doses.window)
        taken = self.journal.taken(self.sheet.sheet.id, now - LOOK_BACK - window)
        free = {row.due.astimezone(UTC) for row in self._left_free(now)}
        due = nearest_due(self.sheet, now, taken - free)
        times = times_of(self.sheet, due)
        last = next(self._ended(), None)
        stopped = self._stop_of(last) if last else None
        return Today(
            under_way=under_way,
            other_sheet=self._other_sheet(under_way) if under_way else None,
            due=due,
            take_out=times.take_out,
            opens=times.opens,
            begin_by=times.begin_by,
            closes=times.closes,
            ends=times.ends,
            can_begin=times.opens <= now <= times.closes,
            missed=self._missed(now, taken),
            unrecorded=self._unrecorded(now),
            later=self._later(now, due, taken - free),
            beside=self._beside(now),
            last=last,
            stopped=stopped,
            word_for=_word_after(stopped) or self._word_now(now, times),
            elsewhere=self.journal.dose_held_elsewhere(),
        )

    def _other_sheet(self, row: SittingRow) -> SheetInfo | None:
        """Return the order sheet of *row* if it is another; each dose is looked into once.

        One that this program cannot read is told when the dose is taken up.
        """
        if row.id not in self._others:
            raw = self.journal.source(row.sheet_hash)
            try:
                other = None if raw == self.sheet_raw else sheet_from_bytes(raw, "").sheet
            except FileProblems:
                other = None
            self._others[row.id] = other
        return self._others[row.id]

    def _stop_of(self, row: SittingRow) -> Stopped | None:
        """Return how *row* was stopped, if it was; what has ended is looked into once.

        It stays until somebody says that a dose may be begun: a dose from paper after it is no
        such word, as nobody was asked for one when it was written down.
        """
        if row.ended != "stopped":
            return None
        if row.id not in self._stops:
            self._stops[row.id] = self._opening.stop_of(row)
        return self._stops[row.id]

    def _ended(self) -> Iterator[SittingRow]:
        """Yield the doses that have ended, the newest first."""
        return (row for row in self.journal.newest_first() if row.ended)

    def _word_now(self, now: datetime, times: DoseTimes) -> str:
        """Return why the nurse's word is needed at *now*, whatever the last dose ended with."""
        if self._too_soon(now):
            return "too-soon"
        return "too-late" if times.begin_by < now <= times.closes else ""

    def _too_soon(self, now: datetime) -> bool:
        """Tell whether medicine was begun less than half of the shortest interval before *now*.

        Every dose of this journal counts, whatever its order sheet, and one from paper as well.
        """
        since = now - smallest_gap(self.sheet.doses) / 2
        paper = self.journal.begun_on_paper()
        if paper is not None and paper > since:
            return True
        for row in self._ended():
            if row.ended_at is None or row.ended_at <= since:
                return False
            if row.id not in self._begun:
                self._begun[row.id] = self._opening.medicine_begun(row)
            begun = self._begun[row.id]
            if begun is not None and max(begun, self._put_right(row) or begun) > since:
                return True
        return False

    def _put_right(self, row: SittingRow) -> datetime | None:
        """Return when the medicine of *row* was begun, if somebody has put that right."""
        from coach.journal.records import Correction

        last = self.journal.records.last(Correction, sitting_id=row.id, field="started")
        return datetime.fromisoformat(last.says) if last is not None else None

    def _left_free(self, now: datetime) -> tuple[SittingRow, ...]:
        """Return the doses whose due time can still be begun, and is free for another bag.

        Of several for one due time the newest counts, as the others were left free before it.
        """
        newest: dict[datetime, SittingRow] = {}
        since = now - span(self.sheet.doses.window)
        for row in self.journal.due_between(self.sheet.sheet.id, since, _LATEST):
            if row.ended:
                newest[row.due.astimezone(UTC)] = row
        return tuple(row for row in newest.values() if self._leaves_free(row))

    def _leaves_free(self, row: SittingRow) -> bool:
        """Tell whether *row* left its due time free; what has ended is looked into once."""
        if row.ended != "stopped":
            return False
        if row.id not in self._free:
            self._free[row.id] = self._opening.leaves_free(row)
        return self._free[row.id]

    def _missed(self, now: datetime, taken: frozenset[datetime]) -> tuple[datetime, ...]:
        first = self.journal.first_due(self.sheet.sheet.id)
        if first is None:
            return ()
        since = max(now - LOOK_BACK, first)
        return tuple(
            due
            for due in due_times(self.sheet, since, now)
            if due.astimezone(UTC) not in taken and standing(self.sheet, due, now) == "call"
        )

    def _unrecorded(self, now: datetime) -> tuple[datetime, ...]:
        """Return what was due before the first record; a dose by an earlier sheet counts too."""
        if self.journal.first_due(self.sheet.sheet.id) is not None:
            return ()
        since = max(now - LOOK_BACK, day_starts(self.sheet.sheet.date, self.zone))
        starts = (row.begun.at for row in self.journal.newest_first())
        begun = tuple(takewhile(lambda at: at >= opens_at(self.sheet, since), starts))
        return tuple(
            due
            for due in due_times(self.sheet, since, now)
            if standing(self.sheet, due, now) == "call"
            and not any(self._is_for(due, at) for at in begun)
        )

    def _is_for(self, due: datetime, begun: datetime) -> bool:
        """Tell whether a dose that was *begun* then can have been the one that was *due*."""
        return opens_at(self.sheet, due) <= begun <= window_of(self.sheet, due)[1]

    def _beside(self, now: datetime) -> tuple[Entry, ...]:
        """Return what the sheet names beside the doses; a delivery that came is over."""
        found, today = of_sheet(self.sheet, self.zone, now), now.astimezone(self.zone).date()
        if not any(one.kind == "delivery" and not one.at > now for one in found):
            return found
        came = any(
            entry.kind == "delivered" and entry.at.astimezone(self.zone).date() == today
            for entry in self.journal.stock.deliveries(DELIVERIES)
        )
        return of_sheet(self.sheet, self.zone, now, came=came)

    def _later(
        self, now: datetime, due: datetime, taken: frozenset[datetime]
    ) -> tuple[datetime, ...]:
        following = due_times(self.sheet, due.astimezone(UTC) + timedelta(seconds=1), now + DAY)
        return tuple(later for later in following if later.astimezone(UTC) not in taken)

    def further(self, today: Today) -> Further:
        """Return what only the record can tell of *today*, which takes longer to look into.

        What cannot be read is left out: the dose itself says it once it is taken up.
        """
        found = further_of(self._opening, self.journal, today, self.clock.now().at)
        return msgspec.structs.replace(found, entries=(*found.entries, *self._of_the_stock()))

    def _of_the_stock(self) -> tuple[Entry, ...]:
        """Return what the day has to say of the supplies; nothing while none are written down."""
        if self.journal.stock.first() is None:
            return ()
        with suppress(FileProblems):
            return self.supplies.ahead()
        return ()

    @cached_property
    def supplies(self) -> Supplies:
        """What is in stock; nothing of it has been read yet."""
        from coach.sitting.stock import Supplies

        return Supplies(self)

    def begin(self, word: str = "") -> Sitting:
        """Begin the dose that is due now and return its sitting.

        *word* is who said that it may go on. It is needed after an emergency, after a stop for
        another reason than a bag or a supply, and where the medicine of any earlier dose was begun
        less than half of the shortest time between two doses ago: windows alone would let two
        doses follow each other at once. Raises NotNow if no dose may be begun now, JournalBusy if
        another window has one, NotProved if the steps do not hold, FileProblems if the procedures
        or the pump card cannot be used.
        """
        with self.journal.holding_dose():
            return self._begin(word)

    def _begin(self, word: str) -> Sitting:
        today = self.today()
        if today.under_way is not None:
            return self._resume()
        if not today.can_begin:
            raise NotNow("No dose can be started now. Look at the times on the Today screen.")
        if today.needs_word and not names_somebody(word):
            why = _WORD_FOR[today.word_for]
            raise NotNow(
                f"{why} Do not start this one until the nurse or doctor says so. "
                "Then type the name of who did."
            )
        self._opening.check()
        for row in self._left_free(self.clock.now().at):
            if row.due.astimezone(UTC) == today.due.astimezone(UTC):
                self.journal.free(row.id)
        return self._opening.begin(today.due, word)

    def resume(self) -> Sitting:
        """Take up the dose that is under way, on the sheet and procedure it was begun with.

        Raises NotNow if none is under way, JournalBusy if another window has it.
        """
        with self.journal.holding_dose():
            return self._resume()

    def _resume(self) -> Sitting:
        row = self.journal.under_way()
        if row is None:
            raise NotNow("No dose is under way.")
        return self._opening.resume(row)
