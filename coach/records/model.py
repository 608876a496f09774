"""The record of one dose as plain data, for screens, reports and exports.

Owns the types alone. It must never read a journal or say anything in words of its own.
"""

from __future__ import annotations

from datetime import datetime

import msgspec

from coach.orders.quantities import Quantity, in_unit

STATUSES = (
    "in-progress",
    "on-hold",
    "completed",
    "stopped",
    "not-done",
    "entered-in-error",
    "unknown",
)
"""How a dose stands. Source: FHIR R5, value set medicationadmin-status."""


class Span(msgspec.Struct, frozen=True):
    """From when to when something was so."""

    since: datetime
    """Aware, as every time in a record."""
    until: datetime | None
    """None while it is so."""


class Push(msgspec.Struct, frozen=True):
    """A flush that went in, or what stays in the line as a lock."""

    at: datetime
    kind: str
    """``flush`` or ``lock``."""
    volume: Quantity
    units: Quantity | None
    """What a lock holds of its medicine; None for a flush."""


class Look(msgspec.Struct, frozen=True):
    """A look that was asked for, and what was answered."""

    at: datetime
    step: str
    asks: str
    says: str
    hoped: bool
    """Whether it was the answer that is hoped for."""
    of: str
    """What it was about: ``site``, ``flush`` or ``lock``, or nothing of these."""


class Typed(msgspec.Struct, frozen=True):
    """A number or a date that was read off and typed."""

    at: datetime
    step: str
    asks: str
    typed: str
    agreed: bool
    """Whether it agreed with the order sheet."""
    left_mL: str
    """Where it tells what is left in the bag, how much, in mL; else empty."""
    discard: datetime | None
    """Where it tells until when the bag is good, until when; else None."""


class Told(msgspec.Struct, frozen=True):
    """A spoiling or a trouble that was told, and what was done about it."""

    at: datetime
    kind: str
    """``spoiled`` or ``trouble``."""
    id: str
    title: str
    then: tuple[str, ...]
    """The titles of what was asked for because of it and done, in order."""


class CallMade(msgspec.Struct, frozen=True):
    """A stop: whom the person was asked to call, and what was said."""

    at: datetime
    step: str
    title: str
    call: str
    """``nurse``, ``pharmacist`` or ``emergency``."""
    says: str
    """What the person picked at the stop."""
    ended: bool
    """Whether the dose ended there."""
    words: str
    """What was answered on the call; empty where nothing was written down."""
    who: str
    read_back: bool


class Note(msgspec.Struct, frozen=True):
    """Words that were kept with the dose."""

    at: datetime
    words: str


class Changed(msgspec.Struct, frozen=True):
    """A correction: what a field says now, and what it said."""

    at: datetime
    field: str
    said: str
    says: str
    who: str
    why: str


class Why(msgspec.Struct, frozen=True):
    """Why a dose was late, early or not done, in the person's words."""

    at: datetime
    kind: str
    words: str
    who: str


class DoseRecord(msgspec.Struct, frozen=True, kw_only=True):
    """One dose that was due: what was given, what went wrong, and who was there."""

    id: str
    """Stays the same for the same dose: letters, digits, hyphens and dots."""
    sitting: int
    """Its number in the journal; 0 for one from paper or never begun."""
    sheet: str
    """Names the order sheet across its changes."""
    sheet_hash: str
    """SHA-256 in hex of the order sheet; empty for a dose that was never begun."""
    chain: str
    """The link of its last event in hex; empty where it has none."""
    person: str
    """Initials."""
    status: str
    """One of `STATUSES`."""
    medicine: str
    dose: Quantity
    strength: Quantity
    volume: Quantity
    rate: Quantity
    left_when_done: Quantity
    """The most that may be left of the volume where all of it counts as given."""
    due: datetime
    window: Span
    """From when to when it could be begun."""
    begun: datetime | None
    """When the first step was shown; None where it was never begun."""
    flow: Span | None
    """From the start of the pump to the end of the medicine; None where none can have gone in."""
    pauses: tuple[Span, ...]
    ended: datetime | None
    given: Quantity | None
    """How much went in, by what was read off the pump, or all of it; None where nobody knows."""
    left: Quantity | None
    """What was read off as left, last; None where nothing was."""
    lot: str
    discard: datetime | None
    """Until when the bag is good, as typed last."""
    gave: str
    pressed: str
    pushes: tuple[Push, ...] = ()
    looks: tuple[Look, ...] = ()
    typed: tuple[Typed, ...] = ()
    told: tuple[Told, ...] = ()
    calls: tuple[CallMade, ...] = ()
    notes: tuple[Note, ...] = ()
    reasons: tuple[Why, ...] = ()
    corrections: tuple[Changed, ...] = ()
    from_paper: bool = False

    @property
    def timing(self) -> str:
        """``early``, ``late``, ``in-time``, or nothing where no medicine was started."""
        if self.flow is None:
            return ""
        if self.flow.since < self.window.since:
            return "early"
        late = self.window.until is not None and self.flow.since > self.window.until
        return "late" if late else "in-time"

    @property
    def short(self) -> bool:
        """Whether less than all of it went in, though nobody told that it was stopped early.

        So it is with a dose from paper, and with one that was done to its end, but its volume was
        put right.
        """
        if self.from_paper:
            return self.status == "stopped"
        put_right = any(one.field == "given" for one in self.corrections)
        return self.status == "completed" and put_right and not self.all_in

    @property
    def all_in(self) -> bool:
        """Whether no more than may be left is missing of the volume, or nobody knows how much."""
        if self.given is None:
            return True
        parts = (self.volume, self.given, self.left_when_done)
        volume, given, left = (in_unit(one, "mL").amount for one in parts)
        return volume - given <= left

    @property
    def resisted(self) -> int:
        """How many pushes did not go in freely."""
        return sum(not look.hoped for look in self.looks if look.of in ("flush", "lock"))
