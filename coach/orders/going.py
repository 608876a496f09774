"""How an infusion goes: what the pump gave by the clock, and what it shows, held against that.

Owns the sums over the time that a pump ran. It must never say what to set: it says whether what
was read fits the order, and whether the nurse has to be called.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import msgspec

from coach.errors import OrderError
from coach.orders.clash import spoken
from coach.orders.dosing import HUNDRED, quicker_and_slower
from coach.orders.floors import ALARM_AFTER, WIDEST_TOLERANCE
from coach.orders.quantities import (
    Quantity,
    divided,
    in_unit,
    more,
    product,
    shown,
    total,
)
from coach.orders.schedule import span
from coach.orders.sheet import OrderSheet

Run = tuple[datetime, datetime]
"""From when to when the pump ran, both aware."""

NOTHING = Quantity(Decimal(0), "mL")
_DAY = Decimal(86_400_000_000)
"""Microseconds."""
_PLACES = 6
"""To a millionth of a mL, half up, where a decimal number can not say it."""


class Progress(msgspec.Struct, frozen=True):
    """Where an infusion stands at one moment, all in mL."""

    given: Quantity
    """Of the dose; what was given to keep the line open is not counted."""
    left: Quantity
    """Of the dose: what the pump shows, as it counts the ordered volume down to 0."""
    kept_open: Quantity
    """Given after the dose at the keep-open rate; it has to be loaded on top of the dose."""
    in_reservoir: Quantity
    """What is left of the dose, and what the reservoir never gives."""


class Look(msgspec.Struct, frozen=True):
    """What the pump showed as left, held against what it should be, all in mL."""

    verdict: str
    """as-expected, ahead, behind or not-moving."""
    left: Quantity
    """As it was typed."""
    expected: Quantity
    """What should be left by the clock and the rate of the order."""
    least: Quantity
    """The least that may be left by the tolerance of the sheet."""
    most: Quantity
    """The most that may be left by it."""
    working: str
    """How *expected* comes about, in safe writing."""
    call: bool
    """Whether it is so far off, for so long, that the nurse is called now."""


def volume_at(rate: Quantity, ran: timedelta) -> Quantity:
    """Return what *rate* gives in *ran*, in mL, half up to a millionth where it is not exact.

    Raises OrderError if *rate* is not a rate.
    """
    microseconds = ran // timedelta(microseconds=1)
    top = product(in_unit(rate, "mL/day").amount, Decimal(microseconds))
    return Quantity(divided(top, _DAY, _PLACES), "mL")


def running(runs: Sequence[Run], at: datetime) -> timedelta:
    """Return how long the pump ran up to the aware moment *at*; pauses are not counted.

    Raises OrderError if a moment is without its offset, or the *runs* are not one after another.
    """
    moments = [moment for run in runs for moment in run]
    if any(moment.tzinfo is None for moment in (*moments, at)):
        raise OrderError("A time is without its distance from UTC.")
    absolute = [moment.astimezone(UTC) for moment in moments]
    if absolute != sorted(absolute):
        raise OrderError("The times at which the pump ran are not one after another.")
    until = at.astimezone(UTC)
    ran = timedelta()
    for start, end in zip(absolute[::2], absolute[1::2], strict=True):
        ran += max(timedelta(), min(end, until) - start)
    return ran


def progress(sheet: OrderSheet, runs: Sequence[Run], at: datetime) -> Progress:
    """Return where the infusion stands at the aware moment *at*, after the *runs* of the pump.

    Raises OrderError as ``running`` does.
    """
    ran, volume = running(runs, at), in_unit(sheet.medicine.volume, "mL")
    pumped = volume_at(sheet.medicine.rate, ran)
    given = volume if more(pumped, volume) else pumped
    left = _less(volume, given)
    return Progress(given, left, _kept_open(sheet, pumped), total(left, sheet.pump.residual))


def _kept_open(sheet: OrderSheet, pumped: Quantity) -> Quantity:
    """Return what ran after the dose, if *pumped* is what its own rate would have given."""
    volume, keep_open = sheet.medicine.volume, sheet.pump.keep_open
    if keep_open is None or not more(pumped, volume):
        return NOTHING
    beyond = _less(pumped, volume).amount
    top = product(beyond, in_unit(keep_open, "mL/day").amount)
    return Quantity(divided(top, in_unit(sheet.medicine.rate, "mL/day").amount, _PLACES), "mL")


def _less(one: Quantity, other: Quantity) -> Quantity:
    """Return *one* without *other*, in mL. Raises OrderError if that would be below 0."""
    top, bottom = in_unit(one, "mL"), in_unit(other, "mL")
    if more(bottom, top):
        raise OrderError("No volume is below 0.")
    negative = Quantity(bottom.amount.copy_negate(), "mL")
    return total(top, negative)


def look(
    sheet: OrderSheet,
    runs: Sequence[Run],
    at: datetime,
    typed: Quantity,
    earlier: tuple[datetime, Quantity] | None,
) -> Look:
    """Return how what was *typed* as left at the aware moment *at* fits the order.

    The pump may give more or less than ordered by the tolerance of the sheet; what is left is
    then within a window, and any amount that is written as the one typed may lie in it. *earlier*
    is what was read before, and when; without it, the whole volume at the start.

    Raises OrderError if *typed* is no volume or more than the whole, or as ``running`` does.
    """
    ran, whole = running(runs, at), in_unit(sheet.medicine.volume, "mL")
    left = in_unit(typed, "mL")
    if more(left, whole):
        raise OrderError(f"{shown(left)} is more than the whole {shown(whole)}. Look once more.")
    pumped = volume_at(sheet.medicine.rate, ran)
    expected = _left_after(whole, pumped)
    least, most = _window(sheet, whole, pumped)
    verdict = "not-moving"
    if not _stands_still(sheet, runs, at, typed, earlier):
        verdict = _verdict(left, _half_place(typed), least, most)
    shown_expected = _tenth(expected)
    if verdict == "as-expected":  # by the places of what was typed; the window shown holds it, too
        least, most = (left if more(least, left) else least), (left if more(left, most) else most)
    return Look(
        verdict=verdict,
        left=left,
        expected=shown_expected,
        least=_tenth(least),
        most=_tenth(most),
        working=f"{shown(whole)} − {shown(sheet.medicine.rate)} × {spoken(ran)} = "
        f"{shown(shown_expected)}",
        call=(verdict != "as-expected" and _alarms(pumped, _less(whole, left), ran))
        or (verdict == "ahead" and _runs_away(pumped, _less(whole, left), left)),
    )


def _window(sheet: OrderSheet, whole: Quantity, pumped: Quantity) -> tuple[Quantity, Quantity]:
    """Return the least and the most that may be left, if *pumped* is what was ordered so far."""
    quicker, slower = quicker_and_slower(sheet.pump.tolerance)
    least = _left_after(whole, _share_of(pumped, quicker))
    most = _left_after(whole, _share_of(pumped, slower))
    done = in_unit(sheet.pump.left_when_done, "mL")
    return least, done if more(done, most) else most


def _verdict(left: Quantity, half: Quantity, least: Quantity, most: Quantity) -> str:
    if more(least, total(left, half)):
        return "ahead"
    return "behind" if more(left, total(most, half)) else "as-expected"


def _left_after(whole: Quantity, pumped: Quantity) -> Quantity:
    return NOTHING if more(pumped, whole) else _less(whole, pumped)


def _share_of(volume: Quantity, percent: Decimal) -> Quantity:
    return Quantity(divided(product(volume.amount, percent), HUNDRED, _PLACES), "mL")


def _tenth(volume: Quantity) -> Quantity:
    return Quantity(divided(volume.amount, Decimal(1), 1, keep=False), "mL")


def _half_place(typed: Quantity) -> Quantity:
    """Return half of the last place of *typed*, in mL: so far the true amount may be from it."""
    places = len(f"{typed.amount:f}".partition(".")[2])
    return in_unit(Quantity(Decimal(5).scaleb(-places - 1), typed.unit), "mL")


def _stands_still(
    sheet: OrderSheet,
    runs: Sequence[Run],
    at: datetime,
    typed: Quantity,
    earlier: tuple[datetime, Quantity] | None,
) -> bool:
    """Tell whether no less is left than before, although a place of the number should have gone."""
    then, before = earlier or (runs[0][0] if runs else at, sheet.medicine.volume)
    gone = _less(progress(sheet, runs, at).given, progress(sheet, runs, then).given)
    slowest = _share_of(gone, quicker_and_slower(sheet.pump.tolerance)[1])
    place = total(*(_half_place(typed),) * 2)
    return not more(before, typed) and more(slowest, place)


def _runs_away(pumped: Quantity, given: Quantity, left: Quantity) -> bool:
    """Tell whether all is gone before its time, or twice what should have gone: that cannot wait.

    Common practice, no source.
    """
    return left.amount == 0 or not more(total(pumped, pumped), given)


def _alarms(pumped: Quantity, given: Quantity, ran: timedelta) -> bool:
    """Tell whether what was *given* is so far off that a pump would sound its alarm."""
    off = _less(pumped, given) if more(pumped, given) else _less(given, pumped)
    return ran >= span(ALARM_AFTER) and more(off, _share_of(pumped, WIDEST_TOLERANCE.amount))
