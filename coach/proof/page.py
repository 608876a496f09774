"""What a search keeps: the states of a chart, and the moves that are made in them.

Owns the shapes alone. It must never make a move.
"""

from __future__ import annotations

from typing import NamedTuple

from coach.procedure.model import Mishap, Outcome, Step
from coach.proof.watch import Check, Key

Way = tuple[Step, Outcome]
"""A step, and one way in which it can end."""

Making = Mishap | Way | None
"""Something told, a step that ended in some way, or a return to the table."""


ELSEWHERE = -2
"""Stands for a place that has to be found out in each state anew."""


class Change(NamedTuple):
    """What a move changes, wherever nothing that it reads is different."""

    place: int
    keeps: int
    """The bits of the code that it leaves alone, if the place stays the same."""
    puts: int
    fades: bool
    """Whether it does so to what is left when the table was left."""
    broken: tuple[Check, ...]


class Reach(NamedTuple):
    """What one thing that can happen at one place can depend on, and change."""

    parts: tuple[tuple[int, int], ...]
    """The classes of kinds that it treats alike, with one kind that stands for each."""
    reads: int
    """The bits of the code that have a say in what it changes."""
    writes: int
    """The bits of the code that it changes in any case."""
    touches: int
    """The facts that it puts itself: what fades is put by the return that it goes on from."""
    rests: int
    """The bits of rules that can be idle after it."""


class Move:
    """One move that some kinds can make alike at one place."""

    __slots__ = ("changes", "key", "kinds", "made", "reach", "reads")

    def __init__(
        self, kinds: int, key: Key, made: Making, reach: Reach, changes: dict[int, Change]
    ) -> None:
        """Make the move that is *made* by *kinds*, which depends on what *reach* says."""
        self.kinds = kinds
        self.key = key
        self.made = made
        self.reach = reach
        self.reads = reach.reads
        self.changes = changes
        """What it changed, by what it read of the code: the same for all who make it alike."""


class Desk:
    """What some kinds can do alike at one place, while the same responses can be asked for."""

    __slots__ = ("kinds", "leaving", "names", "parts", "steps", "told", "waiting")

    def __init__(self, kinds: int, waiting: tuple[Step, ...]) -> None:
        """Seat *kinds*, of whom the responses in *waiting* are asked if their sheets have them."""
        self.kinds = kinds
        self.waiting = waiting
        self.names = tuple(step.id for step in waiting)
        self.told: dict[int, tuple[tuple[Edge, ...], tuple[Move, ...]]] = {}
        """By the facts that decide what can be told: what surely leads to a call, and the rest."""
        self.steps: dict[tuple[int, str], Leaf] = {}
        """By the kinds that do it, and the step: how it can end."""
        self.parts: dict[tuple[int, int], list[int]] = {}
        """By some kinds, and how many steps they look at: the classes of them that see the same."""
        self.leaving: tuple[Move, ...] | None = None


class Leaf(NamedTuple):
    """Moves that some kinds can make alike: what is told, or how the step to be done can end."""

    kinds: int
    calls: tuple[Edge, ...]
    """What surely leads to a call, and to nothing else."""
    moves: tuple[Move, ...]
    leaving: tuple[Move, ...]
    """The ways in which those kinds can leave the table and come back."""
    step: str = ""
    """The id of the step that the moves end, if they end one."""


class Page:
    """What can be told in all states of one place whose codes do not differ in a say in that.

    With the responses to be done, which come before any step.
    """

    __slots__ = ("leaves", "opened", "seats")

    def __init__(self) -> None:
        """Make a page of nobody yet."""
        self.opened = 0
        """The kinds whose desks are known."""
        self.leaves: list[Leaf] = []
        self.seats: list[Desk] = []
        """The desks of those who are asked for a step of the list."""


class Node:
    """One state of some kinds: its place and code, who can be in it, and what it leads to."""

    __slots__ = ("asked", "code", "edges", "kinds", "loops", "opened", "place", "waiting")

    def __init__(self, place: int, code: int) -> None:
        """Make the node of *code* at *place*, which no kind is known to reach yet."""
        self.place = place
        self.code = code
        self.kinds = 0
        self.waiting = 0
        self.opened = 0
        """The kinds whose moves were made."""
        self.asked: list[tuple[int, str]] = []
        """The step or response to be done, by its id, and the kinds that are asked for it."""
        self.edges: list[Edge] = []
        self.loops: list[tuple[int, Key]] = []
        """What changes nothing here, and for whom, if that is kept."""


Edge = tuple[int, Key, Node]
"""The kinds that can go there, what happened, and the state that it led to."""
