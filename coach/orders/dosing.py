"""What follows from an order sheet: how much is loaded, left behind, flushed and locked.

Owns the sums of one dose, all in decimals and with units. Each rests on the definitions that lie
in the units themselves (a rate times a time is a volume); where a value is from elsewhere, its
source stands at it. It must never ask for a setting: it says what the order comes to.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import msgspec

from coach.orders.floors import FLUSH_TIMES
from coach.orders.quantities import (
    Quantity,
    divided,
    dose_of,
    in_unit,
    more,
    number,
    product,
    rate_of,
    shown,
    time_of,
    total,
    volume_of,
)
from coach.orders.schedule import doses_a_day, each_day
from coach.orders.sheet import OrderSheet
from coach.orders.values import heparin_units, least_flush

HUNDRED = Decimal(100)
"""The whole, in %."""
_PLACES = 9
"""Places to which a rate that a pump may really run is worked out."""


class Rest(msgspec.Struct, frozen=True):
    """What stays in the tubing when nothing pushes it through."""

    volume: Quantity
    share: Quantity
    """Of the dose, in %, half up to a tenth."""
    dose: Quantity
    """The medicine in it: a mass or units."""


class FlushThrough(msgspec.Struct, frozen=True):
    """What pushes the rest of the medicine through the tubing."""

    volume: Quantity
    rate: Quantity
    time: Quantity
    """To a whole second, half up."""


class Saline(msgspec.Struct, frozen=True):
    """Saline flushes: a syringe is used once, so no flush shares one with another."""

    each_dose: Quantity
    each_day: Quantity
    """On the day with the most doses."""
    syringes_each_dose: int


class Lock(msgspec.Struct, frozen=True):
    """The heparin of an order, in units."""

    each_flush: Quantity
    each_day: Quantity
    """On the day with the most doses."""
    limit: Quantity | None
    """The agency's limit for a day; None where it sets none."""


class Working(msgspec.Struct, frozen=True):
    """One value that follows from the order, with how it comes about, in safe writing."""

    field: str
    """The field beside which it stands, such as ``medicine.dose``."""
    name: str
    value: str
    working: str
    """Such as ``20 mg/mL × 50 mL = 1,000 mg``."""


def to_load(sheet: OrderSheet, fills_tubing: bool) -> Quantity:
    """Return what the reservoir has to hold for one dose, in mL.

    That is the ordered volume and what the reservoir never gives; and, if it *fills_tubing* too,
    what the tubing holds. What keeps a line open afterwards comes on top, for as long as it runs.
    """
    parts = [in_unit(sheet.medicine.volume, "mL"), sheet.pump.residual]
    if fills_tubing:
        parts.append(sheet.tubing.inner_volume)
    return total(*parts)


def quicker_and_slower(tolerance: Quantity) -> tuple[Decimal, Decimal]:
    """Return 100% and the *tolerance*, and 100% without it: what a pump may give."""
    whole, below = Quantity(HUNDRED, "%"), tolerance.amount.copy_negate()
    return total(whole, tolerance).amount, total(whole, Quantity(below, "%")).amount


def time_window(sheet: OrderSheet) -> tuple[Quantity, Quantity]:
    """Return the shortest and the longest time for the dose by the tolerance, in whole seconds.

    Volume over rate, divided by 1.05 and by 0.95 where the tolerance is 5%: Generic Infusion Pump
    Hazard Analysis 1.0, 2009 (restated).
    """
    volume, rate = in_unit(sheet.medicine.volume, "mL"), sheet.medicine.rate
    shortest, longest = (
        time_of(
            volume, Quantity(divided(product(rate.amount, percent), HUNDRED, _PLACES), rate.unit)
        )
        for percent in quicker_and_slower(sheet.pump.tolerance)
    )
    return shortest, longest


def rest_in_tubing(sheet: OrderSheet) -> Rest:
    """Return what stays in the tubing after the dose if nothing pushes it through.

    From the tubing's inner volume: 20 mL of 50 mL are 40%. Where the tubing holds more than the
    whole dose, all of it stays there.
    """
    medicine = sheet.medicine
    inner, volume = in_unit(sheet.tubing.inner_volume, "mL"), in_unit(medicine.volume, "mL")
    rest = volume if more(inner, volume) else inner
    share = divided(product(rest.amount, HUNDRED), volume.amount, 1, keep=False)
    return Rest(rest, Quantity(share, "%"), dose_of(medicine.strength, rest))


def flush_through(sheet: OrderSheet) -> FlushThrough | None:
    """Return the ordered flush-through, at the rate of the dose; None where none is ordered."""
    volume, rate = sheet.tubing.flush_through, sheet.medicine.rate
    return None if volume is None else FlushThrough(volume, rate, time_of(volume, rate))


def saline(sheet: OrderSheet) -> Saline:
    """Return the saline of a dose and of a day, and the syringes that hold it."""
    flushes = (sheet.flush.saline_before, sheet.flush.saline_after)
    each_dose = total(in_unit(flushes[0], "mL"), flushes[1])
    return Saline(each_dose, each_day(sheet, each_dose), len(flushes))


def heparin(sheet: OrderSheet) -> Lock | None:
    """Return the units of heparin in a flush and in a day; None where none is ordered."""
    units = heparin_units(sheet)
    if units is None:
        return None
    return Lock(units, each_day(sheet, units), sheet.limits.heparin_units_per_day)


def workings(sheet: OrderSheet) -> tuple[Working, ...]:
    """Return every value that follows from *sheet*, with its working, by groups of fields."""
    return (
        *_of_medicine(sheet),
        *_of_doses(sheet),
        *_of_pump_and_tubing(sheet),
        *_of_flushes(sheet),
        *_of_heparin(sheet),
    )


def _worked(field: str, name: str, working: str, value: str) -> Working:
    return Working(field, name, value, f"{working} = {value}")


def _of_medicine(sheet: OrderSheet) -> Iterator[Working]:
    medicine = sheet.medicine
    dose, strength = shown(medicine.dose), shown(medicine.strength)
    volume, rate, time = shown(medicine.volume), shown(medicine.rate), shown(medicine.infusion_time)
    given = shown(dose_of(medicine.strength, medicine.volume))
    yield _worked("medicine.dose", "dose", f"{strength} × {volume}", given)
    needed = shown(volume_of(medicine.dose, medicine.strength))
    yield _worked("medicine.volume", "volume", f"{dose} ÷ {strength}", needed)
    runs = shown(rate_of(medicine.volume, medicine.infusion_time))
    yield _worked("medicine.rate", "rate", f"{volume} ÷ {time}", runs)
    takes = shown(time_of(medicine.volume, medicine.rate))
    yield _worked("medicine.infusion_time", "time", f"{volume} ÷ {rate}", takes)
    percents = quicker_and_slower(sheet.pump.tolerance)
    names = ("shortest time by the tolerance", "longest time by the tolerance")
    for name, percent, bound in zip(names, percents, time_window(sheet), strict=True):
        factor = number(divided(percent, HUNDRED, _PLACES))
        yield _worked("pump.tolerance", name, f"{takes} ÷ {factor}", shown(bound))


def _of_doses(sheet: OrderSheet) -> Iterator[Working]:
    doses, field = doses_a_day(sheet.doses), "doses.every" if sheet.doses.every else "doses.times"
    day = _times(doses, "dose")
    every = sheet.doses.every
    why = f"1 dose every {shown(every)}" if every else _times(len(sheet.doses.times), "time")
    most = " at most in 24 hours" if every else " in 24 hours"
    yield Working(field, "doses in a day", day, f"{why} = {day}{most}")
    given = dose_of(sheet.medicine.strength, sheet.medicine.volume)
    yield _worked(
        field, "medicine in a day", f"{shown(given)} × {day}", shown(each_day(sheet, given))
    )
    warm_up, time = sheet.bag.warm_up, sheet.medicine.infusion_time
    if warm_up is not None:
        yield _worked(
            "bag.warm_up",
            "bag out of the refrigerator",
            f"{shown(warm_up)} + {shown(time)}",
            shown(total(warm_up, time)),
        )


def _of_pump_and_tubing(sheet: OrderSheet) -> Iterator[Working]:
    volume, residual = sheet.medicine.volume, sheet.pump.residual
    inner, rest, through = sheet.tubing.inner_volume, rest_in_tubing(sheet), flush_through(sheet)
    yield _worked(
        "tubing.inner_volume",
        "part of the dose left in the tubing",
        f"{shown(rest.volume)} ÷ {shown(volume)}",
        shown(rest.share),
    )
    yield _worked(
        "tubing.inner_volume",
        "medicine left in the tubing",
        f"{shown(sheet.medicine.strength)} × {shown(rest.volume)}",
        shown(rest.dose),
    )
    if through is not None:
        yield _worked(
            "tubing.flush_through",
            "time of the flush-through",
            f"{shown(through.volume)} ÷ {shown(through.rate)}",
            shown(through.time),
        )
    parts = f"{shown(volume)} + {shown(residual)}"
    yield _worked("pump.residual", "to load", parts, shown(to_load(sheet, False)))
    yield _worked(
        "pump.residual",
        "to load, if it fills the tubing too",
        f"{parts} + {shown(inner)}",
        shown(to_load(sheet, True)),
    )


def _of_flushes(sheet: OrderSheet) -> Iterator[Working]:
    line, flush, found = sheet.line, sheet.flush, saline(sheet)
    parts = f"({shown(line.inner_volume)} + {shown(line.addons_volume)})"
    yield _worked(
        "line.inner_volume", "least flush", f"{FLUSH_TIMES} × {parts}", shown(least_flush(line))
    )
    dose, day = shown(found.each_dose), _times(doses_a_day(sheet.doses), "dose")
    yield _worked(
        "flush.saline_after",
        "saline in a dose",
        f"{shown(flush.saline_before)} + {shown(flush.saline_after)}",
        dose,
    )
    yield _worked("flush.saline_after", "saline in a day", f"{dose} × {day}", shown(found.each_day))
    each, doses = found.syringes_each_dose, doses_a_day(sheet.doses)
    yield _worked(
        "flush.barrel",
        "saline syringes in a day",
        f"{_times(each, 'syringe')} × {day}",
        _times(each * doses, "syringe"),
    )


def _of_heparin(sheet: OrderSheet) -> Iterator[Working]:
    lock, ordered = heparin(sheet), sheet.heparin
    if lock is None or ordered.strength is None or ordered.volume is None:
        return
    each = shown(lock.each_flush)
    yield _worked(
        "heparin.volume",
        "heparin in a flush",
        f"{shown(ordered.strength)} × {shown(ordered.volume)}",
        each,
    )
    day = _worked(
        "heparin.volume",
        "heparin in a day",
        f"{each} × {_times(doses_a_day(sheet.doses), 'dose')}",
        shown(lock.each_day),
    )
    yield day
    if lock.limit is not None:
        yield Working(
            "limits.heparin_units_per_day",
            "heparin in a day",
            shown(lock.each_day),
            f"{day.working}, of {shown(lock.limit)}",
        )


def _times(count: int, what: str) -> str:
    return f"{count:,} {what}" + ("" if count == 1 else "s")
