"""What can be written down beside a dose, a question at a time, for every front end.

Owns what is asked for each entry, what an answer must be, and the row that is kept. It must never
change what was kept before.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from decimal import Decimal

import msgspec

from coach.errors import EngineError, OrderError
from coach.journal.records import Answer, Asked, Called, Correction, OnPaper, Reason
from coach.orders.quantities import in_unit
from coach.orders.values import parse_discard
from coach.procedure.model import Stop
from coach.records.book import IN_ERROR
from coach.records.model import DoseRecord
from coach.records.shelf import Shelf
from coach.records.spoken import TIMES
from coach.says import doses as words
from coach.sitting.sitting import Sitting

Check = Callable[[str, Mapping[str, str]], None]
"""Takes what was typed, and what was answered before. Raises OrderError, saying what is wanted."""

CORRECTED = ("given", "gave", "pressed", "lot")
"""What a correction can be of."""
_NUMBER = re.compile(r"\d{1,5}(\.\d{1,3})?")
_KINDS = {"late": "late", "early": "early", "not": "not-done", "not given": "not-done"}
_YES = {"yes": True, "y": True, "no": False, "n": False}


class Question(msgspec.Struct, frozen=True):
    """One thing that is asked for."""

    name: str
    asks: str
    """In words; may name what was answered before, in braces."""
    check: Check


class Form(msgspec.Struct, frozen=True):
    """One entry that can be written down."""

    name: str
    questions: tuple[Question, ...]
    keep: Callable[[Mapping[str, str]], str]
    """Keeps the answers, by name, and returns what to say. Raises JournalError."""

    @property
    def says(self) -> str:
        """What it is, in words."""
        return words.FORMS[self.name]

    def ask(self, number: int, answers: Mapping[str, str]) -> str:
        """Return what is asked at the question *number*, from 0."""
        asks = self.questions[number].asks
        return asks.replace("{words}", answers["words"]) if "words" in answers else asks


def _something(typed: str, _: Mapping[str, str]) -> None:
    if not typed:
        raise OrderError(words.NEEDED)


def _one_of(known: Mapping[str, object], refused: str) -> Check:
    def check(typed: str, _: Mapping[str, str]) -> None:
        if typed.casefold() not in known:
            raise OrderError(refused)

    return check


def _asked(name: str, check: Check = _something, asks: str = "") -> Question:
    return Question(name, words.ASKS[asks or name], check)


def forms_of(shelf: Shelf, record: DoseRecord | None) -> tuple[Form, ...]:
    """Return what can be written down; of the dose *record* where there is one."""
    if record is None:
        return (_question(shelf), _visit(shelf), _paper(shelf, None))
    begun = record.sitting > 0
    never = record.status == "not-done" and not begun and not record.from_paper
    return (
        _reason(shelf, record),
        *((_correct(shelf, record, name) for name in CORRECTED) if begun else ()),
        *((_error(shelf, record),) if begun else ()),
        *((_time(shelf, record, name) for name in TIMES) if begun and _has_gone_in(record) else ()),
        *((_paper(shelf, record.due),) if never else ()),
    )


def _question(shelf: Shelf) -> Form:
    def keep(typed: Mapping[str, str]) -> str:
        sheet = shelf.desk.sheet.sheet.id
        row = Asked(at=shelf.now(), sheet_id=sheet, words=typed["question"])
        shelf.desk.journal.records.keep(row)
        return words.KEPT

    return Form("question", (_asked("question"),), keep)


def _visit(shelf: Shelf) -> Form:
    def keep(typed: Mapping[str, str]) -> str:
        sheet = shelf.desk.sheet.sheet.id
        shelf.desk.journal.records.keep(
            Called(at=shelf.now(), sheet_id=sheet, nurse=typed["nurse"])
        )
        return words.KEPT

    return Form("visit", (_asked("nurse"),), keep)


def _reason(shelf: Shelf, record: DoseRecord) -> Form:
    known = "not-done" if record.status in ("not-done", "stopped") else record.timing
    asked = () if known in _KINDS.values() else (_asked("kind", _one_of(_KINDS, words.NOT_A_KIND)),)

    def keep(typed: Mapping[str, str]) -> str:
        kind = _KINDS[typed["kind"].casefold()] if asked else known
        row = Reason(
            at=shelf.now(),
            sheet_id=record.sheet,
            due_utc=record.due,
            kind=kind,
            words=typed["reason"],
            who=typed["who"],
        )
        shelf.desk.journal.records.keep(row)
        return words.KEPT

    return Form("reason", (*asked, _asked("reason"), _asked("who")), keep)


def said_now(record: DoseRecord, name: str) -> str:
    """Return what the field *name* of *record* says, as a correction keeps it."""
    if name == "given":
        return f"{in_unit(record.given, 'mL').amount}" if record.given else ""
    if name in TIMES:
        at = record.flow and (record.flow.since if name == "started" else record.flow.until)
        return at.isoformat() if at else ""
    found: str = getattr(record, name)
    return found


def _has_gone_in(record: DoseRecord) -> bool:
    """Tell whether the medicine was started and is over, so that there are two times."""
    return record.flow is not None and record.flow.until is not None


def _correct(shelf: Shelf, record: DoseRecord, name: str) -> Form:
    check = _at_most(record) if name == "given" else _something

    def keep(typed: Mapping[str, str]) -> str:
        return _put_right(shelf, record, name, typed[name], typed)

    return Form(name, (_asked(name, check), _asked("who"), _asked("why")), keep)


def _time(shelf: Shelf, record: DoseRecord, name: str) -> Form:
    def at(typed: str) -> datetime:
        return parse_discard(typed, shelf.zone).astimezone(shelf.zone)

    def check(typed: str, _: Mapping[str, str]) -> None:
        found, flow = at(typed), record.flow
        if found > shelf.now():
            raise OrderError(words.NOT_PAST)
        assert flow is not None
        assert flow.until is not None
        if name == "over" and found <= max((flow.since, *(one.since for one in record.pauses))):
            raise OrderError(words.ENDS_BEFORE)
        if name == "started" and found >= min((flow.until, *(one.since for one in record.pauses))):
            raise OrderError(words.STARTS_AFTER)

    def keep(typed: Mapping[str, str]) -> str:
        return _put_right(shelf, record, name, at(typed[name]).isoformat(), typed)

    return Form(name, (_asked(name, check), _asked("who"), _asked("why")), keep)


def _error(shelf: Shelf, record: DoseRecord) -> Form:
    def keep(typed: Mapping[str, str]) -> str:
        return _put_right(shelf, record, "status", IN_ERROR, typed)

    return Form("error", (_asked("who"), _asked("why")), keep)


def _put_right(
    shelf: Shelf, record: DoseRecord, field: str, says: str, typed: Mapping[str, str]
) -> str:
    row = Correction(
        at=shelf.now(),
        sitting_id=record.sitting,
        field=field,
        said=said_now(record, field),
        says=says,
        who=typed["who"],
        why=typed["why"],
    )
    shelf.desk.journal.records.keep(row)
    return words.KEPT


def _at_most(record: DoseRecord) -> Check:
    volume = in_unit(record.volume, "mL").amount

    def check(typed: str, _: Mapping[str, str]) -> None:
        _number(typed, volume)

    return check


def _number(typed: str, most: Decimal) -> None:
    if not _NUMBER.fullmatch(typed):
        raise OrderError(words.NOT_A_NUMBER)
    if Decimal(typed) > most:
        raise OrderError(words.TOO_MUCH)


# A dose that was done on paper


def _paper(shelf: Shelf, due: datetime | None) -> Form:
    zone, sheet = shelf.zone, shelf.desk.sheet
    most = in_unit(sheet.medicine.volume, "mL").amount

    def at(typed: str) -> datetime:
        return parse_discard(typed, zone).astimezone(zone)

    def was_due(typed: str, _: Mapping[str, str]) -> None:
        if not shelf.due_then(at(typed)):
            raise OrderError(words.NOT_DUE)

    def past(typed: str, _: Mapping[str, str]) -> None:
        if at(typed) > shelf.now():
            raise OrderError(words.NOT_PAST)

    def after(typed: str, before: Mapping[str, str]) -> None:
        past(typed, before)
        if at(typed) <= at(before["begun"]):
            raise OrderError(words.ENDS_BEFORE)

    def amount(typed: str, _: Mapping[str, str]) -> None:
        if typed:
            _number(typed, most)

    def keep(typed: Mapping[str, str]) -> str:
        when = due or at(typed["due"])
        _keep_paper(shelf, when, at(typed["begun"]), at(typed["ended"]), typed)
        return words.KEPT

    asked = (
        *(() if due else (_asked("due", was_due),)),
        _asked("begun", past),
        _asked("ended", after),
        _asked("amount", amount),
        _asked("gave"),
        _asked("writes"),
    )
    return Form("paper", asked, keep)


def _keep_paper(
    shelf: Shelf, due: datetime, begun: datetime, ended: datetime, typed: Mapping[str, str]
) -> None:
    desk = shelf.desk
    sheet_hash, procedure_hash = shelf.opening.keep_sources()
    stands = desk.journal.stock.stands()
    desk.journal.records.keep(
        OnPaper(
            at=shelf.now(),
            sheet_id=desk.sheet.sheet.id,
            sheet_hash=sheet_hash,
            due=due,
            due_utc=due,
            begun=begun,
            ended=ended,
            given=typed["amount"],
            gave=typed["gave"],
            pressed=typed["writes"],
            words="",
            procedure_hash=procedure_hash,
            sitting_id=stands.sitting,
            seq=stands.seq,
        )
    )


# What was said on a call


class Call(msgspec.Struct, frozen=True):
    """The stop that somebody is called for, as its answer is kept with it."""

    step: str
    since: int
    """The last event before which no answer is to this call."""
    seq: int
    """The last event before the answer to the stop itself."""


def call_of(sitting: Sitting) -> Call | None:
    """Return the call of the stop to do now, or of the one that the dose ended with."""
    moments = sitting.moments
    if sitting.over:
        last = moments[-1]
        if last.step is None or last.event is None or not isinstance(last.step.ask, Stop):
            return None
        step, seq, before = last.step, last.event.seq - 1, moments[:-1]
    else:
        step, before = sitting.step(), moments
        seq = moments[-1].event.seq if moments[-1].event else 0
        if not isinstance(step.ask, Stop):
            return None
    same = (m.event.seq for m in before if m.event and m.step and m.step.id == step.id)
    return Call(step.id, max(same, default=0), seq)


def answer_to(sitting: Sitting) -> Answer | None:
    """Return what was written down last of the call of now. Raises JournalError."""
    call = call_of(sitting)
    if call is None:
        return None
    book = sitting.journal.records
    found = book.last(Answer, sitting_id=sitting.row.id, step=call.step)
    return found if found and found.seq >= call.since else None


def needs_answer(sitting: Sitting, picked: str) -> bool:
    """Tell whether *picked* goes on from a stop, and nobody's word for it is written down yet.

    A word that was not read back is none. Raises JournalError.
    """
    if sitting.over or call_of(sitting) is None:
        return False
    goes_on = any(one.name == picked and not one.ends for one in sitting.step().outcomes)
    found = answer_to(sitting) if goes_on else None
    return goes_on and not (found and found.read_back)


def answer_form(sitting: Sitting) -> Form:
    """Return the form for what was said on the call of now. Raises EngineError if there is none."""
    call = call_of(sitting)
    if call is None:
        raise EngineError(words.NO_CALL)

    def keep(typed: Mapping[str, str]) -> str:
        back = _YES[typed["back"].casefold()]
        row = Answer(
            at=sitting.clock.now().at,
            sitting_id=sitting.row.id,
            seq=call.seq,
            step=call.step,
            who=typed["caller"],
            words=typed["words"],
            read_back=back,
        )
        sitting.journal.records.keep(row)
        return words.KEPT if back else words.NOT_THE_SAME

    back = _one_of(_YES, words.NOT_YES_NO)
    return Form("answer", (_asked("words"), _asked("caller"), _asked("back", back)), keep)
