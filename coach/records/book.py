"""The records of one person's doses: each folded once it is asked for.

Owns which doses there are in a stretch of time, and joins what people wrote down to what the
events say. It must never fold more than was asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from msgspec.structs import replace

from coach.errors import FileProblems
from coach.journal.records import (
    Answer,
    Correction,
    Lot,
    OnPaper,
    PaperCorrection,
    People,
    Reason,
)
from coach.journal.rows import SittingRow
from coach.journal.store import Journal
from coach.orders.quantities import Quantity
from coach.orders.read import sheet_from_bytes
from coach.orders.schedule import due_times, window_of
from coach.orders.sheet import OrderSheet
from coach.orders.times import day_starts
from coach.procedure.model import Question
from coach.records import fold
from coach.records.model import Changed, DoseRecord, Look, Span, Why
from coach.sitting.opening import Opening

IN_ERROR = "entered-in-error"
"""What the field ``status`` is corrected to where a dose was never given at all."""
_MOMENT = timedelta(microseconds=1)


class Records:
    """The records of the doses of one order sheet."""

    def __init__(self, opening: Opening, journal: Journal) -> None:
        """Take the *opening* of the order sheet's doses, and the *journal* that holds them."""
        self._opening = opening
        self._journal = journal
        self._book = journal.records
        self._sheets: dict[str, OrderSheet] = {}

    def between(
        self, since: datetime, until: datetime, now: datetime, *, closely: bool = True
    ) -> tuple[DoseRecord, ...]:
        """Return the doses that were due from *since* until before *until*, in that order.

        Not *closely*, of one that was finished nothing is told but that: its events are not read.

        Those that were due and never begun are among them once their window is over at *now*:
        after the first dose on record, and by the order sheet that was in force then.
        """
        rows = self._journal.due_between(self._sheet_id, since, until)
        found = [
            self.of(row) if closely or not _is_plain(row) else self._at_a_glance(row)
            for row in rows
        ]
        paper = self._book.between(OnPaper, self._sheet_id, since, until)
        found += [self._from_paper(one) for one in paper]
        had = {one.due.astimezone(UTC) for one in found}
        for sheet, begins, ends in self._in_force(rows, since, until):
            for due in due_times(sheet, begins, ends):
                over = due < ends and window_of(sheet, due)[1] < now
                if over and due.astimezone(UTC) not in had:
                    found.append(self._not_done(sheet, due))
        return tuple(sorted(found, key=lambda one: (one.due.astimezone(UTC), one.sitting)))

    def _in_force(
        self, rows: Sequence[SittingRow], since: datetime, until: datetime
    ) -> Iterator[tuple[OrderSheet, datetime, datetime]]:
        """Yield which order sheet was in force from when to when, as far as the record tells."""
        earlier = self._journal.due_before(self._sheet_id, since)
        starts = [(since, earlier.sheet_hash)] if earlier else []
        starts += [(row.due, row.sheet_hash) for row in rows]
        changes = [one for n, one in enumerate(starts) if not n or starts[n - 1][1] != one[1]]
        known = [(self.sheet(sha256), at) for at, sha256 in changes]
        current = self._opening.sheet
        if known and known[-1][0] != current:
            new = day_starts(current.sheet.date, ZoneInfo(current.time_zone))
            known.append((current, max(new, known[-1][1])))
        ends = [*(at for _, at in known[1:]), until]
        for (sheet, at), end in zip(known, ends, strict=False):
            if at < end and at < until:
                yield sheet, at, min(end, until)

    @property
    def _sheet_id(self) -> str:
        return self._opening.sheet.sheet.id

    def of(self, row: SittingRow) -> DoseRecord:
        """Return the record of the dose *row*, with what people added to it.

        Where its steps cannot be followed any more, its status is ``unknown``, and what only
        they tell is left out.
        """
        blank = self._blank(row)
        try:
            record = self._folded(row, blank)
        except fold.UNREADABLE:
            record = blank
        return self._with_corrections(record, row)

    def _at_a_glance(self, row: SittingRow) -> DoseRecord:
        return self._with_corrections(replace(self._blank(row), status="completed"), row)

    def site_answers(self, record: DoseRecord) -> tuple[str, ...]:
        """Return what could be answered at the last look at the site of *record*, as hoped first.

        None where there was no look.
        """
        rows = self._journal.due_between(record.sheet, record.due, record.due + _MOMENT)
        row = next((one for one in rows if one.id == record.sitting), None)
        look = site_look(record)
        return self._answers(row, look.step) if row and look else ()

    def _answers(self, row: SittingRow, step: str) -> tuple[str, ...]:
        dose, _ = self._opening.history(row)
        asked = (*dose.procedure.steps, *dose.procedure.responses)
        found = next(one for one in asked if one.id == step and isinstance(one.ask, Question))
        return tuple(outcome.says for outcome in found.outcomes)

    def _blank(self, row: SittingRow) -> DoseRecord:
        sheet = self.sheet(row.sheet_hash)
        people = self._book.last(People, sitting_id=row.id)
        lot = self._book.last(Lot, sitting_id=row.id)
        return replace(
            _of_sheet(sheet, row.due, f"{row.sheet_id}.{row.id}"),
            sitting=row.id,
            sheet_hash=row.sheet_hash,
            chain=self._journal.last_link(row.id),
            begun=row.begun.at,
            ended=row.ended_at,
            gave=people.gave if people else "",
            pressed=people.pressed if people else "",
            lot=lot.lot if lot else "",
            reasons=self._reasons(row.due),
        )

    def _folded(self, row: SittingRow, blank: DoseRecord) -> DoseRecord:
        dose, moments = self._opening.history(row)
        sheet = self.sheet(row.sheet_hash)
        typed = tuple(fold.typed_in(dose, moments))
        flow, pauses = fold.flow_in(dose, moments)
        # A dose that was stopped gave what was read off, or nobody knows how much.
        over = row.ended == "finished"
        given, left = fold.given_of(sheet, flow, typed, bool(row.ended), over)
        answers = self._book.every(Answer, sitting_id=row.id)
        dated = [one.discard for one in typed if one.discard is not None]
        return replace(
            blank,
            status=_status(row, flow, pauses),
            flow=flow,
            pauses=pauses,
            given=given,
            left=left,
            discard=dated[-1] if dated else None,
            pushes=tuple(fold.pushes_in(dose, sheet, moments)),
            looks=tuple(fold.looks_in(moments)),
            typed=typed,
            told=tuple(fold.told_in(dose, moments)),
            calls=tuple(fold.calls_in(dose, moments, answers)),
            notes=tuple(fold.notes_in(moments)),
        )

    def sheet(self, sha256: str) -> OrderSheet:
        """Return the order sheet under *sha256*; the one that is open where it cannot be read."""
        if sha256 not in self._sheets:
            raw = self._journal.source(sha256)
            try:
                self._sheets[sha256] = sheet_from_bytes(raw, "the order sheet of this dose")
            except FileProblems:
                self._sheets[sha256] = self._opening.sheet
        return self._sheets[sha256]

    def _with_corrections(self, record: DoseRecord, row: SittingRow) -> DoseRecord:
        rows = self._book.every(Correction, sitting_id=record.sitting)
        if not rows:
            return record
        right = _put_right(record, _changed(rows))
        return _marked(self._seen(right, row), _as_given(right))

    def _seen(self, record: DoseRecord, row: SittingRow) -> DoseRecord:
        """Return *record* with its last look at the site as it was put right, if it was."""
        look, says = site_look(record), [c.says for c in record.corrections if c.field == "site"]
        if not says or look is None:
            return record
        hoped = says[-1] == self._answers(row, look.step)[0]
        other = replace(look, says=says[-1], hoped=hoped)
        looks = tuple(other if one is look else one for one in record.looks)
        return replace(record, looks=looks)

    def _reasons(self, due: datetime) -> tuple[Why, ...]:
        rows = self._book.every(Reason, sheet_id=self._sheet_id, due_utc=due)
        return tuple(Why(one.at, one.kind, one.words, one.who) for one in rows)

    def _not_done(self, sheet: OrderSheet, due: datetime) -> DoseRecord:
        record = _of_sheet(sheet, due, _id(self._sheet_id, due))
        nothing = Quantity(Decimal(0), "mL")
        return replace(record, status="not-done", given=nothing, reasons=self._reasons(due))

    def _from_paper(self, row: OnPaper) -> DoseRecord:
        sheet = self.sheet(row.sheet_hash)
        record = replace(
            _of_sheet(sheet, row.due, _id(row.sheet_id, row.due)),
            sheet_hash=row.sheet_hash,
            status="completed",
            begun=row.begun,
            flow=Span(row.begun, row.ended),
            ended=row.ended,
            given=Quantity(Decimal(row.given), "mL") if row.given else None,
            gave=row.gave,
            pressed=row.pressed,
            reasons=self._reasons(row.due),
            from_paper=True,
        )
        right = _put_right(record, _changed(self._book.every(PaperCorrection, paper_id=row.id)))
        # There was no first step on a screen: it was begun and over with the medicine.
        if right.flow is not None:
            right = replace(right, begun=right.flow.since, ended=right.flow.until)
        return _marked(right, _from_volume(right))


def site_look(record: DoseRecord) -> Look | None:
    """Return the last look at the site of *record*; None where there was none."""
    return next((look for look in reversed(record.looks) if look.of == "site"), None)


def _changed(rows: Iterable[Correction | PaperCorrection]) -> tuple[Changed, ...]:
    return tuple(Changed(c.at, c.field, c.said, c.says, c.who, c.why) for c in rows)


def _marked(record: DoseRecord, status: str) -> DoseRecord:
    """Return *record* with its *status*, unless it was entered in error."""
    wrong = any(one.field == "status" and one.says == IN_ERROR for one in record.corrections)
    return replace(record, status=IN_ERROR if wrong else status)


def _as_given(record: DoseRecord) -> str:
    """Return how *record*, which the coach led, stands once its volume may have been put right.

    How it ended was told at the table, and stays. Only whether any of it had begun to go in at
    all is told by the volume.
    """
    put_right = any(one.field == "given" for one in record.corrections)
    if record.given is None or not put_right:
        return record.status
    if record.status in ("completed", "stopped") and not record.given.amount:
        return "not-done"
    return "stopped" if record.status == "not-done" and record.given.amount else record.status


def _from_volume(record: DoseRecord) -> str:
    """Return how *record*, from paper, stands: nobody told how it ended, so the volume tells."""
    if record.given is None:
        return "unknown"
    if not record.given.amount:
        return "not-done"
    return "completed" if record.all_in else "stopped"


def _put_right(record: DoseRecord, changed: tuple[Changed, ...]) -> DoseRecord:
    """Return *record* with the fields that were *changed*, the newest last.

    How it stands, and what was seen, are left to whoever knows more than the record.
    """
    record = replace(record, corrections=changed)
    for one in changed:
        if one.field == "given":
            record = replace(record, given=Quantity(Decimal(one.says), "mL"))
        elif one.field == "lot":
            record = replace(record, lot=one.says)
        elif one.field == "gave":
            record = replace(record, gave=one.says)
        elif one.field == "pressed":
            record = replace(record, pressed=one.says)
        elif record.flow is not None and one.field == "started":
            since = datetime.fromisoformat(one.says)
            record = replace(record, flow=Span(since, record.flow.until))
        elif record.flow is not None and one.field == "over":
            until = datetime.fromisoformat(one.says)
            record = replace(record, flow=Span(record.flow.since, until))
    return record


def _status(row: SittingRow, flow: Span | None, pauses: tuple[Span, ...]) -> str:
    if row.ended == "finished":
        return "completed"
    if row.ended:
        # FHIR R5: ended before it had any effect on the person.
        return "stopped" if flow is not None else "not-done"
    held = bool(pauses) and pauses[-1].until is None
    return "on-hold" if held else "in-progress"


def _is_plain(row: SittingRow) -> bool:
    """Tell whether the row alone says how the dose stands."""
    return row.ended == "finished"


def _id(sheet_id: str, due: datetime) -> str:
    return f"{sheet_id}.{due.astimezone(UTC):%Y%m%dT%H%MZ}"


def _of_sheet(sheet: OrderSheet, due: datetime, name: str) -> DoseRecord:
    """Return the record of a dose of which nothing is known but its order."""
    opens, closes = window_of(sheet, due)
    return DoseRecord(
        id=name,
        sitting=0,
        sheet=sheet.sheet.id,
        sheet_hash="",
        chain="",
        person=sheet.person.initials,
        status="unknown",
        medicine=sheet.medicine.name,
        dose=sheet.medicine.dose,
        strength=sheet.medicine.strength,
        volume=sheet.medicine.volume,
        rate=sheet.medicine.rate,
        left_when_done=sheet.pump.left_when_done,
        due=due,
        window=Span(opens, closes),
        begun=None,
        flow=None,
        pauses=(),
        ended=None,
        given=None,
        left=None,
        lot="",
        discard=None,
        gave="",
        pressed="",
    )
