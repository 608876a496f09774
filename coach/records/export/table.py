"""Dose records as a table: one row a dose, and what each of its columns holds.

Owns the columns: their names, what each is taken from, and how a cell is written and read. CSV by
RFC 4180, in UTF-8. It must never say a thing that the record does not hold.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, tzinfo
from decimal import Decimal, InvalidOperation

import msgspec

from coach.errors import CoachError
from coach.orders.quantities import Quantity, in_unit
from coach.records.model import Changed, DoseRecord, Told
from coach.says import export as words
from coach.says.doses import NOTHING_SAID

Cell = str | Decimal | datetime | bool | None
Row = dict[str, Cell]
_GUARDED = ("=", "+", "-", "@", "'", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What a spreadsheet may take for the start of a formula (OWASP, CSV injection: restated), and
the mark itself, so that it can be taken off again."""
GUARD = "'"
"""What is put before a text that begins so."""
BETWEEN = " | "
"""What stands between several things in one cell."""
_YES = {"yes": True, "no": False}


class Column(msgspec.Struct, frozen=True):
    """One column."""

    name: str
    form: str
    """``text``, ``number``, ``time`` or ``yes-no``."""
    take: Callable[[DoseRecord], Cell]


def _text(name: str, take: Callable[[DoseRecord], str]) -> Column:
    return Column(name, "text", take)


def _time(name: str, take: Callable[[DoseRecord], datetime | None]) -> Column:
    return Column(name, "time", take)


def _count(name: str, take: Callable[[DoseRecord], int]) -> Column:
    return Column(name, "number", lambda one: Decimal(take(one)))


def _ordered(name: str, take: Callable[[DoseRecord], Quantity]) -> tuple[Column, Column]:
    """Return the columns of an ordered amount and of its unit."""
    return Column(name, "number", lambda one: take(one).amount), _text(
        f"{name}_unit", lambda one: take(one).unit
    )


def _in_mL(of: Quantity | None) -> Decimal | None:
    return None if of is None else in_unit(of, "mL").amount


def _titles(told: Iterable[Told], kind: str) -> str:
    found = (one for one in told if one.kind == kind)
    return BETWEEN.join(": ".join(filter(None, (f.title, ", ".join(f.then)))) for f in found)


def _calls(one: DoseRecord) -> str:
    return BETWEEN.join(
        ": ".join(filter(None, (call.call, call.title, call.says, call.who, call.words)))
        for call in one.calls
    )


def _corrections(one: DoseRecord) -> str:
    def told(c: Changed) -> str:
        said, says = c.said or NOTHING_SAID, c.says or NOTHING_SAID
        return words.CORRECTED.format(field=c.field, said=said, says=says, who=c.who, why=c.why)

    return BETWEEN.join(map(told, one.corrections))


COLUMNS: tuple[Column, ...] = (
    _text("dose_id", lambda one: one.id),
    _text("person", lambda one: one.person),
    _text("order_sheet", lambda one: one.sheet),
    _text("status", lambda one: one.status),
    _text("medicine", lambda one: one.medicine),
    *_ordered("dose", lambda one: one.dose),
    *_ordered("strength", lambda one: one.strength),
    *_ordered("volume", lambda one: one.volume),
    *_ordered("rate", lambda one: one.rate),
    _time("due", lambda one: one.due),
    _time("window_from", lambda one: one.window.since),
    _time("window_to", lambda one: one.window.until),
    _time("begun", lambda one: one.begun),
    _time("medicine_from", lambda one: one.flow.since if one.flow else None),
    _time("medicine_to", lambda one: one.flow.until if one.flow else None),
    _time("ended", lambda one: one.ended),
    _text("timing", lambda one: one.timing),
    _count("pauses", lambda one: len(one.pauses)),
    Column("given_mL", "number", lambda one: _in_mL(one.given)),
    Column("left_mL", "number", lambda one: _in_mL(one.left)),
    _text("lot", lambda one: one.lot),
    _time("discard", lambda one: one.discard),
    _text("gave", lambda one: one.gave),
    _text("pressed", lambda one: one.pressed),
    Column("from_paper", "yes-no", lambda one: one.from_paper),
    _count("flushes", lambda one: sum(push.kind == "flush" for push in one.pushes)),
    _count("locks", lambda one: sum(push.kind == "lock" for push in one.pushes)),
    _count("hard_to_push", lambda one: one.resisted),
    _count("not_as_ordered", lambda one: sum(not typed.agreed for typed in one.typed)),
    _text("site", lambda one: BETWEEN.join(x.says for x in one.looks if x.of == "site")),
    _text("spoiled", lambda one: _titles(one.told, "spoiled")),
    _text("troubles", lambda one: _titles(one.told, "trouble")),
    _text("calls", _calls),
    _text("reasons", lambda one: BETWEEN.join(f"{why.kind}: {why.words}" for why in one.reasons)),
    _text("notes", lambda one: BETWEEN.join(note.words for note in one.notes)),
    _text("corrections", _corrections),
)


def rows_of(records: Iterable[DoseRecord], zone: tzinfo) -> tuple[Row, ...]:
    """Return the rows of *records*, with times by the clock in *zone*, each with its offset."""
    return tuple({c.name: _fixed(c.take(one), zone) for c in COLUMNS} for one in records)


def _fixed(value: Cell, zone: tzinfo) -> Cell:
    """Return *value*; a time with a fixed offset, so that equal ones compare equal (PEP 495)."""
    if isinstance(value, datetime):
        return datetime.fromisoformat(value.astimezone(zone).isoformat())
    return value


def csv_of(rows: Sequence[Row]) -> bytes:
    """Return *rows* as a file, below the names of the columns."""
    names = [column.name for column in COLUMNS]
    return _written([names, *([_cell(row[name]) for name in names] for row in rows)])


def columns_csv() -> bytes:
    """Return the data dictionary: what each column holds, and how it is written."""
    about = ((c.name, c.form, words.FORMS[c.form], words.COLUMNS[c.name]) for c in COLUMNS)
    return _written([words.DICTIONARY, *about])


def read_csv(raw: bytes) -> tuple[Row, ...]:
    """Return the rows in the file *raw*.

    Raises CoachError if it is no table that `csv_of` wrote.
    """
    try:
        named, *rows = csv.reader(io.StringIO(raw.decode("utf-8"), newline=""), strict=True)
        if named != [column.name for column in COLUMNS]:
            raise ValueError(named)
        return tuple(
            {c.name: _read(c.form, cell) for c, cell in zip(COLUMNS, row, strict=True)}
            for row in rows
        )
    except (ValueError, LookupError, InvalidOperation, csv.Error) as error:
        raise CoachError(words.NO_EXPORT) from error


def _written(rows: Iterable[Sequence[str]]) -> bytes:
    file = io.StringIO(newline="")
    csv.writer(file, lineterminator="\r\n").writerows(rows)
    return file.getvalue().encode("utf-8")


def _cell(value: Cell) -> str:
    if isinstance(value, str):
        return GUARD + value if value.startswith(_GUARDED) else value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return format(value, "f")
    return value.isoformat() if value is not None else ""


def _read(form: str, cell: str) -> Cell:
    if form == "text":
        return cell.removeprefix(GUARD)
    if not cell:
        return None
    if form == "number":
        return Decimal(cell)
    return _YES[cell] if form == "yes-no" else datetime.fromisoformat(cell)
