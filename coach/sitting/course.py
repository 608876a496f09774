"""The course of a dose under way: when its medicine is in, and by when its bag must be empty.

Owns what is due in one dose, found from its moments and the moment that is handed in. It must
never read the record or say anything in words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

import msgspec

from coach.clock import Instant, seconds_between
from coach.engine import Dose, Moment, ordered_seconds
from coach.orders.going import Run
from coach.orders.schedule import span
from coach.orders.sheet import OrderSheet
from coach.orders.times import Pause, expected_end, finish_by, times_of
from coach.orders.values import parse_discard
from coach.procedure.model import SINCE_DUE, Reading, Wait, Within
from coach.sitting.timing import infusion_of, since_set


class Course(msgspec.Struct, frozen=True):
    """Where a dose under way stands in time; every moment in UTC."""

    closes: datetime | None
    """Until when its medicine may be started; None where somebody said that it may be later."""
    ends: datetime
    """When all of it is in: as it runs, moved by each pause; or if it were started now."""
    started: bool
    """Whether the medicine was started."""
    over: bool
    """Whether all of it is in."""
    finish_by: datetime | None
    """When the bag must be empty; None where nothing is known that limits it."""


def course_of(
    dose: Dose, sheet: OrderSheet, due: datetime, moments: Sequence[Moment], now: Instant
) -> Course:
    """Return where the dose of *sheet* that was *due* then stands at *now*, by its *moments*."""
    wait = infusion_of(dose.procedure)
    begun = _started(moments, wait) if wait is not None else None
    ends = now.at.astimezone(UTC) + span(sheet.medicine.infusion_time)
    if wait is not None and begun is not None:
        takes = timedelta(seconds=ordered_seconds(dose, wait))
        at = _at(moments[begun], now)
        ends = expected_end(at, takes, tuple(_pauses(moments[begun:], wait, now)), now.at)
    return Course(
        closes=times_of(sheet, due).closes if _window_counts(dose, moments) else None,
        ends=ends,
        started=begun is not None,
        over=any(one.step is not None and one.step.ask is wait for one in moments),
        finish_by=finish_by(sheet, _taken_out(dose, moments, now), _discard(dose, moments)),
    )


def runs_of(dose: Dose, moments: Sequence[Moment], now: Instant) -> tuple[Run, ...]:
    """Return from when to when the medicine flowed, up to *now*; nothing before it was started."""
    wait = infusion_of(dose.procedure)
    begun = _started(moments, wait) if wait is not None else None
    if wait is None or begun is None:
        return ()
    since, runs = _at(moments[begun], now), list[Run]()
    for pause in _pauses(moments[begun:], wait, now):
        runs.append((since, pause.since))
        if pause.until is None:
            return tuple(runs)
        since = pause.until
    return (*runs, (since, now.at.astimezone(UTC)))


def _window_counts(dose: Dose, moments: Sequence[Moment]) -> bool:
    """Tell whether the steps hold the start against the due time, as the facts are now."""
    facts = moments[-1].state.facts
    return any(
        isinstance(step.ask, Within) and step.ask.since == SINCE_DUE and not facts & step.only_if
        for step in dose.procedure.steps
    )


def _at(moment: Moment, now: Instant) -> datetime:
    """Return when *moment* was, by *now* and the time since: the wall clock may have been set."""
    passed = seconds_between(moment.event.at, now) if moment.event is not None else 0
    return now.at.astimezone(UTC) - timedelta(seconds=passed)


def _started(moments: Sequence[Moment], wait: Wait) -> int | None:
    """Return the place of the moment that started *wait*; None where none did."""
    for place, moment in reversed(tuple(enumerate(moments))):
        sets = moment.outcome.sets if moment.outcome is not None else {}
        if wait.since in sets and not (moment.step is not None and moment.step.ask is wait):
            return place
    return None


def _pauses(moments: Sequence[Moment], wait: Wait, now: Instant) -> Iterator[Pause]:
    """Yield the stretches after the first of *moments* in which *wait* stood still."""
    since, latest = None, _at(moments[0], now)
    for moment in moments:
        latest = max(latest, _at(moment, now))
        stands = bool(moment.state.facts & wait.runs_while)
        if stands and since is None:
            since = latest
        elif not stands and since is not None:
            yield Pause(since, latest)
            since = None
    if since is not None:
        yield Pause(since, None)


def _taken_out(dose: Dose, moments: Sequence[Moment], now: Instant) -> datetime | None:
    """Return when the bag came out: what the steps hold against the longest time out."""
    for step in dose.procedure.steps:
        if isinstance(step.ask, Within) and step.ask.since != SINCE_DUE:
            passed = since_set(moments, *step.ask.since, now)
            if passed is not None:
                return now.at.astimezone(UTC) - timedelta(seconds=passed)
    return None


def _discard(dose: Dose, moments: Sequence[Moment]) -> datetime | None:
    """Return until when the bag may be used, as typed last from its label."""
    for moment in reversed(moments):
        ask = moment.step.ask if moment.step is not None else None
        if isinstance(ask, Reading) and ask.check == "outlasts" and moment.event is not None:
            return parse_discard(moment.event.value, dose.zone)
    return None
