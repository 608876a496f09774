"""The visit report: what happened since the nurse was there last, in lines of text.

Owns what stands in it and in which order: trouble first. It must never leave out a dose, and
never say what to do about one.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, tzinfo

import msgspec

from coach.orders.quantities import shown
from coach.orders.sheet import OrderSheet
from coach.records.model import DoseRecord, Told
from coach.records.spoken import correction_in_words, status_in_words
from coach.records.trends import IN_FULL, Trends, minutes_late, trends_of
from coach.says import report as words
from coach.sitting.times import day_and_time, day_in_full

COLUMNS = 80
"""Characters in a line, as a chart takes them."""
MOST_DOSES = 30
"""How many doses are told one by one; of more, those with nothing to say are only counted."""
HANG = "  "


class Beside(msgspec.Struct, frozen=True):
    """What a visit report takes from other parts of the coach."""

    competence: tuple[str, ...]
    supplies: tuple[str, ...]
    questions: tuple[tuple[datetime, str], ...]


def visit_lines(
    sheet: OrderSheet,
    records: Sequence[DoseRecord],
    since: datetime,
    until: datetime,
    beside: Beside,
    zone: tzinfo,
) -> tuple[str, ...]:
    """Return the report of *records*, which were due from *since* to *until*, times in *zone*."""
    lines = [*_head(sheet, since, until, zone)]
    parts = (
        (words.TROUBLES, _troubles(records, zone)),
        (words.DOSES, _doses(records, trends_of(records, zone), zone)),
        (words.WEEKS, _weeks(records, zone)),
        (words.COMPETENCE, iter(beside.competence)),
        (words.SUPPLIES, iter(beside.supplies)),
        (words.QUESTIONS, _questions(beside.questions, zone)),
    )
    for title, told in parts:
        found = list(told)
        if found:
            lines += ["", title, *(words.ITEM.format(text=text) for text in found)]
    return tuple(row for line in lines for row in _wrapped(line))


def _wrapped(line: str) -> list[str]:
    return textwrap.wrap(line, COLUMNS, subsequent_indent=HANG) or [""]


def _head(sheet: OrderSheet, since: datetime, until: datetime, zone: tzinfo) -> Iterator[str]:
    yield words.TITLE.format(person=sheet.person.initials, sheet=sheet.sheet.id)
    yield words.FROM_TO.format(since=_full(since, zone), until=_full(until, zone))
    ordered = sheet.medicine
    yield words.ORDER.format(
        medicine=ordered.name,
        dose=shown(ordered.dose),
        volume=shown(ordered.volume),
        rate=shown(ordered.rate),
    )


def _full(at: datetime, zone: tzinfo) -> str:
    return f"{day_in_full(at, zone)}, {at.astimezone(zone):%H:%M}"


def _troubles(records: Iterable[DoseRecord], zone: tzinfo) -> Iterator[str]:
    """Yield what was told, called and typed otherwise than ordered, in order of time."""
    found: list[tuple[datetime, str]] = []
    for record in records:
        found += ((one.at, _told(one, zone)) for one in record.told)
        found += ((at, text) for at, text in _calls(record, zone))
        for typed in record.typed:
            if not typed.agreed:
                when = day_and_time(typed.at, zone)
                asks = typed.asks.rstrip(".:")
                text = words.DISAGREED.format(when=when, typed=typed.typed, asks=asks)
                found.append((typed.at, text))
    yield from (text for _, text in sorted(found, key=lambda one: one[0].astimezone(UTC)))
    if not found:
        yield words.NO_TROUBLES


def _told(one: Told, zone: tzinfo) -> str:
    said = words.TOLD.format(when=day_and_time(one.at, zone), title=one.title.rstrip("."))
    return f"{said} {words.THEN.format(steps='; '.join(one.then))}" if one.then else said


def _calls(record: DoseRecord, zone: tzinfo) -> Iterator[tuple[datetime, str]]:
    for one in record.calls:
        answer = words.ANSWERED.format(who=one.who, words=one.words)
        yield (
            one.at,
            words.CALLED.format(
                when=day_and_time(one.at, zone),
                title=one.title.rstrip("."),
                call=one.call,
                says=answer if one.words else words.NO_ANSWER,
            ),
        )


def _doses(records: Sequence[DoseRecord], trends: Trends, zone: tzinfo) -> Iterator[str]:
    if not records:
        yield words.NO_DOSES
        return
    yield words.COUNTED.format(
        due=trends.due, given=trends.given, stopped=trends.stopped, not_done=trends.not_done
    )
    if trends.short:
        yield words.SHORT_COUNTED.format(short=trends.short)
    if trends.going:
        yield words.GOING.format(going=trends.going)
    told = [one for one in records if len(records) <= MOST_DOSES or not _is_plain(one)]
    for one in told:
        yield " ".join((_dose(one, zone), *_remarks(one, zone)))
    if len(told) < len(records):
        yield words.AND_MORE.format(number=len(records) - len(told))


def _is_plain(one: DoseRecord) -> bool:
    """Tell whether there is nothing to say of a dose but that it was given."""
    said = one.told or one.calls or one.notes or one.reasons or one.corrections
    return one.status == IN_FULL and one.timing == "in-time" and not said and not one.from_paper


def _dose(one: DoseRecord, zone: tzinfo) -> str:
    minutes = minutes_late(one)
    late = ""
    if minutes:
        text = words.LATE if minutes > 0 else words.EARLY
        late = text.format(minutes=abs(minutes))
    given = (
        words.GIVEN.format(given=shown(one.given), volume=shown(one.volume)) if one.given else ""
    )
    return words.DOSE.format(
        due=day_and_time(one.due, zone),
        status=status_in_words(one) + (words.PAPER if one.from_paper else ""),
        late=late,
        given=given,
        by=words.BY.format(gave=one.gave) if one.gave else "",
    )


def _remarks(one: DoseRecord, zone: tzinfo) -> Iterator[str]:
    """Yield why a dose went as it did, what was corrected, and the notes kept with it."""
    for why in one.reasons:
        kind = words.STATUS.get(why.kind, why.kind)
        yield words.REASON.format(kind=kind, words=why.words, who=why.who)
    told = one.reasons or one.calls or any(changed.field == "given" for changed in one.corrections)
    if one.status in ("stopped", "not-done") and not told:
        yield words.NO_REASON
    for changed in one.corrections:
        field, said, says = correction_in_words(changed, zone)
        yield words.CORRECTED.format(
            who=changed.who, day=day_in_full(changed.at, zone), field=field, said=said, says=says,
            why=changed.why,
        )  # fmt: skip
    for note in one.notes:
        yield words.NOTE.format(words=note.words)


def _weeks(records: Sequence[DoseRecord], zone: tzinfo) -> Iterator[str]:
    for week in trends_of(records, zone).weeks:
        at = datetime.combine(week.monday, datetime.min.time(), zone)
        yield words.WEEK.format(
            monday=day_in_full(at, zone),
            doses=week.doses,
            resisted=week.resisted,
            spoiled=week.spoiled,
        )


def _questions(questions: Sequence[tuple[datetime, str]], zone: tzinfo) -> Iterator[str]:
    for at, asked in questions:
        yield words.ASKED.format(when=day_and_time(at, zone), words=asked)
    if not questions:
        yield words.NO_QUESTIONS
