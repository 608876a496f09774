"""What doses used of the stock so far, and what is left: gone through from where sums were kept.

Owns the order in which entries, doses and doses from paper count, and the keeping of sums, so that
nobody waits for years of doses. Sums are no part of the record: without them everything is gone
through from the first entry on, and comes to the same.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING

import msgspec
from msgspec.structs import replace

from coach.errors import FileProblems, JournalError, OrderError
from coach.journal.records import OnPaper
from coach.journal.rows import SittingRow, sha256_of
from coach.journal.stock import KeptSums, Stands
from coach.orders.read import sheet_from_bytes
from coach.orders.sheet import OrderSheet
from coach.orders.supplies import Entry, Kept, Sums, Use
from coach.procedure.files import bundle_of
from coach.procedure.model import Source
from coach.sitting.opening import kept_source, source_from
from coach.sitting.using import Given, Pieces, Using, counted, in_total, planned, uses_in, using

if TYPE_CHECKING:
    from coach.sitting.desk import Desk

FORM = "2"
"""Names the way in which sums are made and kept; sums that another way made are of no use."""
LOOKED_BACK = 60
"""Due times of the record from which the coach learns how much is spoiled."""
PLANNED = 2 * LOOKED_BACK
"""Due times from which on their use is planned: enough to find when a change was due."""
MOST_ROWS = 4 * LOOKED_BACK
"""Sittings that are looked through for them."""
EVERY = 30
"""Sittings after which sums are kept anew."""
_LAST = 2**62
"""Above every number of an entry, an event or a sitting."""

Done = dict[str, dict[str, datetime]]
"""When each step that a circumstance rests on was done last, by the name of the order sheet."""


class _Past(msgspec.Struct, frozen=True):
    """What the record says of one dose."""

    uses: tuple[Use, ...]
    hoped: Pieces
    """What it would have used, with nothing spoiled."""
    done: Mapping[str, datetime]
    """When each step that a circumstance rests on was done last."""
    readable: bool


class _Sums(msgspec.Struct):
    """Everything that is kept, as text can hold it."""

    items: Kept
    done: Done
    unreadable: int
    until: datetime | None
    """When the last of their entries was made; None for none."""


class SoFar(msgspec.Struct, frozen=True):
    """What the record comes to up to now."""

    sums: Sums
    given: tuple[Given, ...]
    """The last due times that were given in full, in order of time."""
    done: Mapping[str, datetime]
    """When each step that a circumstance rests on was done last, in doses of this order sheet."""
    unreadable: int
    """Doses since the first entry that cannot be read by this program."""


class Reckoning:
    """Goes through the record of one desk, as far as the stock depends on it."""

    def __init__(self, desk: Desk) -> None:
        """Take the *desk*; nothing is read yet."""
        self.desk = desk
        self._ended: dict[int, _Past] = {}
        self._sources: dict[str, Source] = {}
        self._sheets: dict[str, OrderSheet] = {}
        self._alike: dict[tuple[str, ...], Using] = {}
        self._by_guess = False
        """Whether the sheet and the steps of now stood in for some that cannot be read."""

    @cached_property
    def source(self) -> Source:
        """The procedure of now. Raises FileProblems."""
        return source_from(json.dumps(bundle_of(self.desk.procedures), sort_keys=True).encode())

    def so_far(self, stands: Stands) -> SoFar:
        """Return what the record comes to, which *stands* as it says.

        Raises FileProblems if the procedures cannot be read, JournalError if the record cannot.
        """
        rows = self._rows(begin := self._begin())
        found, sums = self._gone_through(begin, rows)
        ended = [row for row in rows if row.id > begin.sitting and row.ended]
        if len(ended) >= EVERY and len(ended) == sum(row.id > begin.sitting for row in rows):
            self._keep(found, stands)
        own = found.done.get(self.desk.sheet.sheet.id, {})
        return SoFar(sums, self._given(rows), own, found.unreadable)

    def comes_to_the_same(self) -> bool:
        """Tell whether the sums that were kept are what all of the record comes to.

        Raises FileProblems if the procedures cannot be read, JournalError if the record cannot.
        """
        begin, first = self._begin(), self._first()
        kept, _ = self._gone_through(begin, self._rows(begin))
        anew, _ = self._gone_through(first, self._rows(first))
        return kept == anew

    # Where to begin

    def _first(self) -> KeptSums:
        """Return sums of nothing, up to the first entry: what was used before does not count."""
        first = self.desk.journal.stock.first()
        before = first.sitting - 1 if first else self.desk.journal.stock.stands().sitting
        return KeptSums(self._basis, before, 0, 0, _text(_Sums({}, {}, 0, None)))

    def _begin(self) -> KeptSums:
        """Return the newest sums that still hold."""
        usable = (kept for kept in self.desk.journal.stock.sums() if self._holds(kept))
        return next(usable, None) or self._first()

    def _holds(self, kept: KeptSums) -> bool:
        """Tell whether nothing was written down later that belongs before *kept*."""
        if kept.basis != self._basis and kept.basis != self._basis_by_guess:
            return False
        try:
            sums = msgspec.json.decode(kept.sums, type=_Sums)
            Sums(sums.items)
        except ValueError:
            return False
        later = self.desk.journal.records.papers(kept.paper)
        return sums.until is None or all(paper.ended > sums.until for paper in later)

    @property
    def _basis(self) -> str:
        return f"{FORM} {self.desk.sheet.time_zone}"

    @cached_property
    def _basis_by_guess(self) -> str:
        steps = json.dumps(bundle_of(self.desk.procedures), sort_keys=True).encode()
        return f"{self._basis} {sha256_of(self.desk.sheet_raw)} {sha256_of(steps)}"

    # Going through

    def _rows(self, begin: KeptSums) -> list[SittingRow]:
        """Return the doses after *begin* and enough before it to learn from, the first first."""
        rows: list[SittingRow] = []
        given: set[datetime] = set()
        for row in self.desk.journal.newest_first():
            if row.id <= begin.sitting and (len(given) > PLANNED or len(rows) > MOST_ROWS):
                break
            if row.kind == "dose":
                rows.append(row)
                if row.ended == "finished":
                    given.add(row.due.astimezone(UTC))
        return rows[::-1]

    def _gone_through(self, begin: KeptSums, rows: Sequence[SittingRow]) -> tuple[_Sums, Sums]:
        """Return what the record comes to from *begin* on, as kept and as it is gone through."""
        so_far, book = msgspec.json.decode(begin.sums, type=_Sums), self.desk.journal
        sums, done, unreadable = Sums(so_far.items), so_far.done, so_far.unreadable
        entries = book.stock.entries(begin.entry)
        self._by_guess = begin.basis != self._basis
        uses: list[Use] = []
        papers = [_in_place(paper, rows) for paper in book.records.papers(begin.paper)]
        for row in (row for row in rows if row.id > begin.sitting):
            while papers and (papers[0].sitting_id or 0) < row.id:
                uses += self._used_on_paper(papers.pop(0), entries, done)
            past = self._past(row)
            uses += past.uses
            unreadable += not past.readable
            done.setdefault(row.sheet_id, {}).update(past.done)
        for paper in papers:
            uses += self._used_on_paper(paper, entries, done)
        sums.take_in(entries, uses)
        moments = [so_far.until] if so_far.until else []
        until = max((*moments, *(e.at.astimezone(UTC) for e in entries)), default=None)
        return _Sums(sums.kept(), done, unreadable, until), sums

    def _keep(self, found: _Sums, stands: Stands) -> None:
        """Keep what was *found*; where that cannot be done, it is gone through once more."""
        basis = self._basis_by_guess if self._by_guess else self._basis
        with suppress(JournalError):
            if self.desk.journal.stock.stands() == stands:
                kept = KeptSums(basis, stands.sitting, stands.entry, stands.paper, _text(found))
                self.desk.journal.stock.keep_sums(kept)

    def _given(self, rows: Sequence[SittingRow]) -> tuple[Given, ...]:
        """Return what was used for each due time that was given in full, in order of time."""
        by_due: dict[datetime, list[SittingRow]] = {}
        for row in rows:
            by_due.setdefault(row.due.astimezone(UTC), []).append(row)
        full = [(due, of) for due, of in sorted(by_due.items()) if of[-1].ended == "finished"]
        learnt = {due for due, _ in full[-LOOKED_BACK:]}
        return tuple(
            Given(due, self._used(of), self._past(of[-1]).hoped)
            if due in learnt
            else Given(due, {}, {})
            for due, of in full[-PLANNED:]
        )

    def _used(self, rows: Iterable[SittingRow]) -> Pieces:
        return in_total({use.item: use.number} for row in rows for use in self._past(row).uses)

    # One dose

    def _past(self, row: SittingRow) -> _Past:
        """Return what *row* used; what has ended is looked into once."""
        found = self._ended.get(row.id) or self._looked_into(row)
        if row.ended:
            self._ended[row.id] = found
        return found

    def _looked_into(self, row: SittingRow) -> _Past:
        try:
            source, asked = self._source_of(row.procedure_hash), self._using(row)
            rests = {one.step for one in source.circumstances if one.step}
            wanted = {*asked.steps, *asked.dated, *rests}
            events = counted(self.desk.journal.events_of(row.id, wanted))
            done = {event.step: event.at.at for event in events if event.step in rests}
            uses = uses_in(asked, row.id, events, self.desk.zone)
            return _Past(uses, asked.hoped, done, True)
        except (FileProblems, OrderError, KeyError):
            self._by_guess = True
            [hoped] = planned(self.source, self.desk.sheet, [row.due])
            uses = tuple(
                Use(item, number, row.id, 0, row.begun.at) for item, number in hoped.items()
            )
            return _Past(uses, hoped, {}, False)

    def _using(self, row: SittingRow) -> Using:
        """Return what a dose like *row* asks for, worked out once for doses that are alike."""
        key = (row.procedure_hash, *itertools.chain(*sorted(row.choices.items())))
        if key not in self._alike:
            self._alike[key] = using(self._source_of(row.procedure_hash), row.choices)
        return self._alike[key]

    def _source_of(self, sha256: str) -> Source:
        """Return a procedure of the record, read once: its doses mostly share one."""
        if sha256 not in self._sources:
            self._sources[sha256] = kept_source(self.desk.journal.source(sha256))
        return self._sources[sha256]

    def _sheet_of(self, sha256: str) -> OrderSheet:
        """Return an order sheet of the record, read once as well."""
        if sha256 not in self._sheets:
            raw = self.desk.journal.source(sha256)
            self._sheets[sha256] = sheet_from_bytes(raw, "the order sheet of this dose")
        return self._sheets[sha256]

    def _used_on_paper(self, paper: OnPaper, entries: Sequence[Entry], done: Done) -> Iterator[Use]:
        """Yield what a dose from paper is taken to have used: what it does with nothing spoiled.

        It counts after what was kept before it was written down, but before a count that was made
        once it was over: whoever counted saw what it had left.
        """
        try:
            source = self._source_of(paper.procedure_hash or "")
            sheet = self._sheet_of(paper.sheet_hash)
        except (FileProblems, JournalError):
            self._by_guess = True
            source, sheet = self.source, self.desk.sheet
        last = {
            asked.choice: done[paper.sheet_id][asked.step]
            for asked in source.circumstances
            if asked.step in done.get(paper.sheet_id, {})
        }
        [pieces] = planned(source, sheet, [paper.due], last)
        at = _place_of(paper, entries)
        for item, number in pieces.items():
            yield Use(item, number, *at[:2], paper.begun, after=at[2])


def _text(sums: _Sums) -> str:
    return msgspec.json.encode(sums).decode()


def _in_place(paper: OnPaper, rows: Iterable[SittingRow]) -> OnPaper:
    """Return *paper* with its place among *rows*; one that an earlier version kept has none.

    It then counts after the doses that were begun before it was written down, by the clock.
    """
    if paper.seq is not None:
        return paper
    before = (row.id for row in rows if row.begun.at <= paper.at)
    return replace(paper, sitting_id=max(before, default=0), seq=_LAST)


def _place_of(paper: OnPaper, entries: Iterable[Entry]) -> tuple[int, int, int]:
    """Return after which sitting, event and entry *paper* counts."""
    assert paper.sitting_id is not None
    assert paper.seq is not None
    written = paper.sitting_id, paper.seq
    later = next((entry for entry in entries if entry.at >= paper.ended), None)
    if later is not None and (later.sitting, later.seq) <= written:
        return later.sitting, later.seq, later.id - 1
    return *written, _LAST
