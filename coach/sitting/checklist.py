"""The whole dose as a list: what was done, what is to be done now, and what comes again.

Owns which lines there are, and why one is open again. It decides nothing: what is to be done,
and what a line waits for, is what the engine says. It must never change the sitting.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import groupby

import msgspec

from coach.engine import STOPPED, Moment, State, finished, way_ahead
from coach.procedure.conditions import fill
from coach.procedure.model import Step
from coach.says import checklist as words
from coach.sitting.sitting import Sitting


class Line(msgspec.Struct, frozen=True):
    """One action of the dose, as it stands now."""

    group: str
    """The heading that it stands under."""
    step: str
    title: str
    state: str
    """``done``, ``now``, ``again`` (done once, and open again) or ``to-do``."""
    reason: str
    """What opened it again; empty where nothing did."""


def lines_of(sitting: Sitting) -> tuple[Line, ...]:
    """Return a line for each action that was done or is still to come, in the order of the list.

    What answers something that went wrong stands where the list was left.
    """
    return tuple(_Listing(sitting).lines())


def what_is_missing(sitting: Sitting, step: str) -> str:
    """Return why the line of *step* cannot be ticked now; empty where it can."""
    return _Listing(sitting).missing(step)


def all_lines(sitting: Sitting) -> Iterator[str]:
    """Say all that is left of the dose, a sentence for each part of it."""
    parts = _left(sitting)
    yield words.TOLD_HEAD if parts else words.TOLD_NOTHING
    for part in parts:
        yield words.TOLD_PART.format(part=part[0].group, titles=_titles(part))


def list_lines(sitting: Sitting) -> Iterator[str]:
    """Say what is left of the part of now, and how many steps of each other part."""
    parts = _left(sitting)
    if not parts:
        yield words.TOLD_NOTHING
    others = []
    for part in parts:
        if any(line.state == "now" for line in part):
            yield words.TOLD_PART_NOW.format(part=part[0].group, titles=_titles(part))
        else:
            others.append(words.TOLD_COUNT.format(part=part[0].group, steps=len(part)))
    if others:
        yield words.TOLD_COME.format(parts="; ".join(others))
        yield words.TOLD_LIST_ALL


def _left(sitting: Sitting) -> list[tuple[Line, ...]]:
    """Return the lines that are left, those of each part together."""
    left = (line for line in lines_of(sitting) if line.state != "done")
    return [tuple(lines) for _, lines in groupby(left, key=lambda line: line.group)]


def _titles(lines: Iterable[Line]) -> str:
    return "; ".join(map(_titled, lines))


def _titled(line: Line) -> str:
    title = line.title.rstrip(".?")
    return words.TOLD_AGAIN.format(title=title) if line.reason else title


class _Listing:
    def __init__(self, sitting: Sitting) -> None:
        self.procedure = sitting.dose.procedure
        self.moments = sitting.moments
        self.state = sitting.moment.state
        self.over = sitting.over
        self.texts = sitting.words.values(sitting.moments, sitting.clock.now())
        self._ahead: dict[State, tuple[Step, ...]] = {}

    def ahead(self, state: State) -> tuple[Step, ...]:
        """Return what is to be done from *state* on, if all ends as hoped."""
        if state not in self._ahead:
            self._ahead[state] = tuple(way_ahead(self.procedure, state))
        return self._ahead[state]

    @cached_property
    def now(self) -> Step | None:
        return None if self.over else self.ahead(self.state)[0]

    @cached_property
    def coming(self) -> frozenset[str]:
        """The steps that are still to be done, the one to do now with them."""
        return frozenset(step.id for step in self.ahead(self.state)) | self._after_a_call()

    def _after_a_call(self) -> frozenset[str]:
        """Return what of the list would follow if the call in between is gone on from."""
        place = self.state.place
        if self.over or self.now is None or self.now.id in self.procedure.index:
            return frozenset()
        if all(outcome.ends for outcome in self.now.outcomes):
            return frozenset()
        later = self.procedure.steps[place:]
        return frozenset(step.id for step in later if not self.state.facts & step.only_if)

    @cached_property
    def done_last(self) -> Mapping[str, int]:
        """For each step that ended as hoped, the last moment that it did."""
        return {
            moment.step.id: number
            for number, moment in enumerate(self.moments)
            if moment.step is not None and moment.outcome is moment.step.outcomes[0]
        }

    def lines(self) -> Iterator[Line]:
        place = self.state.place
        beside = self.now if self.now and self.now.id not in self.procedure.index else None
        for at, step in enumerate(self.procedure.steps):
            if beside and at == place:
                yield self._line(beside, "now")
            state = self._state_of(step)
            if state:
                yield self._line(step, state)
        if beside and finished(self.procedure, self.state):
            yield self._line(beside, "now")

    def _state_of(self, step: Step) -> str:
        """Return how *step* stands; nothing where this dose never asked for it."""
        if self.now is not None and step.id == self.now.id:
            return "now"
        if step.id in self.coming:
            return "again" if step.id in self.done_last else "to-do"
        return "done" if step.id in self.done_last else ""

    def _line(self, step: Step, state: str) -> Line:
        open_again = state in ("again", "now") and step.id in self.done_last
        reason = self._reason(step) if open_again and step.id in self.procedure.index else ""
        return Line(step.part, step.id, fill(step.title, self.texts), state, reason)

    def _reason(self, step: Step) -> str:
        """Return what opened *step* again since it was done last."""
        for moment in self.moments[self.done_last[step.id] + 1 :]:
            if moment.state.place != STOPPED and step in self.ahead(moment.state):
                return self._told(moment)
        return ""

    def _told(self, moment: Moment) -> str:
        """Return in words what led to *moment*."""
        if moment.mishap is not None:
            return fill(moment.mishap.title, self.texts)
        if moment.step is None or moment.outcome is None:
            return words.WAS_LEFT
        title = fill(moment.step.title, self.texts)
        says = fill(moment.outcome.says, self.texts)
        return words.ANSWERED.format(title=title, says=says) if says else title

    def missing(self, name: str) -> str:
        if self.now is None:
            return words.IS_OVER
        if name == self.now.id:
            return ""
        if name not in self.coming:
            return words.IS_DONE
        place = self.procedure.index[name]
        wanted = [fill(step.title, self.texts).rstrip(".") for step in self._wanted(place)]
        first = fill(self.now.title, self.texts).rstrip(".")
        if not wanted:
            return words.FIRST.format(first=first)
        return words.NEEDS.format(first=first, needs="; ".join(wanted))

    def _wanted(self, place: int) -> Iterator[Step]:
        """Yield the steps that would make ready what the step at *place* needs, and are open."""
        facts = self.state.facts
        unmet = facts & self.procedure.steps[place].needs
        for mask, providers in self.procedure.ways[place]:
            if unmet & mask:
                asked = (p for p in providers if not facts & self.procedure.steps[p].only_if)
                nearest = next(asked, None)
                if nearest is not None:
                    yield self.procedure.steps[nearest]
