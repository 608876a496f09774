"""The visit report of a desk: what its parts say, put together.

Owns where each part comes from. It must never say anything of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from random import Random

from coach.errors import CoachError
from coach.places import practice_beside
from coach.practice.lessons import Lessons
from coach.records.report import HANG, Beside, visit_lines
from coach.records.shelf import Shelf
from coach.says import doses as words
from coach.supplies import supply_lines


def report_of(shelf: Shelf) -> tuple[str, ...]:
    """Return the report from the last visit to now, with what was rehearsed meanwhile.

    Raises JournalError where the record cannot be read, FileProblems if the procedures cannot be
    used.
    """
    since, now = shelf.since_visit(), shelf.now()
    beside = Beside(
        tuple(_competence(shelf, practice_beside(shelf.desk.journal.path))),
        tuple(supply_lines(shelf.desk.supplies)) if shelf.desk.journal.stock.first() else (),
        shelf.questions(since),
    )
    records = shelf.records.between(since, now, now)
    return visit_lines(shelf.desk.sheet, records, since, now, beside, shelf.zone)


def unwrapped(lines: Iterable[str]) -> tuple[str, ...]:
    """Return *lines* of a report with each sentence whole again, for what wraps them itself."""
    whole: list[str] = []
    for line in lines:
        if line.startswith(HANG) and whole:
            whole[-1] = f"{whole[-1]} {line.strip()}"
        else:
            whole.append(line)
    return tuple(whole)


def _competence(shelf: Shelf, path: Path) -> Iterator[str]:
    """Yield how far each learner is; nothing where nobody has rehearsed."""
    if not path.exists():
        return
    try:
        lessons = Lessons(shelf.desk, path, Random(0))
    except CoachError as error:
        yield str(error)
        return
    try:
        for learner in lessons.learners():
            yield words.COMPETENCE.format(name=learner.name, missing=lessons.missing(learner))
    finally:
        lessons.close()
