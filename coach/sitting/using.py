"""What doses use: by the steps of the procedure ahead, and by the events of the record behind.

Pure: a procedure, an order sheet and events come in, numbers of pieces come out. It must never
know what is in stock.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Protocol, TypeVar

import msgspec

from coach.events import Event
from coach.orders.quantities import Quantity
from coach.orders.schedule import span
from coach.orders.sheet import OrderSheet
from coach.orders.supplies import Habit, Use
from coach.orders.values import parse_discard, sheet_choices, sheet_values
from coach.procedure.compose import fits
from coach.procedure.model import Circumstance, Reading, Source
from coach.readings import whole_seconds

ANSWERS = ("done", "answer", "reading")
"""The kinds of events by which a step is done."""


class _OfAKind(Protocol):
    @property
    def kind(self) -> str: ...


Kind = TypeVar("Kind", bound=_OfAKind)
"""Whatever has the kind of an event."""

Pieces = Mapping[str, int]
"""Numbers of pieces, by item; one that is not named is 0."""


class Given(msgspec.Struct, frozen=True):
    """What the record says of all sittings for one due time."""

    due: datetime
    """Aware."""
    used: Pieces
    hoped: Pieces
    """What the last of these sittings would have used, with nothing spoiled."""


class Using(msgspec.Struct, frozen=True):
    """What a dose with some choices asks for."""

    steps: Mapping[str, Pieces]
    """What each step uses each time that it is done, by its id."""
    dated: frozenset[str]
    """The steps at which a discard time is read off."""
    hoped: Pieces
    """What all of it uses with nothing spoiled."""


def using(source: Source, choices: Mapping[str, str]) -> Using:
    """Return what a dose with these *choices* asks for.

    Raises KeyError if a choice that the files ask about is not among *choices*.
    """
    steps = [s for s in (*source.steps, *source.responses) if fits(s.when, choices)]
    return Using(
        steps={step.id: step.uses for step in steps if step.uses},
        dated=frozenset(
            s.id for s in steps if isinstance(s.ask, Reading) and s.ask.check == "outlasts"
        ),
        hoped=hoped_for(source, choices),
    )


def uses_in(asked: Using, sitting: int, events: Iterable[Event], zone: tzinfo) -> tuple[Use, ...]:
    """Return what one dose used: each step's own uses, each time that the step was done.

    *sitting* is the number of the dose in the record. A step that was taken back used nothing, and
    uses its pieces when it is done again. Raises OrderError if a discard time that was read off
    cannot be read again.
    """
    done = [event for event in counted(events) if event.kind in ANSWERS]
    told = frozenset(
        parse_discard(event.value, zone) for event in done if event.step in asked.dated
    )
    return tuple(
        Use(item, number, sitting, event.seq, event.at.at, told)
        for event in done
        for item, number in asked.steps.get(event.step, {}).items()
    )


def counted(events: Iterable[Kind]) -> list[Kind]:
    """Return the events that still count: an undoing takes the last of them back."""
    kept: list[Kind] = []
    for event in events:
        if event.kind != "undone":
            kept.append(event)
        elif kept:
            kept.pop()
    return kept


def in_total(each: Iterable[Pieces]) -> dict[str, int]:
    """Return the sum of *each*, item by item."""
    total: dict[str, int] = {}
    for pieces in each:
        for item, number in pieces.items():
            total[item] = total.get(item, 0) + number
    return total


def hoped_for(source: Source, choices: Mapping[str, str]) -> dict[str, int]:
    """Return what a dose with these *choices* uses with nothing spoiled.

    Raises KeyError if a choice that the files ask about is not among *choices*.
    """
    return in_total(step.uses for step in source.steps if fits(step.when, choices))


def items_of(source: Source, sheet: OrderSheet) -> tuple[str, ...]:
    """Return the items that a dose of *sheet* may ask for, in the order of the steps."""
    choices = {**sheet_choices(sheet), **{c.choice: c.otherwise for c in source.circumstances}}
    return tuple(hoped_for(source, choices))


def planned(
    source: Source,
    sheet: OrderSheet,
    dues: Sequence[datetime],
    since: Mapping[str, datetime] | None = None,
) -> tuple[Pieces, ...]:
    """Return what each of the doses due at *dues* uses with nothing spoiled, by item.

    What a step keeps fresh for some time, such as batteries, is taken to be fresh for as long as
    it surely is, however early or late within its window each dose is begun. *since* tells when
    the step of a circumstance was done last, by the name of its choice; else it is not fresh.
    """
    chosen = sheet_choices(sheet)
    last = dict(since or {})
    lasting = {c.choice: _surely_fresh(c, sheet) for c in source.circumstances if c.within}
    known: dict[tuple[str, ...], Pieces] = {}
    plan = []
    for due in dues:
        for asked in source.circumstances:
            chosen[asked.choice] = asked.otherwise
            if not fits(asked.when, chosen):
                continue
            done = last.get(asked.choice)
            if asked.ended or (done is not None and _passed(done, due) <= lasting[asked.choice]):
                chosen[asked.choice] = asked.fresh
            else:
                last[asked.choice] = due
        key = tuple(chosen.values())
        if key not in known:
            known[key] = hoped_for(source, chosen)
        plan.append(known[key])
    return tuple(plan)


def _passed(earlier: datetime, later: datetime) -> timedelta:
    # In UTC: within one zone Python subtracts the hands of the clock, summer time left out.
    return later.astimezone(UTC) - earlier.astimezone(UTC)


def _surely_fresh(asked: Circumstance, sheet: OrderSheet) -> timedelta:
    """Return the longest time between two due times for which *asked* stays fresh.

    The first dose may be as early, and the second as late, as its window lets it be.
    """
    values = sheet_values(sheet)
    within = values[asked.within]
    if not isinstance(within, Quantity):
        return timedelta(-1)
    ahead = [values[name] for name in asked.until]
    seconds = sum(whole_seconds(time) for time in ahead if isinstance(time, Quantity))
    early_and_late = 2 * span(sheet.doses.window) + span(sheet.bag.warm_up)
    return timedelta(seconds=whole_seconds(within) - seconds) - early_and_late


def habit_of(item: str, given: Sequence[Given], plan: Sequence[Pieces]) -> Habit:
    """Return how much of *item* was spoiled in the doses *given*; *plan* is `planned` for them.

    A thing that has to be new because of something that was spoiled in an earlier dose shows in
    the sum alone.
    """
    used = [each.used.get(item, 0) for each in given]
    hoped = [each.hoped.get(item, 0) for each in given]
    beyond = [max(0, one - other) for one, other in zip(used, hoped, strict=True)]
    return Habit(
        doses=len(given),
        extra=max(sum(beyond), sum(used) - sum(each.get(item, 0) for each in plan)),
        most=max(beyond, default=0),
    )
