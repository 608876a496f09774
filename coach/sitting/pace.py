"""How the medicine is going: what the pump shows as left, held against the order while it flows.

Owns the question and what is kept of the answer. It must never say what to set.
"""

from __future__ import annotations

from datetime import datetime

import msgspec

from coach import words
from coach.orders.going import Look, look
from coach.orders.quantities import Quantity, read_typed, shown
from coach.orders.sheet import OrderSheet
from coach.procedure.model import Wait
from coach.sitting.course import runs_of
from coach.sitting.sitting import Sitting


class Seen(msgspec.Struct, frozen=True):
    """What was found."""

    look: Look
    off: bool
    """Whether it is so far off that the pump is stopped and the nurse called."""


class Pace:
    """Looks at how the medicine of one sitting goes."""

    def __init__(self, sitting: Sitting) -> None:
        """Look at *sitting*, by the order sheet that it was begun with."""
        self.sitting = sitting
        self._earlier: tuple[datetime, Quantity] | None = None

    @property
    def sheet(self) -> OrderSheet:
        """The order sheet of the dose."""
        return self.sitting.sheet

    def can_look(self) -> bool:
        """Tell whether the medicine flows, so that what is left can be looked at."""
        if self.sitting.over:
            return False
        ask = self.sitting.step().ask
        timer = self.sitting.timer()
        return isinstance(ask, Wait) and bool(ask.gives) and timer is not None and not timer.over

    def look(self, typed: str) -> Seen:
        """Hold what was *typed* as left against the order, and keep both with the dose.

        Raises OrderError if it cannot be read, or is more than there was.
        """
        sitting, now = self.sitting, self.sitting.clock.now()
        left = read_typed(self.sheet.medicine.volume, typed)
        runs = runs_of(sitting.dose, sitting.moments, now)
        found = look(self.sheet, runs, now.at, left, self._earlier)
        self._earlier = now.at, left
        kept = words.PACE_NOTE.format(left=shown(found.left), expected=shown(found.expected))
        sitting.note(kept)
        return Seen(found, found.call or found.verdict == "not-moving")

    def tell(self) -> None:
        """Say that the pump is off its pace. Raises EngineError if that cannot be said now."""
        self.sitting.went_wrong(self.sitting.dose.procedure.source.off_pace)
