"""One dose and many as lines of text: what happened when, and how it went beside the order.

Owns the drawing and the order in which a dose is told. Pure. What is drawn is said in words
beside it; it must never call a dose good or bad.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta, tzinfo

from coach.orders.quantities import shown
from coach.orders.values import MONTHS
from coach.records.model import CallMade, DoseRecord, Span
from coach.records.spoken import correction_in_words, status_in_words, until_in_words
from coach.records.trends import WEEKS, Week, minutes_late, percent_given, trends_of
from coach.says import doses as words
from coach.says import report as report_words
from coach.sitting.times import clock_time, day_and_time, day_in_words, seconds_in_words

CELLS = 12
"""Letters of a bar or a plot: it fits beside its words in a small window."""
MINUTE = timedelta(minutes=1)


def remark(one: DoseRecord) -> str:
    """Return what stands behind the status of a dose in a list."""
    trouble = any(told.kind == "trouble" for told in one.told) or bool(one.calls)
    soiled = any(told.kind == "spoiled" for told in one.told)
    said = words.WITH_TROUBLE if trouble else words.WITH_SPOILING if soiled else ""
    return said + (words.FROM_PAPER if one.from_paper else "")


def row_of(one: DoseRecord, zone: tzinfo) -> str:
    """Return a dose as one line of a list: its mark, its time, its word."""
    return words.DOSE_ROW.format(
        mark=_mark(one),
        time=clock_time(one.due, zone),
        status=status_in_words(one),
        more=remark(one),
    )


def strip(records: Iterable[DoseRecord], zone: tzinfo) -> str:
    """Return a row of days, the first one first, with a mark for each dose in it."""
    days: dict[str, str] = {}
    for one in sorted(records, key=lambda each: each.due.astimezone(UTC)):
        day = _day(one.due, zone).strip()
        days[day] = days.get(day, "") + _mark(one)
    return "  ".join(words.STRIP_DAY.format(day=day, marks=marks) for day, marks in days.items())


def _mark(one: DoseRecord) -> str:
    return words.MARK_SHORT if one.short else words.MARKS[one.status]


# One dose


def dose_lines(one: DoseRecord, zone: tzinfo) -> Iterator[str]:
    """Yield all that the record of a dose says, but for the drawing."""
    status = status_in_words(one) + remark(one)
    yield words.DOSE_DUE.format(due=day_and_time(one.due, zone), status=status)
    yield from _facts(one, zone)
    yield from _people(one)
    for why in one.reasons:
        text = words.REASON if why.who else words.REASON_BARE
        yield text.format(kind=words.KINDS[why.kind], words=why.words, who=why.who)
    for told in one.told:
        yield words.TOLD.format(time=clock_time(told.at, zone), title=told.title.rstrip("."))
        if told.then:
            yield words.THEN.format(steps="; ".join(told.then))
    for call in one.calls:
        yield from call_lines(call, zone)
    for look in one.looks:
        if look.of == "site":
            time = clock_time(look.at, zone)
            yield words.SITE.format(time=time, asks=look.asks, says=look.says)
    for typed in one.typed:
        yield words.TYPED.format(
            time=clock_time(typed.at, zone),
            typed=typed.typed,
            asks=typed.asks.rstrip(".:"),
            agreed=words.AGREED if typed.agreed else words.NOT_AGREED,
        )
    for note in one.notes:
        yield words.NOTE.format(time=clock_time(note.at, zone), words=note.words)
    yield from _corrections(one, zone)


def _facts(one: DoseRecord, zone: tzinfo) -> Iterator[str]:
    yield words.ORDERED.format(
        medicine=one.medicine,
        dose=shown(one.dose),
        volume=shown(one.volume),
        rate=shown(one.rate),
    )
    if one.begun is not None:
        yield words.WHEN_BEGUN.format(begun=day_and_time(one.begun, zone))
    minutes = minutes_late(one)
    if minutes:
        text = words.WHEN_LATE if minutes > 0 else words.WHEN_EARLY
        yield text.format(minutes=abs(minutes))
    if one.given is not None:
        yield words.GIVEN.format(given=shown(one.given), volume=shown(one.volume))
    elif one.flow is not None:
        under_way = one.status in ("in-progress", "on-hold")
        yield words.GIVEN_LATER if under_way else words.GIVEN_UNKNOWN
    if one.left is not None:
        yield words.LEFT.format(left=shown(one.left))
    if one.discard is not None:
        yield words.BAG.format(discard=until_in_words(one.discard, zone))


def _people(one: DoseRecord) -> Iterator[str]:
    if one.lot:
        yield words.LOT.format(lot=one.lot)
    if one.gave:
        yield words.GAVE.format(gave=one.gave)
    if one.pressed:
        yield words.PRESSED.format(pressed=one.pressed)


def call_lines(call: CallMade, zone: tzinfo) -> Iterator[str]:
    """Yield whom a stop had called, and what was answered."""
    text = words.CALL_EMERGENCY if call.call == "emergency" else words.CALL
    title = call.title.rstrip(".")
    yield text.format(time=clock_time(call.at, zone), call=call.call, title=title)
    if call.words:
        yield words.ANSWER.format(who=call.who, words=call.words)
        yield words.READ_BACK if call.read_back else words.NOT_READ_BACK


def _corrections(one: DoseRecord, zone: tzinfo) -> Iterator[str]:
    for changed in one.corrections:
        field, said, says = correction_in_words(changed, zone)
        yield words.CORRECTED.format(
            time=day_and_time(changed.at, zone),
            who=changed.who,
            field=field,
            said=said,
            says=says,
            why=changed.why,
        )


def time_line_of(one: DoseRecord, zone: tzinfo) -> Iterator[str]:
    """Yield what happened when, a line for each part, with a bar in its place and length."""
    parts = _parts(one)
    if not parts:
        return
    yield words.LINE_HEAD
    since = parts[0][1]
    until = max(end or begin for _, begin, end, _ in parts)
    for kind, begin, end, what in parts:
        bar = _bar(words.BARS[kind], since, until, begin, end or until)
        text = words.LINE_PART
        if end is None:
            text = words.LINE_OPEN
        elif clock_time(begin, zone) == clock_time(end, zone):
            text = words.LINE_AT
        times = {"since": clock_time(begin, zone), "until": clock_time(end or begin, zone)}
        yield text.format(**times, bar=bar, what=what)


def _parts(one: DoseRecord) -> list[tuple[str, datetime, datetime | None, str]]:
    """Return the kind, the beginning, the end (None while it is so) and the words of each part."""
    found: list[tuple[str, datetime, datetime | None, str]] = []
    put_right = one.begun and one.flow and one.flow.since < one.begun
    if one.begun is not None and one.flow is not None and not (one.from_paper or put_right):
        found.append(("warm", one.begun, one.flow.since, words.WHAT["warm"]))
    elif one.begun is not None and one.flow is None:
        found.append(("warm", one.begun, one.ended, words.WHAT["warm"]))
    for push in one.pushes:
        what = words.WHAT[push.kind].format(volume=shown(push.volume))
        found.append((push.kind, push.at, push.at, what))
    for kind, spans in (("flow", _spans(one.flow)), ("paused", one.pauses)):
        found += ((kind, span.since, span.until, words.WHAT[kind]) for span in spans)
    if one.ended is not None:
        found.append(("end", one.ended, one.ended, words.WHAT["end"]))
    return sorted(found, key=lambda part: part[1].astimezone(UTC))


def _spans(flow: Span | None) -> tuple[Span, ...]:
    return (flow,) if flow is not None else ()


def _bar(letter: str, since: datetime, until: datetime, begin: datetime, end: datetime) -> str:
    whole = max((until - since) / MINUTE, 1.0)
    first = min(int((begin - since) / MINUTE / whole * CELLS), CELLS - 1)
    last = min(max(round((end - since) / MINUTE / whole * CELLS), first + 1), CELLS)
    return (" " * first + letter * (last - first)).ljust(CELLS)


def change_lines(one: DoseRecord, before: DoseRecord | None, zone: tzinfo) -> Iterator[str]:
    """Yield what was otherwise in a dose than in the one *before* it."""
    if before is None or one.begun is None:
        return
    found = []
    times = (_minutes(one), _minutes(before))
    if None not in times and times[0] != times[1]:
        found.append(words.CHANGE_TIME.format(minutes=times[0], before=times[1]))
    for what, count in ((words.SOILINGS, _soiled), (words.RESISTED, lambda dose: dose.resisted)):
        now, then = count(one), count(before)
        if now != then:
            found.append(words.CHANGE_COUNT.format(what=what, now=now, before=then))
    if _site(one) != _site(before):
        found.append(words.CHANGE_SITE.format(now=_site(one), before=_site(before)))
    if found:
        yield words.CHANGE_HEAD.format(due=day_and_time(before.due, zone))
        yield from found


def _minutes(one: DoseRecord) -> int | None:
    if one.begun is None or one.ended is None:
        return None
    return int((one.ended - one.begun) // MINUTE)


def _soiled(one: DoseRecord) -> int:
    return sum(told.kind == "spoiled" for told in one.told)


def _site(one: DoseRecord) -> str:
    looks = [look.hoped for look in one.looks if look.of == "site"]
    if not looks:
        return words.NO_LOOK
    return words.WELL if all(looks) else words.NOT_WELL


# How they went


def trend_lines(
    records: Sequence[DoseRecord],
    since: datetime,
    until: datetime,
    weeks: Sequence[Week],
    zone: tzinfo,
    *,
    plain: bool = False,
) -> Iterator[str]:
    """Yield how many of *records* were given and why the rest was not, then the plots.

    They are those that were due from *since* to *until*; the *weeks* go back further. An empty line
    stands before each part but the first. Where it is *plain*, words stand in place of the plots.
    """
    found = trends_of(records, zone)
    yield words.TRENDS_SPAN.format(since=day_in_words(since, zone), until=day_in_words(until, zone))
    percent = found.given * 100 // found.due if found.due else 0
    yield words.ADHERENCE.format(given=found.given, due=found.due, percent=percent)
    if found.rest:
        yield from ("", words.REST_HEAD)
    for one in found.rest:
        found_why = (
            [each.words for each in one.reasons]
            or [call.title.rstrip(".") for call in one.calls]
            or [each.why for each in one.corrections if each.field == "given"]
        )
        why = "; ".join(found_why) or words.NO_REASON
        due = day_and_time(one.due, zone)
        yield words.REST_ROW.format(due=due, status=status_in_words(one), why=why)
    begun = [one for one in records if one.flow is not None]
    yield from _told(begun, weeks, zone) if plain else _plotted(begun, weeks, zone)


def _plotted(begun: Sequence[DoseRecord], weeks: Sequence[Week], zone: tzinfo) -> Iterator[str]:
    if begun:
        yield from ("", words.WINDOW_HEAD)
        yield from (_window(one, zone) for one in begun)
        yield from ("", words.GIVEN_HEAD)
        yield from (_given(one, zone) for one in begun)
    if weeks:
        yield from ("", words.WEEK_HEAD.format(weeks=WEEKS))
        yield from (_week(week) for week in weeks)


def _told(begun: Sequence[DoseRecord], weeks: Sequence[Week], zone: tzinfo) -> Iterator[str]:
    """Yield in words what the plots show: there a column of letters says nothing."""
    if begun:
        yield from ("", words.WINDOW_TOLD_HEAD)
        for one in begun:
            due, says = day_and_time(one.due, zone), words.WINDOW_SAYS[one.timing]
            yield words.WINDOW_TOLD.format(due=due, minutes=_when_started(one), says=says)
        yield from ("", words.GIVEN_HEAD)
        for one in begun:
            due = day_and_time(one.due, zone)
            yield words.GIVEN_TOLD.format(due=due, says=_percent(one))
    if weeks:
        yield from ("", words.WEEK_TOLD_HEAD.format(weeks=WEEKS))
    for week in weeks:
        yield report_words.WEEK.format(
            monday=_day_of(week).strip(),
            doses=week.doses,
            resisted=week.resisted,
            spoiled=week.spoiled,
        )


def _when_started(one: DoseRecord) -> str:
    late = minutes_late(one)
    if not late:
        return words.STARTED_AT
    text = words.STARTED_AFTER if late > 0 else words.STARTED_BEFORE
    return text.format(minutes=seconds_in_words(abs(late) * 60))


def _percent(one: DoseRecord) -> str:
    percent = percent_given(one)
    return words.GIVEN_NOT_KNOWN if percent is None else words.GIVEN_SAYS.format(percent=percent)


def _day_of(week: Week) -> str:
    return f"{week.monday.day:2} {MONTHS[week.monday.month - 1][:3]}"


def _short(at: datetime, zone: tzinfo) -> str:
    return f"{_day(at, zone)} {clock_time(at, zone)}"


def _day(at: datetime, zone: tzinfo) -> str:
    """Return the day of *at* in six letters, its month as a word."""
    local = at.astimezone(zone)
    return f"{local.day:2} {MONTHS[local.month - 1][:3]}"


def _window(one: DoseRecord, zone: tzinfo) -> str:
    """Return the start of a dose within its window; one beyond it stands beyond the bracket."""
    assert one.flow is not None
    closes = one.window.until or one.due
    whole = max((closes - one.window.since) / MINUTE, 1.0)

    def place(at: datetime) -> int:
        return 1 + round((at - one.window.since) / MINUTE / whole * (CELLS - 3))

    row = [" ", *" " * (CELLS - 2), " "]
    row[1], row[CELLS - 2] = "[", "]"
    row[min(max(place(one.due), 1), CELLS - 2)] = "|"
    row[min(max(place(one.flow.since), 0), CELLS - 1)] = "o"
    says = words.WINDOW_SAYS[one.timing]
    return words.WINDOW_ROW.format(due=_short(one.due, zone), plot="".join(row), says=says)


def _given(one: DoseRecord, zone: tzinfo) -> str:
    cells = min((percent_given(one) or 0) * CELLS // 100, CELLS)
    bar = ("#" * cells).ljust(CELLS, ".")
    return words.GIVEN_ROW.format(due=_short(one.due, zone), bar=bar, says=_percent(one))


def _week(week: Week) -> str:
    bar = f"{'r' * week.resisted}{'s' * week.spoiled}"[:CELLS].ljust(CELLS, ".")
    return words.WEEK_ROW.format(
        monday=_day_of(week),
        bar=bar,
        doses=week.doses,
        resisted=week.resisted,
        spoiled=week.spoiled,
    )
