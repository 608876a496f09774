"""What there is to say of the doses and of one step, as whole sentences, one a line.

Owns the order in which a view is told in plain lines. It must never read or write a line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, tzinfo
from typing import TYPE_CHECKING

from coach import words
from coach.orders.quantities import shown
from coach.orders.sheet import SheetInfo
from coach.places import practice_beside
from coach.practice.today import show_again_lines
from coach.says import ahead as ahead_words
from coach.sitting.ahead import (
    MINUTE,
    in_order,
    time_left,
    told,
    unrecorded_line,
    zone_line,
)
from coach.sitting.contacts import Contact
from coach.sitting.desk import Desk, Today
from coach.sitting.further import TOO_LATE, after_it, warning
from coach.sitting.pace import Seen
from coach.sitting.times import clock_time, day_and_time, limit_in_words, seconds_in_words
from coach.sitting.view import Card, Timer, View

if TYPE_CHECKING:
    from coach.sitting.course import Course

HEARD_A_SECOND = 14
"""Letters that a screen reader speaks in a second, at about 150 words a minute (from memory)."""
LONG_MARK = 300
"""Seconds: a long timer speaks each time that so much of it has gone."""
LAST_MARK = 10
"""Seconds before the end at which a timer of twice that or more speaks once more."""
LEAST_MARK = 5
"""Seconds. Nearer to the end a line could not be heard out before the next one comes."""


def contact_lines(contacts: Iterable[Contact]) -> Iterator[str]:
    """Say whom there is to call."""
    for contact in contacts:
        text = words.CONTACT if contact.name else words.CONTACT_BARE
        yield text.format(
            who=contact.who, phone=contact.phone, name=contact.name, hours=contact.hours
        )


def last_stopped(today: Today, zone: tzinfo) -> str:
    """Say when and why the last dose was stopped, and who was called; nothing if it was not."""
    last, stopped = today.last, today.stopped
    if last is None or last.ended_at is None or stopped is None:
        return ""
    time = day_and_time(last.ended_at, zone)
    if not stopped.title:
        return words.LAST_STOPPED_BARE.format(time=time)
    who = words.CALLED[stopped.call]
    return words.LAST_STOPPED.format(time=time, title=stopped.title, who=who)


def today_lines(desk: Desk) -> Iterator[str]:
    """Say what was missed, what is under way or next, and when."""
    today, now, zone = desk.today(), desk.clock.now().at, desk.zone
    further = desk.further(today)
    yield words.TOLD_TODAY.format(time=day_and_time(now, zone))
    yield from filter(None, (zone_line(desk.sheet.time_zone, now, zone),))
    if desk.sheet.demonstration:
        yield words.TOLD_DEMONSTRATION
    yield from filter(None, (last_stopped(today, zone),))
    for missed in today.missed:
        yield words.MISSED.format(time=day_and_time(missed, zone))
    yield from filter(None, (unrecorded_line(today.unrecorded, zone),))
    if today.elsewhere and (today.under_way is not None or today.can_begin):
        yield words.ELSEWHERE
    if today.under_way is not None:
        yield words.TOLD_UNDER_WAY.format(time=day_and_time(today.under_way.begun.at, zone))
        yield from other_sheet_lines(today, desk.sheet.sheet)
    else:
        yield from _next_dose(today, warning(today, None, now), now, zone)
    yield from filter(None, (warning_line(desk, today, further.course, now),))
    yield from show_again_lines(desk, practice_beside(desk.journal.path))
    for entry in in_order(after_it(today, further, now), now, zone):
        yield told(entry, ahead_words.TOLD_AHEAD, now, zone)


def _next_dose(today: Today, warns: str, now: datetime, zone: tzinfo) -> Iterator[str]:
    due, opens, closes = (day_and_time(at, zone) for at in (today.due, today.opens, today.closes))
    if today.take_out < today.due:
        text = words.TOLD_TAKE_OUT if today.take_out > now else words.TAKE_OUT_FIRST
        yield text.format(time=clock_time(today.take_out, zone))
    if warns == TOO_LATE:
        yield words.DUE_CALL.format(time=due)
    elif today.can_begin:
        yield words.TOLD_DUE_NOW.format(time=due, closes=closes)
    else:
        yield words.TOLD_DUE_LATER.format(time=due, opens=opens)


def warning_line(desk: Desk, today: Today, course: Course | None, now: datetime) -> str:
    """Say that the time to start, or the bag's, ends soon or is over; nothing if neither is so."""
    kind, zone = warning(today, course, now), desk.zone
    if not kind:
        return ""
    begin_by, closes, finish_by = today.begin_by, today.closes, None
    if course is not None:
        begin_by = closes = course.closes or now
        finish_by = course.finish_by
    return ahead_words.WARNINGS[kind].format(
        begin_by=clock_time(begin_by, zone),
        closes=clock_time(closes, zone),
        finish_by=limit_in_words(finish_by, zone) if finish_by is not None else "",
        left=time_left(max(begin_by.astimezone(UTC) - now.astimezone(UTC), MINUTE)),
        phone=desk.sheet.contacts.nurse.phone,
        pharmacist=desk.sheet.contacts.pharmacist.phone,
    )


def other_sheet_lines(today: Today, own: SheetInfo) -> Iterator[str]:
    """Say that the dose under way is not by the sheet that is open, where that is so."""
    if (other := today.other_sheet) is not None:
        yield words.OTHER_SHEET.format(
            sheet=other.id, version=other.version, own=own.id, own_version=own.version
        )


def today_prompt(today: Today) -> str:
    """Say what can be typed on the day's first page."""
    if today.elsewhere:
        return words.TYPE_TODAY
    if today.under_way is not None:
        return words.TYPE_GO_ON
    return words.TYPE_START if today.can_begin else words.TYPE_TODAY


def step_lines(view: View, zone: tzinfo, lead_in: int) -> Iterator[str]:
    """Say the step to do now; *lead_in* is the seconds before a hands-busy stretch begins."""
    if view.urgent:
        yield words.TOLD_URGENT.format(part=view.part)
    else:
        yield from _place_lines(view)
    if view.back:
        yield words.AGAIN
    if view.card is not None and view.card.emergency:
        yield words.TOLD_EMERGENCY.format(phone=view.card.contacts[0].phone)
    asked = view.way == "question"  # its words rest on what is to be looked at
    yield f"{view.do} {view.asks}" if asked else view.do
    yield words.WHY.format(why=view.why)
    if view.pump is not None:
        yield words.TOLD_PRESS.format(press=view.pump.press)
        yield words.TOLD_EXPECT.format(expect=view.pump.expect)
    if view.card is not None:
        yield from card_lines(view.card)
    if view.stretch:
        yield from _stretch_lines(view, lead_in)
    if view.given:
        yield words.TOLD_GIVEN.format(given=view.given)
    if view.ends_at is not None and view.way == "wait":
        yield words.TOLD_OVER_AT.format(time=clock_time(view.ends_at, zone))
    if view.asks and not asked:
        yield view.asks
    for number, choice in enumerate(view.choices, 1):
        yield words.TOLD_CHOICE.format(number=number, says=choice.says.rstrip("."))


def _place_lines(view: View) -> Iterator[str]:
    at = view.place
    if at is None:
        return
    if view.urgent:
        yield words.PLACE_LEFT.format(part=at.part, parts=at.parts, step=at.step, steps=at.steps)
    else:
        yield words.TOLD_PLACE.format(
            part=at.part, parts=at.parts, name=view.part, step=at.step, steps=at.steps
        )


def _stretch_lines(view: View, lead_in: int) -> Iterator[str]:
    yield words.TOLD_STRETCH
    for number, move in enumerate(view.stretch, 1):
        yield words.STRETCH_STEP.format(number=number, do=move.do)
    yield words.STRETCH_STOP.format(lead_in=seconds_in_words(lead_in))


def timer_line(view: View, timer: Timer) -> str:
    """Say what to do while *timer* runs; in few words where the whole could not be heard out."""
    left = seconds_in_words(timer.left)
    if timer.kind == "lead-in":
        return words.LEAD_IN.format(left=left)
    if len(view.do) <= HEARD_A_SECOND * timer.total:
        return words.TIMER.format(do=view.do, left=left)
    return words.TIMER_SHORT.format(title=view.title, left=left)


def marks(total: int) -> list[int]:
    """Return the seconds before the end at which a timer speaks, the earliest first."""
    marks = {total // 2, *range(LONG_MARK, total, LONG_MARK)}
    if total >= 2 * LAST_MARK:
        marks.add(LAST_MARK)
    return sorted((mark for mark in marks if mark >= LEAST_MARK), reverse=True)


def prompt(view: View) -> str:
    """Say what can be typed at the step to do now."""
    if view.way == "wait":
        over = view.timer is not None and view.timer.over
        return words.TYPE_OVER if over else words.TYPE_WAIT
    if view.way == "run":
        return words.STRETCH_START if view.stretch else words.TYPE_START_TIMER
    if {choice.name for choice in view.choices} == {"yes", "no"}:
        return words.TYPE_YES_NO
    return {
        "act": words.TYPE_DONE,
        "recheck": words.TYPE_CHECK,
        "reading": words.TYPE_READING,
        "stop": words.TYPE_CALL,
    }.get(view.way, words.TYPE_PICK)


def card_lines(card: Card) -> Iterator[str]:
    """Say what to leave, what to close, whom to call and what to tell them."""
    yield words.CARD_LEAVE.format(leave=card.leave)
    yield words.CARD_CLOSE.format(close=card.close)
    yield from contact_lines(card.contacts)
    for said in (card.situation, card.background, card.assessment, card.request):
        yield words.TOLD_CARD_SAY.format(said=said)


def end_lines(view: View) -> Iterator[str]:
    """Say how the dose ended, and once more whom to call if it was stopped."""
    yield words.FINISHED if view.way == "finished" else words.STOPPED
    if view.card is not None:
        yield from card_lines(view.card)


def where_lines(view: View) -> Iterator[str]:
    """Say where one is in the dose, and how the line is joined up now."""
    if view.urgent:
        yield words.TOLD_URGENT.format(part=view.part)
    yield from _place_lines(view)
    if view.done:
        yield words.DONE_LAST.format(title=view.done)
    if view.title:
        yield words.TOLD_NOW.format(title=view.title)
    if view.following:
        yield words.TOLD_NEXT.format(title=view.following)
    parts = (
        (words.PART_JOINED if part.joined else words.PART_APART).format(
            name=part.name.lower(), word=part.word
        )
        for part in view.picture
    )
    yield words.LINE_NOW.format(parts="; ".join(parts))


def pace_lines(seen: Seen, phone: str) -> tuple[str, ...]:
    """Return what is said of how the medicine goes, the most important first."""
    look = seen.look
    lines = [
        words.PACE_VERDICTS[look.verdict],
        words.PACE_TOLD.format(left=shown(look.left), expected=shown(look.expected)),
        words.PACE_BETWEEN.format(least=shown(look.least), most=shown(look.most)),
    ]
    if seen.off:
        lines.insert(1, words.PACE_CALL)
    elif look.verdict != "as-expected":
        lines.append(words.PACE_AGAIN.format(phone=phone))
    return tuple(lines)
