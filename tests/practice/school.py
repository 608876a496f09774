"""A nurse and a learner at the table, for tests: a rehearsal is followed, surprises are met."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from random import Random

from coach import places
from coach.clock import ManualClock
from coach.journal.teaching import Learner, Visit
from coach.practice.lessons import Lessons
from coach.practice.rehearsal import Rehearsal, Settled
from coach.sitting.show import view_of
from coach.sitting.view import View
from tests.person import DEMO, MORNING, Person, desk_at


def lessons_at(
    folder: Path, orders: Path = DEMO, clock: ManualClock | None = None, seed: int = 1
) -> Lessons:
    """Return the lessons beside a record in *folder*, on a morning on which a dose is due."""
    desk = desk_at(folder, orders, clock or ManualClock(MORNING))
    return Lessons(desk, places.practice_beside(folder / "journal.sqlite"), Random(seed))


def pupil(lessons: Lessons, name: str = "R. V.") -> tuple[Learner, Visit]:
    """Return a new learner, and a first visit of a nurse."""
    learner = lessons.add_learner(name, "patient")
    return learner, lessons.begin_visit(learner, "Nurse Ash")


def clock_of(lessons: Lessons) -> ManualClock:
    """Return the clock that a test moves."""
    clock = lessons.clock.real
    assert isinstance(clock, ManualClock)
    return clock


def follow(
    lessons: Lessons,
    rehearsal: Rehearsal,
    until: str = "",
    answers: Mapping[str, list[str]] | None = None,
    before: Callable[[View], None] = lambda view: None,
) -> View:
    """Follow *rehearsal*, skipping each wait that can be, to its end or to the step *until*."""

    def skipping(view: View) -> None:
        if rehearsal.can_skip():
            rehearsal.skip_wait()
        before(view)

    person = Person(rehearsal.sitting, clock_of(lessons), answers or {}, skipping)
    return person.follow(until)


def mark_all(
    rehearsal: Rehearsal,
    levels: Mapping[str, str] | None = None,
    only: Sequence[str] = (),
) -> None:
    """Mark each thing that was done as alone, but for those with *levels*, by step or surprise.

    A surprise that was missed is marked as not yet met.
    """
    for one in rehearsal.to_mark():
        name = one.dealt.name if one.dealt is not None else one.step
        if (one.critical or one.dealt is not None) and (not only or name in only):
            missed = one.dealt is not None and not (one.met and one.met.is_right)
            rehearsal.mark(one, (levels or {}).get(name, "not-yet" if missed else "alone"))


def meet(rehearsal: Rehearsal, name: str) -> Settled:
    """Deal the mishap *name*, have the learner tell it, and return what came of it."""
    rehearsal.deal(f"mishap {name}")
    rehearsal.sitting.went_wrong(name)
    settled = rehearsal.settle()
    assert settled is not None
    return settled


def whole_run(
    lessons: Lessons,
    visit: Visit,
    *,
    surprise: str = "",
    levels: Mapping[str, str] | None = None,
    passes_over: bool = False,
) -> Rehearsal:
    """Rehearse a dose to its end and mark it, with a *surprise* at the first push of saline."""
    rehearsal = lessons.begin(visit)
    if surprise:
        follow(lessons, rehearsal, until=view_after(rehearsal))
        if passes_over:
            rehearsal.deal(f"mishap {surprise}")
            Person(rehearsal.sitting, clock_of(lessons)).act(view_of(rehearsal.sitting))
            assert rehearsal.settle() is not None
        else:
            meet(rehearsal, surprise)
    follow(lessons, rehearsal)
    mark_all(rehearsal, levels)
    return rehearsal


def view_after(rehearsal: Rehearsal) -> str:
    """Return the step at which the first syringe is open."""
    return "saline-before-air"
