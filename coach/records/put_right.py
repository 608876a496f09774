"""What can be put right in the record of a dose, whether the coach led it or paper did.

Owns what is asked for each correction, and the row that is kept: what it says now, and what it
said. It must never change what was kept before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime

from coach.errors import OrderError
from coach.journal.records import Correction, OnPaper, PaperCorrection
from coach.orders.quantities import in_unit
from coach.orders.values import parse_discard
from coach.records.book import IN_ERROR, site_look
from coach.records.fitting import see_over, see_started
from coach.records.model import DoseRecord
from coach.records.questions import Check, Form, Question, asking, one_of, see_number, something
from coach.records.shelf import Shelf
from coach.records.spoken import TIMES
from coach.says import doses as words
from coach.sitting.times import day_and_time

CORRECTED = ("given", "gave", "pressed", "lot")
"""What a correction can be of, where it is no time and no look."""


def corrections_of(shelf: Shelf, record: DoseRecord) -> Iterator[Form]:
    """Yield what can be put right in *record*, which was begun here or on paper."""
    over = record.ended is not None
    for name in CORRECTED:
        if over or name != "given":  # how much goes in is told at the table, as long as it runs
            yield _correct(shelf, record, name)
    if over:
        yield _error(shelf, record)
    if record.flow is not None and record.flow.until is not None:
        yield from (_time(shelf, record, name) for name in TIMES)
    answers = shelf.records.site_answers(record)
    if answers:
        yield _site(shelf, record, answers)


def said_now(record: DoseRecord, name: str) -> str:
    """Return what the field *name* of *record* says, as a correction keeps it."""
    if name == "given":
        return f"{in_unit(record.given, 'mL').amount}" if record.given else ""
    if name in TIMES:
        at = record.flow and (record.flow.since if name == "started" else record.flow.until)
        return at.isoformat() if at else ""
    if name == "site":
        look = site_look(record)
        return look.says if look else ""
    found: str = getattr(record, name)
    return found


def _correct(shelf: Shelf, record: DoseRecord, name: str) -> Form:
    check = _at_most(record) if name == "given" else something

    def keep(typed: Mapping[str, str]) -> str:
        return _put_right(shelf, record, name, typed[name], typed)

    return Form(name, (asking(name, check), asking("who"), asking("why")), keep)


def _time(shelf: Shelf, record: DoseRecord, name: str) -> Form:
    def at(typed: str) -> datetime:
        return parse_discard(typed, shelf.zone).astimezone(shelf.zone)

    see = _of_paper(shelf, record, name) if record.from_paper else _led(shelf, record, name)

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
        see(found)

    def keep(typed: Mapping[str, str]) -> str:
        return _put_right(shelf, record, name, at(typed[name]).isoformat(), typed)

    return Form(name, (asking(name, check), asking("who"), asking("why")), keep)


def _of_paper(shelf: Shelf, record: DoseRecord, name: str) -> Callable[[datetime], None]:
    """Return what sees whether a time fits the due time of *record*, which is from paper."""
    sheet = shelf.records.sheet(record.sheet_hash)
    see = see_started if name == "started" else see_over
    return lambda found: see(sheet, record.due, found)


def _led(shelf: Shelf, record: DoseRecord, name: str) -> Callable[[datetime], None]:
    """Return what sees whether a time lies within *record*, which the coach led.

    Times are typed without seconds.
    """

    def see(found: datetime) -> None:
        begun, ended = record.begun, record.ended
        if name == "started" and begun and found < begun.replace(second=0, microsecond=0):
            text, said = words.BEFORE_BEGUN, {"begun": day_and_time(begun, shelf.zone)}
            raise OrderError(text.format(**said))
        if name == "over" and ended and found > ended:
            text, said = words.AFTER_ENDED, {"ended": day_and_time(ended, shelf.zone)}
            raise OrderError(text.format(**said))

    return see


def _site(shelf: Shelf, record: DoseRecord, answers: Sequence[str]) -> Form:
    """Return the form for the last look at the site, which has *answers*."""
    look = site_look(record)
    assert look is not None
    known = {str(number): says for number, says in enumerate(answers, 1)}
    listed = (words.ONE_ANSWER.format(number=n, says=says) for n, says in known.items())
    asks = words.ASKS["site"].format(asks=look.asks, answers=" ".join(listed))
    check = one_of(known, words.NOT_AN_ANSWER.format(most=len(known)))

    def keep(typed: Mapping[str, str]) -> str:
        return _put_right(shelf, record, "site", known[typed["site"]], typed)

    return Form("site", (Question("site", asks, check), asking("who"), asking("why")), keep)


def _error(shelf: Shelf, record: DoseRecord) -> Form:
    def keep(typed: Mapping[str, str]) -> str:
        return _put_right(shelf, record, "status", IN_ERROR, typed)

    return Form("error", (asking("who"), asking("why")), keep)


def _put_right(
    shelf: Shelf, record: DoseRecord, field: str, says: str, typed: Mapping[str, str]
) -> str:
    book, at, said = shelf.desk.journal.records, shelf.now(), said_now(record, field)
    who, why = typed["who"], typed["why"]
    row: Correction | PaperCorrection
    if record.from_paper:
        paper = book.last(OnPaper, sheet_id=record.sheet, due_utc=record.due)
        assert paper is not None
        row = PaperCorrection(
            at=at, paper_id=paper.id, field=field, said=said, says=says, who=who, why=why
        )
    else:
        dose = record.sitting
        row = Correction(
            at=at, sitting_id=dose, field=field, said=said, says=says, who=who, why=why
        )
    book.keep(row)
    return words.KEPT


def _at_most(record: DoseRecord) -> Check:
    volume = in_unit(record.volume, "mL").amount

    def check(typed: str, _: Mapping[str, str]) -> None:
        see_number(typed, volume)

    return check
