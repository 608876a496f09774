"""What is done when a line of the list does not end as hoped, and which lines come again.

Owns the looking ahead from each line of a dose on paper. It decides nothing: what follows is
what the engine says. It must never make up a text.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import msgspec

from coach.engine import (
    State,
    after_mishap,
    after_outcome,
    ended,
    possible,
    response_to_do,
    start,
    step_to_do,
)
from coach.procedure.model import Mishap, Procedure, Step, Stop


class Told(msgspec.Struct, frozen=True):
    """One thing to do that stands on no line of the list."""

    step: Step
    otherwise: Step | None
    """The call that it comes to if it does not end as hoped; None where it comes to none."""


class Again(msgspec.Struct, frozen=True):
    """Lines that are done again, and the line before which that is."""

    lines: tuple[int, ...]
    before: int


class Way(msgspec.Struct, frozen=True):
    """What is to be done about something that is not as hoped."""

    told: tuple[Told | Again, ...]
    """What stands on no line of the list, in order, and the lines that come again before that."""
    again: tuple[Again, ...]
    """The lines that come again after it."""
    stops: bool
    """Whether it ends in a call."""

    @property
    def key(self) -> tuple[object, ...]:
        """What makes it the same as another."""
        told = (one.step.id if isinstance(one, Told) else one.lines for one in self.told)
        return *told, self.again


class Lines:
    """The lines of one dose if all ends as hoped, each with its number from 1."""

    def __init__(self, procedure: Procedure) -> None:
        """Take the composed *procedure* of one dose."""
        self.procedure = procedure

    @cached_property
    def walked(self) -> tuple[tuple[State, Step], ...]:
        """Each step as it comes, with the state before it."""
        found, state = [], start(self.procedure)
        while not ended(self.procedure, state):
            step = step_to_do(self.procedure, state)
            found.append((state, step))
            state = after_outcome(self.procedure, state, step, step.outcomes[0])
        return tuple(found)

    @cached_property
    def numbers(self) -> dict[str, int]:
        """The number of each step's line."""
        return {step.id: number for number, (_, step) in enumerate(self.walked, 1)}

    def unless(self, number: int) -> tuple[Way, ...]:
        """Return what is to be done for each other answer than the hoped one at a line."""
        state, step = self.walked[number - 1]
        others = (after_outcome(self.procedure, state, step, one) for one in step.outcomes[1:])
        return tuple(self._way(other, number) for other in others)

    def mishaps(self) -> Iterator[tuple[Mishap, tuple[tuple[Way, tuple[int, ...]], ...]]]:
        """Yield each thing that can go wrong, with what is to be done and at which lines."""
        for mishap in self.procedure.mishaps:
            found: dict[tuple[object, ...], tuple[Way, list[int]]] = {}
            for number, (state, _) in enumerate(self.walked, 1):
                if mishap in possible(self.procedure, state):
                    way = self._way(after_mishap(self.procedure, state, mishap), number)
                    found.setdefault(way.key, (way, []))[1].append(number)
            if found:
                yield mishap, tuple((way, tuple(at)) for way, at in found.values())

    def _way(self, state: State, at: int) -> Way:
        told: list[Told | Again] = []
        again: list[Again] = []
        back: list[int] = []
        for ahead, step in self._ahead(state):
            number = self.numbers.get(step.id)
            if number is None:
                if back:
                    told.append(Again(tuple(back), at))
                    back = []
                told.append(Told(step, self._call(ahead, step)))
                if isinstance(step.ask, Stop):
                    return Way(tuple(told), (), True)
            elif number < at:
                back.append(number)
            elif back:
                again.append(Again(tuple(back), number))
                back = []
        return Way(tuple(told), tuple(again), False)

    def _ahead(self, state: State) -> Iterator[tuple[State, Step]]:
        """Yield what follows from *state* on if all ends as hoped; no state comes twice."""
        seen: set[State] = set()
        while not ended(self.procedure, state) and state not in seen:
            seen.add(state)
            step = step_to_do(self.procedure, state)
            yield state, step
            state = after_outcome(self.procedure, state, step, step.outcomes[0])

    def _call(self, state: State, step: Step) -> Step | None:
        """Return the call that *step* comes to where it does not end as hoped."""
        for outcome in step.outcomes[1:]:
            after = after_outcome(self.procedure, state, step, outcome)
            response = response_to_do(self.procedure, after.facts)
            if response is not None and isinstance(response.ask, Stop):
                return response
        return None
