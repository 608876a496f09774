"""A visit as a nurse comes to it: taken up again on the same day, else begun; and its pages.

Owns when two sittings down at the table are one visit. It must never ask for a name.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.journal.teaching import Learner, Visit
from coach.practice.lessons import Lessons
from coach.practice.lines import WIDTH
from coach.practice.past import visits_of
from coach.says import rehearsal as says


def visit_today(lessons: Lessons, learner: Learner, nurse: str) -> Visit:
    """Return the last visit to *learner* if *nurse* made it today, else begin one.

    Raises NotYet without a name.
    """
    now, name = lessons.clock.real.now().at, " ".join(nurse.split())
    for visit in visits_of(lessons.book, learner.id)[-1:]:
        same_day = visit.at.astimezone(lessons.zone).date() == now.astimezone(lessons.zone).date()
        if same_day and visit.nurse == name:
            return visit
    return lessons.begin_visit(learner, nurse)


def nothing_done(lessons: Lessons, visit: Visit, learner: Learner) -> str:
    """Return what is told where *visit* is left; nothing where anything was done at it."""
    every = lessons.visits(learner)
    if any(one.id == visit.id for one in every):
        return ""
    return (says.NO_VISIT if every else says.NO_LEARNER).format(learner=learner.name)


def every_sheet(lessons: Lessons, width: int | None = WIDTH) -> Iterator[str]:
    """Yield the pages of everybody who learns, as wide as *width*, one after the other.

    Without a width each sentence is one line. Raises FileProblems.
    """
    learners = lessons.learners()
    if not learners:
        yield says.NO_LEARNERS
    for number, learner in enumerate(learners):
        if number:
            yield ""
        yield from lessons.sheet_lines(learner, width)
