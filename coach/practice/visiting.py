"""A visit as a nurse comes to it: taken up again on the same day, else begun; and its pages.

Owns when two sittings down at the table are one visit. It must never ask for a name.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.journal.teaching import Learner, Visit
from coach.practice.lessons import Lessons
from coach.says import rehearsal as says


def visit_today(lessons: Lessons, learner: Learner, nurse: str) -> Visit:
    """Return the last visit to *learner* if *nurse* made it today, else begin one.

    Raises NotYet without a name.
    """
    now, name = lessons.clock.real.now().at, " ".join(nurse.split())
    for visit in lessons.visits(learner)[-1:]:
        same_day = visit.at.astimezone(lessons.zone).date() == now.astimezone(lessons.zone).date()
        if same_day and visit.nurse == name:
            return visit
    return lessons.begin_visit(learner, nurse)


def every_sheet(lessons: Lessons) -> Iterator[str]:
    """Yield the pages of everybody who learns, one after the other. Raises FileProblems."""
    learners = lessons.learners()
    if not learners:
        yield says.NO_LEARNERS
    for number, learner in enumerate(learners):
        if number:
            yield ""
        yield from lessons.sheet_lines(learner)
