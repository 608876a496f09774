"""A procedure as plain data: what was written in the files, checked, frozen, ready to follow.

Owns the types alone. It must never hold behaviour: reading is in ``read``, choosing what one
order sheet needs in ``compose``, and following in the engine.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from coach.procedure.facts import Choices, Effect, FactTable, Wanted, Where


class Outcome(msgspec.Struct, frozen=True):
    """One way in which a step can end. The first of a step is the one that is hoped for."""

    name: str
    says: str
    """What the person picks, in words; empty where there is nothing to pick."""
    effect: Effect
    sets: Mapping[str, str]
    ends: bool = False
    """Whether the sitting ends here."""
    seen: str = ""
    """What a learner is shown for whom it is to be the right one; empty where nothing is."""


class Act(msgspec.Struct, frozen=True):
    """Something to do, then to say done."""

    pace: int = 0
    """Seconds that the move is given in a hands-busy stretch; 0 outside one."""
    sees: int = 0
    """Bits that must be absent on the table for it to be done at all: whoever tries finds out."""


class Hold(msgspec.Struct, frozen=True):
    """One unbroken stretch of doing, timed by a clock that cannot be ticked."""

    time: str
    """Name of the order sheet's value."""


class Wait(msgspec.Struct, frozen=True):
    """Time that passes by itself."""

    time: str
    """Name of the order sheet's value."""
    since: str
    """The fact whose setting starts the time anew."""
    runs_while: int
    """Bits that must be absent for the time to run."""
    gives: str = ""
    """Name of the volume that flows meanwhile; empty where none does."""


class Question(msgspec.Struct, frozen=True):
    """Something to look at and to answer."""

    asks: str
    sees: int = 0
    """Bits that must be absent on the table for the first answer to be true."""


class Reading(msgspec.Struct, frozen=True):
    """Something to read off and to type, compared with the order sheet."""

    asks: str
    check: str
    """``equals``, ``at-most`` or ``outlasts``."""
    against: tuple[str, ...]
    """Names of the order sheet's values: one to compare with, or times that must fit."""
    left_of: str = ""
    """Name of the value of which it tells what is left; empty where it tells none."""


class Recheck(msgspec.Struct, frozen=True):
    """A reading taken earlier that is held against the clock once more."""

    reading: str
    """The id of the step that took it."""


class Within(msgspec.Struct, frozen=True):
    """The time since a fact was set, held against the longest that the order sheet allows."""

    time: str
    """Name of the order sheet's value."""
    since: tuple[str, str]
    """The fact and the value that it was set to; or SINCE_DUE."""
    until: tuple[str, ...]
    """Names of the times that are still to come, and count as well."""


class Stop(msgspec.Struct, frozen=True):
    """The dose stops here, and somebody is called."""

    call: str
    """``nurse``, ``pharmacist`` or ``emergency``."""
    leave: str
    close: str
    situation: str
    assessment: str
    request: str
    frees: bool = False
    """Whether it is about a bag or a supply: the dose may be begun anew with a right one."""


SINCE_DUE = ("due", "")
"""The due time of the dose, in place of a fact that was set."""

Ask = Act | Hold | Wait | Question | Reading | Recheck | Within | Stop


class Step(msgspec.Struct, frozen=True):
    """One action."""

    id: str
    part: str
    """The heading that it stands under."""
    title: str
    do: str
    why: str
    where: Where
    when: Choices
    only_if: int
    """Bits that must be absent for the step to be asked at all; else it is passed over."""
    needs: int
    """Bits that must be absent for the step to be done."""
    needs_named: Wanted
    outcomes: tuple[Outcome, ...]
    ask: Ask
    hands_busy: bool
    pump: str
    """Key of the pump card's entry; empty where the pump is not touched."""
    uses: Mapping[str, int]
    lasting: bool = False
    """Whether, once it was done as hoped, saying so cannot be taken back."""
    critical: bool = False
    """Whether a learner has to do it alone."""
    line: str = ""
    """What its line of a list says; empty where that is what to do, and what is asked."""
    beside: bool = False
    """Whether it is done in one go with the step before, and may stand on the same line."""
    records: str = ""
    """What it is in the record of a dose: ``flush``, ``lock`` (what stays in the line) or ``site``
    (a look at it); empty where it is just a step."""
    amount: str = ""
    """Name of the volume that goes in by it; empty where none does."""


class Mishap(msgspec.Struct, frozen=True):
    """Something that can happen: a spoiling or a trouble."""

    id: str
    kind: str
    """``spoiled`` or ``trouble``, as the event is called."""
    group: str
    """Under which line of the menu it is found."""
    title: str
    where: Where
    when: Choices
    at: int
    """Bits that must be absent for it to be possible."""
    effect: Effect
    final: bool
    """Whether it is an emergency: it can be told at any time, and cannot be taken back."""
    seen: str
    """What a learner is shown for it, without its name; empty in an old dose, which had none."""


class PumpKey(msgspec.Struct, frozen=True):
    """What a pump card adds to a step."""

    press: str
    expect: str


class Look(msgspec.Struct, frozen=True):
    """One way in which a part of the picture can look: the first whose bits are absent counts."""

    unless: int
    word: str
    joined: bool


class Drawn(msgspec.Struct, frozen=True):
    """One part of the picture of the line, from the bag to the person."""

    name: str
    looks: tuple[Look, ...]


class Circumstance(msgspec.Struct, frozen=True):
    """A choice of this dose that the record decides: fresh is what a past step still holds."""

    choice: str
    fresh: str
    otherwise: str
    ended: str
    """How the last dose must have ended for it to be fresh; empty where a step decides."""
    step: str
    """The step that made it fresh."""
    within: str
    """Name of the order sheet's time for which it stays fresh."""
    until: tuple[str, ...]
    """Names of times that must still fit into it."""
    left: Wanted
    """Facts that the last dose must have ended with."""
    when: Choices
    where: Where


class Source(msgspec.Struct, frozen=True):
    """All that the files hold, for every kind of order sheet."""

    title: str
    table: FactTable
    steps: tuple[Step, ...]
    responses: tuple[Step, ...]
    mishaps: tuple[Mishap, ...]
    groups: Mapping[str, str]
    """Menu lines of the mishaps, by name, in order."""
    picture: tuple[Drawn, ...]
    circumstances: tuple[Circumstance, ...]
    background: str
    """What every call card says of the dose."""
    so_far: tuple[str, ...]
    """What is said of the medicine before any was given, from then on, and once what is left was
    read off."""
    where: tuple[str, ...]
    """What is said of the place where the address is known, and where it is not."""
    close_line: tuple[str, ...]
    """What is said of shutting the line where it has a clamp of its own, and where it has none."""
    off_pace: str
    """The trouble that a pump is told as which gives too much, too little or nothing."""
    given: int
    """Bits that are absent once medicine may have gone in."""
    idle: int
    """Seconds without an answer that count as having left the table."""
    lead_in: int
    """Seconds before a hands-busy stretch begins by itself."""


Way = tuple[int, tuple[int, ...]]
"""The mask of a needed fact, and the earlier steps that set it, nearest first."""


class Procedure(msgspec.Struct, frozen=True):
    """What one dose from one order sheet asks for."""

    source: Source
    choices: Mapping[str, str]
    start: int
    """The facts at the beginning."""
    steps: tuple[Step, ...]
    responses: tuple[Step, ...]
    """Steps that come first as soon as their ``only_if`` holds, in order of urgency."""
    alarms: int
    """Bits of which at least one is set whenever a response is asked for."""
    mishaps: tuple[Mishap, ...]
    ways: tuple[tuple[Way, ...], ...]
    """For each step, the ways back."""
    fading: Mapping[int, Effect]
    """For the bit of each value that does not last, what becomes of it."""
    passing: int
    """The bits of all values that do not last."""
    index: Mapping[str, int]
    """Place of each step in order, by id."""
    counts: Mapping[str, int]
    """What the steps use, by supply."""
