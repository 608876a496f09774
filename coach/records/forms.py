"""What can be written down beside a dose, a question at a time, for every front end.

Owns what is asked for each entry but a correction, and the row that is kept. It must never
change what was kept before.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import msgspec

from coach.errors import EngineError, OrderError
from coach.journal.records import Answer, Asked, Called, OnPaper, Reason
from coach.orders.quantities import in_unit
from coach.orders.sheet import OrderSheet
from coach.orders.values import parse_discard
from coach.procedure.model import Stop
from coach.records.fitting import see_over, see_started
from coach.records.model import DoseRecord
from coach.records.put_right import corrections_of
from coach.records.questions import Check, Form, asking, one_of, see_number
from coach.records.shelf import Shelf
from coach.says import doses as words
from coach.sitting.sitting import Sitting

_KINDS = {"late": "late", "early": "early", "not": "not-done", "not given": "not-done"}
_YES = {"yes": True, "y": True, "no": False, "n": False}


def forms_of(shelf: Shelf, record: DoseRecord | None) -> tuple[Form, ...]:
    """Return what can be written down; of the dose *record* where there is one."""
    if record is None:
        return (_question(shelf), _visit(shelf), _paper(shelf, None))
    begun = record.sitting > 0 or record.from_paper
    never = record.status == "not-done" and not begun
    return (
        _reason(shelf, record),
        *(corrections_of(shelf, record) if begun else ()),
        *((_paper(shelf, record.due),) if never else ()),
    )


def _question(shelf: Shelf) -> Form:
    def keep(typed: Mapping[str, str]) -> str:
        sheet = shelf.desk.sheet.sheet.id
        row = Asked(at=shelf.now(), sheet_id=sheet, words=typed["question"])
        shelf.desk.journal.records.keep(row)
        return words.KEPT

    return Form("question", (asking("question"),), keep)


def _visit(shelf: Shelf) -> Form:
    def keep(typed: Mapping[str, str]) -> str:
        sheet = shelf.desk.sheet.sheet.id
        shelf.desk.journal.records.keep(
            Called(at=shelf.now(), sheet_id=sheet, nurse=typed["nurse"])
        )
        return words.KEPT

    return Form("visit", (asking("nurse"),), keep)


def _reason(shelf: Shelf, record: DoseRecord) -> Form:
    known = "not-done" if record.status in ("not-done", "stopped") else record.timing
    asked = () if known in _KINDS.values() else (asking("kind", one_of(_KINDS, words.NOT_A_KIND)),)

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

    return Form("reason", (*asked, asking("reason"), asking("who")), keep)


# A dose that was done on paper


def _paper(shelf: Shelf, due: datetime | None) -> Form:
    zone, sheet = shelf.zone, shelf.desk.sheet

    def at(typed: str) -> datetime:
        return parse_discard(typed, zone).astimezone(zone)

    def was_due(typed: str, _: Mapping[str, str]) -> None:
        if not shelf.due_then(at(typed)):
            raise OrderError(words.NOT_DUE)

    def past(typed: str) -> datetime:
        if at(typed) > shelf.now():
            raise OrderError(words.NOT_PAST)
        return at(typed)

    def begun(typed: str, before: Mapping[str, str]) -> None:
        see_started(sheet, due or at(before["due"]), past(typed))

    def after(typed: str, before: Mapping[str, str]) -> None:
        over = past(typed)
        if over <= at(before["begun"]):
            raise OrderError(words.ENDS_BEFORE)
        see_over(sheet, due or at(before["due"]), over)

    def keep(typed: Mapping[str, str]) -> str:
        when = due or at(typed["due"])
        _keep_paper(shelf, when, at(typed["begun"]), at(typed["ended"]), typed)
        return words.KEPT

    asked = (
        *(() if due else (asking("due", was_due),)),
        asking("begun", begun),
        asking("ended", after),
        asking("amount", _amount(sheet)),
        asking("gave"),
        asking("writes"),
    )
    return Form("paper", asked, keep)


def _amount(sheet: OrderSheet) -> Check:
    most = in_unit(sheet.medicine.volume, "mL").amount

    def check(typed: str, _: Mapping[str, str]) -> None:
        if typed:
            see_number(typed, most)

    return check


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

    back = one_of(_YES, words.NOT_YES_NO)
    return Form("answer", (asking("words"), asking("caller"), asking("back", back)), keep)
