"""Files that are handed on: put together from a desk, written whole, and read back.

Owns which file holds what, and that none is left that does not read back as the same. It must
never write over anything but an earlier export, and over that only where it is asked to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, suppress
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

import msgspec

from coach.errors import CoachError, FileProblems
from coach.orders.read import sheet_from_bytes
from coach.orders.times import day_starts
from coach.orders.values import parse_discard, shown_values
from coach.procedure.compose import compose
from coach.procedure.conditions import PROGRESS_NAMES, fill
from coach.procedure.facts import FactTable
from coach.procedure.model import Step as ProcedureStep
from coach.records.care import beside, put
from coach.records.export.fhir import Beside, Condition, Step, bundle_of
from coach.records.export.fhir_read import read_bundle
from coach.records.export.reminders import reminders_of
from coach.records.export.table import columns_csv, csv_of, read_csv, rows_of
from coach.records.model import DoseRecord
from coach.records.shelf import DAY, EVER, Shelf
from coach.says import export as words
from coach.says import records as file_words
from coach.says.paper import BLANK
from coach.sitting.desk import Desk
from coach.sitting.opening import Opening

NAMES = {"fhir": "doses-fhir-{release}.json", "csv": "doses.csv", "calendar": "dose-times.ics"}
"""What a file is called where no name was typed, by its format."""
_COLUMNS = "-columns.csv"
"""Ends the name of the data dictionary beside a table."""
_BEGINNINGS = (b'{"resourceType":"Bundle"', b"dose_id,", b"column,", b"BEGIN:VCALENDAR")
"""How every export begins, of any format."""
_MOMENT = timedelta(microseconds=1)


class File(msgspec.Struct, frozen=True):
    """One file, and what tells whether it was read back as the same."""

    path: Path
    raw: bytes
    holds: Callable[[bytes], bool]


def records_between(shelf: Shelf, since: str, until: str) -> tuple[DoseRecord, ...]:
    """Return the records of *shelf* from the day *since* to the day *until*, as typed.

    An empty one sets no bound. Raises CoachError where there is none, or a day cannot be read.
    """
    now = shelf.now()
    first = _day(since, shelf)[0] if since else EVER
    last = _day(until, shelf)[1] if until else now + DAY  # one begun early is due later
    found = shelf.records.between(first, last, now)
    if not found:
        raise CoachError(words.NOTHING_TO_WRITE)
    return found


def _day(typed: str, shelf: Shelf) -> tuple[datetime, datetime]:
    """Return when the day that was *typed* starts, and when the next one does."""
    day = (parse_discard(typed, shelf.zone) - _MOMENT).astimezone(shelf.zone).date()
    return day_starts(day, shelf.zone), day_starts(day + DAY, shelf.zone)


def fhir_file(
    desk: Desk, records: Sequence[DoseRecord], path: Path, release: str
) -> tuple[File, ...]:
    """Return the Bundle of *records* for *release*, to be written to *path*.

    Raises FileProblems if the procedures cannot be used.
    """
    told = _plain(records)

    def holds(raw: bytes) -> bool:
        return _plain(read_bundle(raw)) == told

    return (File(path, bundle_of(records, _beside(desk, records), release), holds),)


def _plain(records: Sequence[DoseRecord]) -> object:
    """Return *records* with each time as text, as equal times of two zones can differ (PEP 495)."""
    return msgspec.to_builtins(tuple(records), builtin_types=(Decimal,))


def _beside(desk: Desk, records: Sequence[DoseRecord]) -> Beside:
    """Return the procedure for the sheet of *desk*, and the pumps of the sheets of *records*."""
    opening = Opening(
        desk.sheet, desk.sheet_raw, desk.procedures, desk.journal, desk.clock, desk.first_fault
    )
    procedure = compose(opening.source, opening.choices())
    # What is only known at the table is a blank, as on paper.
    values = {**dict.fromkeys(PROGRESS_NAMES, BLANK), **shown_values(desk.sheet)}
    values |= {f"count_{supply}": str(number) for supply, number in procedure.counts.items()}
    table = opening.source.table
    steps = (
        Step(fill(s.title, values), fill(s.do, values), tuple(_conditions(s, table)))
        for s in procedure.steps
    )
    pumps = {}
    for sha256 in dict.fromkeys(one.sheet_hash for one in records if one.sheet_hash):
        with suppress(FileProblems):
            pumps[sha256] = sheet_from_bytes(desk.journal.source(sha256), "").pump.card
    return Beside(
        sheet=desk.sheet.sheet.id,
        title=opening.source.title,
        steps=tuple(steps),
        pumps=pumps,
        invented=desk.sheet.demonstration,
    )


def _conditions(step: ProcedureStep, table: FactTable) -> Iterator[Condition]:
    """Yield on what it depends whether *step* is done: the order sheet, and what is so by then."""
    for of, wanted in (
        (words.OF_THE_SHEET, step.when),
        (words.OF_THE_TABLE, table.wanted(step.only_if)),
    ):
        if wanted:
            told = (
                words.CONDITION.format(name=name, values=words.OR.join(values))
                for name, values in wanted.items()
            )
            yield Condition(of, words.AND.join(told))


def table_files(desk: Desk, records: Sequence[DoseRecord], path: Path) -> tuple[File, ...]:
    """Return the table of *records*, to be written to *path*, and its data dictionary."""
    rows, columns = rows_of(records, desk.zone), columns_csv()
    return (
        File(columns_beside(path), columns, lambda raw: raw == columns),
        File(path, csv_of(rows), lambda raw: read_csv(raw) == rows),
    )


def columns_beside(path: Path) -> Path:
    """Return where the data dictionary of the table at *path* lies."""
    return path.with_name(path.stem + _COLUMNS)


def calendar_file(desk: Desk, path: Path) -> tuple[File, ...]:
    """Return the reminders of the order sheet from now on, to be written to *path*."""
    from coach.records.export.calendar import calendar_of, same_calendar

    now = desk.clock.now().at
    told = desk.further(desk.today()).entries
    return (
        File(
            path, calendar_of(desk.sheet, reminders_of(desk.sheet, now, told), now), same_calendar
        ),
    )


def write(files: Sequence[File], replace: bool) -> None:
    """Write *files*, each for its owner alone and at one stroke, once all of them read back well.

    Raises CoachError where something lies there that may not go, which is all but an earlier
    export with *replace*; where a file cannot be written, or does not read back as it should.
    Then all is as it was.
    """
    for file in files:
        _see_free(file.path, replace)
    with ExitStack() as stack:
        copies = []
        for file in files:
            copy = stack.enter_context(beside(file.path))
            try:
                copy.write_bytes(file.raw)
                again = copy.read_bytes()
            except OSError as error:
                raise CoachError(file_words.NOT_WRITTEN.format(path=file.path)) from error
            if not _holds(file, again):
                raise CoachError(words.NOT_THE_SAME.format(path=file.path))
            copies.append((copy, file.path))
        for copy, path in copies:
            put(copy, path)


def _holds(file: File, again: bytes) -> bool:
    try:
        return file.holds(again)
    except CoachError:
        return False


def _see_free(path: Path, replace: bool) -> None:
    if not path.exists():
        return
    if not replace:
        raise CoachError(words.THERE_ALREADY.format(path=path))
    try:
        with path.open("rb") as file:
            begins = file.read(max(map(len, _BEGINNINGS)))
    except OSError as error:
        raise CoachError(file_words.NOT_WRITTEN.format(path=path)) from error
    if not begins.startswith(_BEGINNINGS):
        raise CoachError(words.NO_EXPORT_THERE.format(path=path))
