"""What people add to the record: corrections, names, words of a call, reasons, questions, visits.

Owns the reading and writing of its rows. It must never change or remove one, and never decide
what a dose was.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import ClassVar, Final, NamedTuple

from coach.clean import shown
from coach.errors import JournalError
from coach.journal.book import Book, R, Row
from coach.journal.rows import due_key
from coach.journal.trouble import calmly

_DUE_BETWEEN: Final = "sheet_id = :sheet AND due_utc >= :since AND due_utc < :until"

_HAD: Final = """SELECT 1 FROM sittings WHERE kind = 'dose' AND sheet_id = :sheet
    AND due_utc = :due AND id NOT IN (SELECT sitting_id FROM freed)
    UNION ALL SELECT 1 FROM on_paper WHERE sheet_id = :sheet AND due_utc = :due"""

_PAPERS: Final = "SELECT * FROM on_paper WHERE id > :after ORDER BY id"

# Without the times, which take longest to read: thousands of events are gone through at once.
_HAPPENED: Final = """SELECT sitting_id, events.kind, step, value
    FROM sittings JOIN events ON sitting_id = sittings.id
    WHERE sittings.kind = 'dose' AND sheet_id = :sheet AND due_utc >= :since AND due_utc < :until
    ORDER BY sitting_id, seq"""

REASONS: Final = ("late", "early", "not-done")
"""What a reason can be for."""


class Correction(Row, frozen=True):
    """What a field of a dose is to say; what it said before stays beside it."""

    table: ClassVar[str] = "corrections"
    sitting_id: int
    field: str
    said: str
    says: str
    who: str
    why: str


class PaperCorrection(Row, frozen=True):
    """What a field of a dose from paper is to say; what it said before stays beside it."""

    table: ClassVar[str] = "paper_corrections"
    paper_id: int
    field: str
    said: str
    says: str
    who: str
    why: str


class People(Row, frozen=True):
    """Who gave a dose, and who pressed the keys; the newest row counts."""

    table: ClassVar[str] = "people"
    sitting_id: int
    gave: str
    pressed: str


class Answer(Row, frozen=True):
    """What was said on a call."""

    table: ClassVar[str] = "answers"
    sitting_id: int
    seq: int
    """The last event before it."""
    step: str
    """The stop that the call was for."""
    who: str
    words: str
    read_back: bool


class Reason(Row, frozen=True):
    """Why a dose was late, early or not done, in the person's words."""

    table: ClassVar[str] = "reasons"
    sheet_id: str
    due_utc: datetime
    kind: str
    """One of `REASONS`."""
    words: str
    who: str


class Asked(Row, frozen=True):
    """A question that the person wrote down for the nurse."""

    table: ClassVar[str] = "questions"
    sheet_id: str
    words: str


class Called(Row, frozen=True):
    """A visit: when a nurse was there."""

    table: ClassVar[str] = "calls_by"
    sheet_id: str
    nurse: str


class Lot(Row, frozen=True):
    """The lot on the label of a dose's bag; the newest row counts."""

    table: ClassVar[str] = "lots"
    sitting_id: int
    lot: str


class OnPaper(Row, frozen=True):
    """A dose that was led by paper, written down here afterwards."""

    table: ClassVar[str] = "on_paper"
    sheet_id: str
    sheet_hash: str
    due: datetime
    due_utc: datetime
    begun: datetime
    ended: datetime
    given: str
    """How much went in, in mL; empty where nobody knows."""
    gave: str
    pressed: str
    """Who wrote it down here."""
    words: str
    procedure_hash: str | None = None
    """SHA-256 in hex of the steps that it was done by; None in a row of an earlier version."""
    sitting_id: int | None = None
    """The last sitting when it was written down, 0 for none; None like *procedure_hash*."""
    seq: int | None = None
    """The last event of that sitting then."""


class Happening(NamedTuple):
    """One event, as far as it tells what happened."""

    sitting: int
    kind: str
    step: str
    value: str


class RecordBook(Book):
    """The rows of what people added.

    Every method raises JournalError, or one of its kinds, where the record cannot be read or
    written; what was kept before is then untouched.
    """

    def refuse(self, row: Row) -> None:
        """Raise JournalError for a dose on paper whose due time has had its dose."""
        if not isinstance(row, OnPaper):
            return
        asked = {"sheet": shown(row.sheet_id), "due": due_key(row.due)}
        if self._database.execute(_HAD, asked).fetchone():
            raise JournalError(
                f"The dose due on {row.due:%Y-%m-%d} at {row.due:%H:%M} is already in the "
                "record, so it is not written down again."
            )

    def between(
        self, kind: type[R], sheet_id: str, since: datetime, until: datetime
    ) -> tuple[R, ...]:
        """Return the rows of a *kind* for the due times from *since* until before *until*."""
        sql = f"SELECT * FROM {kind.table} WHERE {_DUE_BETWEEN} ORDER BY due_utc"  # noqa: S608
        asked = {"sheet": shown(sheet_id), "since": due_key(since), "until": due_key(until)}
        with calmly():
            return self.read(kind, sql, dict(asked))

    def happenings(self, sheet_id: str, since: datetime, until: datetime) -> Iterator[Happening]:
        """Yield what happened in the doses due from *since* until before *until*, dose by dose."""
        asked = {"sheet": shown(sheet_id), "since": due_key(since), "until": due_key(until)}
        with calmly():
            yield from (Happening(*row) for row in self._database.execute(_HAPPENED, asked))

    def papers(self, after: int) -> tuple[OnPaper, ...]:
        """Return the doses from paper that were written down after the one with the id *after*."""
        with calmly():
            return self.read(OnPaper, _PAPERS, {"after": after})

    def last(self, kind: type[R], **where: object) -> R | None:
        """Return the newest row that `every` would give; None where there is none."""
        asked, known = self.asked(kind, where)
        sql = f"SELECT * FROM {kind.table} WHERE {asked} ORDER BY id DESC LIMIT 1"  # noqa: S608
        with calmly():
            rows = self.read(kind, sql, known)
        return rows[0] if rows else None
