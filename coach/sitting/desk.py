"""The desk: the order sheet, the procedures, the journal and the clock, put together.

Owns what the Today screen says: what is under way, what is next, and whether a dose may be begun
at all. It must never follow a step.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import msgspec

from coach.clock import Clock
from coach.errors import CoachError, FileProblems, Problem
from coach.journal.rows import SittingRow
from coach.journal.store import Journal
from coach.orders.read import sheet_from_bytes
from coach.orders.schedule import due_times, nearest_due, opens_at, take_out_at, window_of
from coach.sitting.contacts import Contact

if TYPE_CHECKING:
    from coach.sitting.opening import Opening
    from coach.sitting.sitting import Sitting

LOOK_BACK = timedelta(hours=24)
"""How far Today looks back for doses that were due and never begun."""


class NotNow(CoachError):
    """A dose that may not be begun at this time; the text says why and what to do."""


class Today(msgspec.Struct, frozen=True):
    """What is under way, what is next, and what was missed."""

    under_way: SittingRow | None
    due: datetime
    """Aware. The due time that can be begun now, or else the next one."""
    take_out: datetime
    opens: datetime
    """Aware. From when the dose can be begun."""
    closes: datetime
    """Aware. Until when it can be begun."""
    can_begin: bool
    missed: tuple[datetime, ...]
    """Due times of the last day that were never begun and can no longer be."""
    last: SittingRow | None
    """The dose that ended last."""
    needs_word: bool
    """Whether the last dose ended with an emergency call, so that the nurse's word is needed."""
    elsewhere: bool
    """Whether another window has a dose open, so that none can be taken up here."""


class Desk:
    """Everything that one person's doses need, for every front end."""

    def __init__(self, orders: Path, procedures: Path, journal: Journal, clock: Clock) -> None:
        """Open the order sheet. Raises FileProblems."""
        self.procedures = procedures
        self.journal = journal
        self.clock = clock
        try:
            self.sheet_raw = orders.read_bytes()
        except OSError as error:
            row = Problem(str(orders), 0, 0, "", "an order sheet that can be read", "none")
            raise FileProblems((row,)) from error
        self.sheet = sheet_from_bytes(self.sheet_raw, str(orders))
        self.zone = ZoneInfo(self.sheet.time_zone)
        self._emergencies: dict[int, bool] = {}
        self._free: dict[int, bool] = {}

    @cached_property
    def _opening(self) -> Opening:
        # Imported once a dose is looked into, so that the Today screen is there sooner.
        from coach.sitting.opening import Opening

        return Opening(self.sheet, self.sheet_raw, self.procedures, self.journal, self.clock)

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
        now = self.clock.now().at
        taken = self.journal.taken(self.sheet.sheet.id)
        free = {row.due.astimezone(UTC) for row in self._left_free(now)}
        due = nearest_due(self.sheet, now, taken - free)
        opens, closes = opens_at(self.sheet, due), window_of(self.sheet, due)[1]
        ended = [row for row in self.journal.sittings(self.sheet.sheet.id) if row.ended]
        return Today(
            under_way=self.journal.under_way(),
            due=due,
            take_out=take_out_at(self.sheet, due),
            opens=opens,
            closes=closes,
            can_begin=opens <= now <= closes,
            missed=self._missed(now, taken),
            last=ended[0] if ended else None,
            needs_word=bool(ended) and self._was_emergency(ended[0]),
            elsewhere=self.journal.dose_held_elsewhere(),
        )

    def _was_emergency(self, row: SittingRow) -> bool:
        """Tell whether *row* ended with an emergency call; what has ended is looked into once."""
        if row.ended != "stopped":
            return False
        if row.id not in self._emergencies:
            self._emergencies[row.id] = self._opening.was_emergency(row)
        return self._emergencies[row.id]

    def _left_free(self, now: datetime) -> tuple[SittingRow, ...]:
        """Return the doses whose due time can still be begun, and is free for another bag.

        Of several for one due time the newest counts, as the others were left free before it.
        """
        newest: dict[datetime, SittingRow] = {}
        for row in self.journal.sittings(self.sheet.sheet.id):
            if row.ended and window_of(self.sheet, row.due)[1] >= now:
                newest.setdefault(row.due.astimezone(UTC), row)
        return tuple(row for row in newest.values() if self._leaves_free(row))

    def _leaves_free(self, row: SittingRow) -> bool:
        """Tell whether *row* left its due time free; what has ended is looked into once."""
        if row.ended != "stopped":
            return False
        if row.id not in self._free:
            self._free[row.id] = self._opening.leaves_free(row)
        return self._free[row.id]

    def _missed(self, now: datetime, taken: frozenset[datetime]) -> tuple[datetime, ...]:
        rows = self.journal.sittings(self.sheet.sheet.id)
        if not rows:
            return ()
        since = max(now - LOOK_BACK, rows[-1].due)
        return tuple(
            due
            for due in due_times(self.sheet, since, now)
            if due.astimezone(UTC) not in taken and window_of(self.sheet, due)[1] < now
        )

    def begin(self, word: str = "") -> Sitting:
        """Begin the dose that is due now and return its sitting.

        *word* is who said that it may go on, needed after an emergency. Raises NotNow if no
        dose may be begun now, JournalBusy if another window has one, FileProblems if the
        procedures or the pump card cannot be used.
        """
        self.journal.hold_dose()
        today = self.today()
        if today.under_way is not None:
            return self.resume()
        if not today.can_begin:
            raise NotNow("No dose can be started now. Look at the times on the Today screen.")
        if today.needs_word and not word:
            raise NotNow(
                "The last dose ended with an emergency call. Do not start this one until the "
                "nurse or doctor says so."
            )
        for row in self._left_free(self.clock.now().at):
            if row.due == today.due:
                self.journal.free(row.id)
        return self._opening.begin(today.due, word)

    def resume(self) -> Sitting:
        """Take up the dose that is under way, on the sheet and procedure it was begun with.

        Raises NotNow if none is under way, JournalBusy if another window has it.
        """
        self.journal.hold_dose()
        row = self.journal.under_way()
        if row is None:
            raise NotNow("No dose is under way.")
        return self._opening.resume(row)
