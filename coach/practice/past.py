"""What was kept of a learner and of one rehearsal, looked up in the file of rehearsals.

Owns which rows belong together, and which mark counts. It must never judge one.
"""

from __future__ import annotations

from collections.abc import Sequence

from coach.journal.teaching import LEVELS, Dealt, Mark, Met, Run, TeachingBook, Visit


def visits_of(book: TeachingBook, learner_id: int) -> tuple[Visit, ...]:
    """Return the visits to a learner, the first one first."""
    return tuple(one for one in book.every(Visit) if one.learner_id == learner_id)


def runs_of(book: TeachingBook, learner_id: int) -> tuple[Run, ...]:
    """Return the rehearsals of a learner, the first one first."""
    visits = {one.id for one in visits_of(book, learner_id)}
    return tuple(one for one in book.every(Run) if one.visit_id in visits)


def dealt_in(book: TeachingBook, sitting_id: int) -> tuple[Dealt, ...]:
    """Return the surprises of a rehearsal, the first one first."""
    return tuple(one for one in book.every(Dealt) if one.sitting_id == sitting_id)


def met(book: TeachingBook) -> dict[int, Met]:
    """Return what came of each surprise, by the number of its dealing."""
    return {one.dealt_id: one for one in book.every(Met)}


def went_before(book: TeachingBook, learner_id: int) -> dict[str, list[bool]]:
    """Return for each surprise that a learner met, by its name, whether rightly, each time."""
    mine = {run.sitting_id for run in runs_of(book, learner_id)}
    came, found = met(book), dict[str, list[bool]]()
    for one in book.every(Dealt):
        if one.sitting_id in mine and one.id in came:
            found.setdefault(one.name, []).append(came[one.id].is_right)
    return found


def marks_in(book: TeachingBook, sitting_id: int) -> tuple[Mark, ...]:
    """Return the marks of a rehearsal that count: of those for one doing, the last."""
    newest = {one.of: one for one in book.every(Mark) if one.sitting_id == sitting_id}
    return tuple(newest.values())


def lowest(levels: Sequence[str]) -> str:
    """Return the worst of *levels*, never an average; empty where there is none."""
    return max(levels, key=LEVELS.index, default="")
