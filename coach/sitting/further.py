"""What only the record can tell of the day: what was changed last, and how far a dose has come.

Owns what Today adds once it was painted, as looking into the record takes longer. It must never
raise: what cannot be read is left out here, and said by the dose itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import msgspec

from coach.errors import EngineError, FileProblems, OrderError
from coach.journal.store import Journal
from coach.orders.times import fits
from coach.sitting.ahead import Entry

if TYPE_CHECKING:
    from coach.sitting.course import Course
    from coach.sitting.desk import Today
    from coach.sitting.opening import Opening

NEAR = timedelta(minutes=15)
"""How long before the end of a window it is spoken of: common practice, no source."""
TOO_LATE = "too-late"
"""The warning that a bag taken out now would not warm up within the window."""


class Further(msgspec.Struct, frozen=True):
    """What the record adds to a day."""

    entries: tuple[Entry, ...]
    course: Course | None
    """Where the dose under way stands in time; None where none is, or it cannot be read."""


NOTHING = Further((), None)
"""What is known before the record was looked into."""


def further_of(opening: Opening, journal: Journal, today: Today, now: datetime) -> Further:
    """Return what the record adds to *today*."""
    course, entries = None, list[Entry]()
    with suppress(FileProblems, OrderError, EngineError):
        if journal.first_due(opening.sheet.sheet.id) is not None:
            entries += _kept(opening.lasting(), today)
        elif today.under_way is None:
            # With no record the sheet alone tells it: no batteries are known to be fresh.
            entries += _kept((("batteries", None),), today)
    if today.under_way is not None:
        with suppress(FileProblems, OrderError, EngineError):
            course = opening.course(today.under_way)
            entries += _of_course(course)
    return Further(tuple(entries), course)


def _kept(lasting: Iterable[tuple[str, datetime | None]], today: Today) -> Iterator[Entry]:
    """Yield until when each thing is kept; what nothing on record keeps is new at the next dose."""
    for choice, until in lasting:
        if until is not None:
            yield Entry(choice, until)
        elif today.under_way is None:
            yield Entry(f"new-{choice}", today.due)


def _of_course(course: Course) -> Iterator[Entry]:
    if course.over:
        return
    if course.started:
        yield Entry("ends", course.ends)
    elif course.closes is not None:
        yield Entry("closes", course.closes)
    if course.finish_by is not None:
        yield Entry("finish-by", course.finish_by)


def after_it(today: Today, further: Further, now: datetime) -> tuple[Entry, ...]:
    """Return what is due beside the next dose, or beside the one that is under way.

    While one is under way, one that waits meanwhile by another sheet is not named as late.
    """
    rows = [Entry("due", later) for later in today.later[:1]]
    if today.due.astimezone(UTC) >= now.astimezone(UTC):
        if today.under_way is None:
            rows.append(Entry("would-end", today.ends))
        else:
            rows.append(Entry("due", today.due))
    return (*rows, *today.beside, *further.entries)


def warning(today: Today, course: Course | None, now: datetime) -> str:
    """Return which of ``words.WARNINGS`` is to be said at *now*; nothing where none is.

    It compares and says whom to call; it never says that a dose may be given after all.
    """
    if today.under_way is None:
        if not today.can_begin or now < today.begin_by - NEAR:
            return ""
        return "closing" if now <= today.begin_by else TOO_LATE
    if course is None or course.over:
        return ""
    if not fits(course.ends, course.finish_by):
        return "bag"
    if course.started or course.closes is None or now < course.closes - NEAR:
        return ""
    return "pump-closing" if now <= course.closes else "pump-late"
