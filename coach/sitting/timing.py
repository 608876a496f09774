"""How long something has gone on, found from what happened and when.

Owns the time of waits. Pure: it measures between moments that were recorded and one that is
handed in, and never measures more than has passed.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_DOWN, Decimal

from coach.clock import Instant, seconds_between
from coach.engine import Moment
from coach.orders.quantities import Quantity
from coach.procedure.model import Procedure, Wait


def waited(moments: Sequence[Moment], wait: Wait, now: Instant) -> float:
    """Return the seconds that *wait* has run, up to *now*.

    It starts anew each time that a step sets its fact, and stands still while its condition
    does not hold, as an infusion does while the pump is paused.
    """
    total = 0.0
    for place, moment in enumerate(moments):
        if moment.event is None:
            continue
        if moment.outcome is not None and wait.since in moment.outcome.sets:
            total = 0.0
        if not moment.state.facts & wait.runs_while:
            following = moments[place + 1].event if place + 1 < len(moments) else None
            total += seconds_between(moment.event.at, following.at if following else now)
    return total


def infusion_of(procedure: Procedure) -> Wait | None:
    """Return the wait during which the medicine flows, if the procedure has one."""
    for step in procedure.steps:
        if isinstance(step.ask, Wait) and step.ask.gives:
            return step.ask
    return None


def since_set(moments: Sequence[Moment], fact: str, value: str, now: Instant) -> float | None:
    """Return the seconds since a step last set *fact* to *value*; None where none did.

    They count on while the program is closed.
    """
    for moment in reversed(moments):
        if moment.event and moment.outcome and moment.outcome.sets.get(fact) == value:
            return seconds_between(moment.event.at, now)
    return None


def flowed(volume: Quantity, passed: float, whole: int) -> Quantity:
    """Return how much of *volume* has flowed after *passed* of *whole* seconds.

    Rounded down to whole units, or to tenths where the volume is below 20; never more than
    *volume*.
    """
    share = min(Decimal(int(passed)) / Decimal(whole), Decimal(1))
    place = Decimal("0.1") if volume.amount < 20 else Decimal(1)
    return Quantity((volume.amount * share).quantize(place, ROUND_DOWN), volume.unit)


def left_of(volume: Quantity, given: Quantity) -> Quantity:
    """Return what is left of *volume* once *given*, in the same unit, has flowed."""
    return Quantity(volume.amount - given.amount, volume.unit)
