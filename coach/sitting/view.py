"""What there is to show now: everything a front end needs, in words, and nothing to decide.

Owns the shapes that screens and plain lines draw.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import msgspec

from coach.sitting.contacts import Contact

if TYPE_CHECKING:
    from coach.procedure.model import PumpKey


class Choice(msgspec.Struct, frozen=True):
    """One thing that can be picked."""

    name: str
    says: str


class Move(msgspec.Struct, frozen=True):
    """One step of a hands-busy stretch, as it is read before the stretch begins."""

    title: str
    do: str


class Timer(msgspec.Struct, frozen=True):
    """A stretch of time that cannot be cut short."""

    kind: str
    """``lead-in``, ``hold``, ``wait`` or ``pace``."""
    total: int
    """Seconds."""
    passed: float
    """Seconds, at most *total*."""

    @property
    def left(self) -> int:
        """Whole seconds that are left, rounded up."""
        return max(0, -int(-(self.total - self.passed) // 1))

    @property
    def over(self) -> bool:
        """Whether all of it has passed."""
        return self.passed >= self.total


class Place(msgspec.Struct, frozen=True):
    """Where one is: in which part of the dose, and at which step of that part; all from 1."""

    part: int
    parts: int
    step: int
    steps: int
    """How many steps the part has."""


class PartNow(msgspec.Struct, frozen=True):
    """One part of the picture of the line, as it is now."""

    name: str
    word: str
    joined: bool
    """Whether it is joined to the next part."""


class Card(msgspec.Struct, frozen=True):
    """The call card: whom to call, and what to say."""

    contacts: tuple[Contact, ...]
    """In the order in which to call; the emergency number first where it is an emergency."""
    emergency: bool
    leave: str
    close: str
    situation: str
    background: str
    assessment: str
    request: str


class View(msgspec.Struct, frozen=True):
    """One step as it stands now, or the end of the sitting."""

    way: str
    """``act``, ``run``, ``wait``, ``question``, ``reading``, ``recheck``, ``stop``, ``finished``
    or ``stopped``."""
    step: str
    place: Place | None
    """Where the step stands; for a response, where the list was left. None once it has ended."""
    part: str
    """The heading that the step stands under."""
    title: str
    do: str
    why: str
    asks: str
    choices: tuple[Choice, ...]
    timer: Timer | None
    stretch: tuple[Move, ...]
    """What a hands-busy stretch will take one through, read before it starts."""
    running: bool
    """Whether a timer runs by itself at this moment."""
    done: str
    following: str
    back: bool
    """Whether this step was already gone through and has to be done again."""
    urgent: bool
    """Whether this is the answer to something that went wrong."""
    pump: PumpKey | None
    picture: tuple[PartNow, ...]
    card: Card | None
    can_undo: bool
    given: str
    """While the medicine flows: how much has flowed, by the clock; else empty."""
    ends_at: datetime | None
    """While a long wait runs: when it will be over, if nothing stops it."""


class MenuGroup(msgspec.Struct, frozen=True):
    """One line of the menu of things that go wrong, and what is under it."""

    name: str
    says: str
    items: tuple[Choice, ...]


def choice_named(view: View, word: str) -> str:
    """Return the name of the choice that *word* picks: its number, name, letter or words."""
    for number, choice in enumerate(view.choices, 1):
        letter = choice.name[0] if choice.name in ("yes", "no") else ""
        if word and word in (str(number), choice.name, letter, choice.says.casefold()):
            return choice.name
    return ""
