"""How the doses of many weeks went, week by week, told by their events alone.

Owns which events count as a resistance or a soiling where no dose is followed step by step: that
would take seconds. It must come to what the records of the same doses do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from itertools import groupby

from coach.errors import FileProblems
from coach.journal.records import Correction, Happening, OnPaper, PaperCorrection
from coach.orders.times import day_starts
from coach.procedure.model import Question
from coach.records.book import IN_ERROR
from coach.records.shelf import Shelf
from coach.records.trends import WEEKS, Week, monday_of
from coach.sitting.opening import kept_source
from coach.sitting.using import counted

_WEEK = timedelta(days=7)


def weeks_of(shelf: Shelf) -> tuple[Week, ...]:
    """Return the last weeks of *shelf*, from the first one with a dose in them.

    Of a dose whose steps this program cannot read nobody can tell whether a push went in freely.
    Raises JournalError.
    """
    last = monday_of(shelf.today())
    starts = [last - n * _WEEK for n in reversed(range(WEEKS))]
    since, until = (day_starts(day, shelf.zone) for day in (starts[0], last + _WEEK))
    begun = [*_led(shelf, since, until), *_on_paper(shelf, since, until)]
    weeks = {day: [one for one in begun if one.monday == day] for day in starts}
    first = next((place for place, day in enumerate(starts) if weeks[day]), WEEKS)
    return tuple(
        Week(
            day,
            sum(one.doses for one in weeks[day]),
            sum(one.resisted for one in weeks[day]),
            sum(one.spoiled for one in weeks[day]),
        )
        for day in starts[first:]
    )


def _led(shelf: Shelf, since: datetime, until: datetime) -> Iterable[Week]:
    """Yield each dose that the coach led as a week with that dose alone."""
    journal, sheet = shelf.desk.journal, shelf.desk.sheet.sheet.id
    wrong = journal.records.every(Correction, field="status", says=IN_ERROR)
    left_out = {one.sitting_id for one in wrong}
    told = journal.records.happenings(sheet, since, until)
    by_dose = {dose: tuple(of) for dose, of in groupby(told, key=lambda one: one.sitting)}
    hoped: dict[str, Mapping[str, str]] = {}
    for row in journal.due_between(sheet, since, until):
        if row.id in left_out:
            continue
        if row.procedure_hash not in hoped:
            hoped[row.procedure_hash] = _pushes(shelf, row.procedure_hash)
        pushes = hoped[row.procedure_hash]
        still = counted(by_dose.get(row.id, ()))
        resisted = any(_resists(one, pushes) for one in still)
        spoiled = any(one.kind == "spoiled" for one in still)
        yield Week(_monday(row.due, shelf), 1, int(resisted), int(spoiled))


def _pushes(shelf: Shelf, procedure_hash: str) -> Mapping[str, str]:
    """Return the steps at which it is asked how a push went in, each with the hoped answer."""
    try:
        source = kept_source(shelf.desk.journal.source(procedure_hash))
    except FileProblems:
        return {}
    return {
        step.id: step.outcomes[0].name
        for step in (*source.steps, *source.responses)
        if step.records in ("flush", "lock") and isinstance(step.ask, Question)
    }


def _resists(one: Happening, pushes: Mapping[str, str]) -> bool:
    return one.kind == "answer" and one.value != pushes.get(one.step, one.value)


def _on_paper(shelf: Shelf, since: datetime, until: datetime) -> Sequence[Week]:
    book, sheet = shelf.desk.journal.records, shelf.desk.sheet.sheet.id
    wrong = book.every(PaperCorrection, field="status", says=IN_ERROR)
    left_out = {one.paper_id for one in wrong}
    papers = book.between(OnPaper, sheet, since, until)
    return [Week(_monday(one.due, shelf), 1, 0, 0) for one in papers if one.id not in left_out]


def _monday(due: datetime, shelf: Shelf) -> date:
    return monday_of(due.astimezone(shelf.zone).date())
