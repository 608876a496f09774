"""Whether one rehearsal counts: the lowest step decides, and what was not marked was not alone.

Pure. Owns the rule for one rehearsal. It must never know a step by name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import msgspec

from coach.engine import Dose, Moment
from coach.journal.teaching import LEVELS, Dealt, Mark, Met
from coach.practice.past import lowest
from coach.procedure.model import Step
from coach.says import teaching as says

ALONE = LEVELS[0]


class Verdict(msgspec.Struct, frozen=True):
    """What one rehearsal is worth."""

    standing: str
    """``counts``; ``fails``, which ends a row of those that count; or ``aside``: not finished, and
    nothing in it was other than alone, so that it neither counts nor ends a row."""
    says: str
    """Why, in one sentence."""
    surprises: int = 0
    """How many surprises were met rightly and alone."""

    @property
    def counts(self) -> bool:
        """Whether it is one of those that the rule asks for."""
        return self.standing == "counts"


class Practised(msgspec.Struct, frozen=True):
    """What was done and kept in one rehearsal."""

    dose: Dose
    moments: Sequence[Moment]
    marks: Sequence[Mark]
    """Those that count."""
    dealt: Sequence[Dealt]
    met: Mapping[int, Met]
    """What came of each surprise, by the number of its dealing."""
    ended: str
    """``finished``, ``stopped``, or empty while it is under way."""

    def levels(self) -> dict[str, str]:
        """Return for each step that was marked, by its id, the lowest level.

        What was taken back in the rehearsal is left out, with its marks.
        """
        done = {m.event.seq for m in self.moments if m.step is not None and m.event is not None}
        found: dict[str, list[str]] = {}
        for mark in self.marks:
            if mark.dealt_id is None and (not mark.seq or mark.seq in done):
                found.setdefault(mark.step, []).append(mark.level)
        return {step: lowest(levels) for step, levels in found.items()}

    def level_of(self, dealt: Dealt) -> str:
        """Return the level of a surprise; empty where it was not marked."""
        return next((mark.level for mark in self.marks if mark.dealt_id == dealt.id), "")

    def reached(self) -> tuple[Step, ...]:
        """Return each step that was done, or was marked as not done; each once, in order."""
        tried = {mark.step for mark in self.marks if mark.dealt_id is None and not mark.seq}
        procedure = self.dose.procedure
        every = (*procedure.steps, *procedure.responses)
        steps = {m.step.id: m.step for m in self.moments if m.step is not None}
        return (*steps.values(), *(s for s in every if s.id in tried and s.id not in steps))


def verdict_of(practised: Practised, fill: Callable[[str], str]) -> Verdict:
    """Return what a rehearsal is worth; *fill* fills in a title."""
    fault = next(_faults(practised, fill), "")
    if fault:
        return Verdict("fails", fault)
    if practised.ended == "finished":
        return Verdict("counts", says.COUNTS, len(practised.dealt))
    return Verdict("aside", says.CAME_TO_NOTHING if practised.ended else says.STILL_OPEN)


def _faults(practised: Practised, fill: Callable[[str], str]) -> Iterator[str]:
    levels = practised.levels()
    for step in practised.reached():
        level = levels.get(step.id, "")
        if step.critical and not level:
            yield says.NOT_MARKED.format(title=fill(step.title))
        elif step.critical and level != ALONE:
            yield says.NOT_ALONE.format(title=fill(step.title), level=says.LEVELS[level])
    for dealt in practised.dealt:
        came, level = practised.met.get(dealt.id), practised.level_of(dealt)
        if came is None or not came.is_right:
            yield says.MISSED.format(says=dealt.says)
        elif not level:
            yield says.SURPRISE_NOT_MARKED.format(says=dealt.says)
        elif level != ALONE:
            yield says.SURPRISE_NOT_ALONE.format(says=dealt.says, level=says.LEVELS[level])
