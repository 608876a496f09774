"""What an order sheet says against itself or the floors, in all that is around the medicine.

Owns the checks of flushes, heparin, tubing, scrub, hands, allergies, changes and deliveries. It
must never resolve a contradiction.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coach.orders.allergies import refused
from coach.orders.clash import ASK, Check, Clash
from coach.orders.floors import (
    CONNECTOR_CHANGE,
    DRESSING_CHANGE,
    FLUSH_TIMES,
    HEPARIN_STRENGTHS,
    LONGEST_DRY,
    LONGEST_MOVE,
    LONGEST_TUBING,
    NOT_FOR_INFANTS,
    SHORTEST_DELIVERY,
    SHORTEST_DRY,
    SHORTEST_RUB,
    SHORTEST_SCRUB,
    SHORTEST_WASH,
    SMALLEST_BARREL,
    SMALLEST_GAP,
    STRONG_HEPARIN,
    USUAL_SCRUB,
)
from coach.orders.quantities import more, same, shown
from coach.orders.schedule import doses_a_day, each_day, smallest_gap
from coach.orders.sheet import OrderSheet
from coach.orders.values import heparin_units, least_flush


def _flushes(sheet: OrderSheet) -> Iterator[Clash]:
    line, flush = sheet.line, sheet.flush
    least = least_flush(line)
    parts = f"({shown(line.inner_volume)} + {shown(line.addons_volume)})"
    for name, volume in (("before", flush.saline_before), ("after", flush.saline_after)):
        if more(least, volume):
            yield Clash(
                f"flush.saline_{name}",
                f"at least {shown(least)}, as {FLUSH_TIMES} × {parts} = {shown(least)}",
                shown(volume),
            )


def _barrel(sheet: OrderSheet) -> Iterator[Clash]:
    flush, heparin = sheet.flush, sheet.heparin.volume
    if more(SMALLEST_BARREL, flush.barrel):
        expected = f"a barrel of at least {shown(SMALLEST_BARREL)}"
        yield Clash("flush.barrel", expected, shown(flush.barrel), "")
    held = {"flush.saline_before": flush.saline_before, "flush.saline_after": flush.saline_after}
    if heparin is not None:
        held["heparin.volume"] = heparin
    for field, volume in held.items():
        if more(volume, flush.barrel):
            expected = f"at most {shown(flush.barrel)}, what the barrel holds"
            yield Clash(field, expected, shown(volume))


def _tubing(sheet: OrderSheet) -> Iterator[Clash]:
    hours = sheet.tubing.hours
    if hours is not None and more(hours, LONGEST_TUBING):
        expected = f"at most {shown(LONGEST_TUBING)}"
        yield Clash("tubing.hours", expected, shown(hours), "")


def _scrub(sheet: OrderSheet) -> Iterator[Clash]:
    scrub = sheet.scrub
    short = more(USUAL_SCRUB, scrub.time)
    if more(SHORTEST_SCRUB, scrub.time):
        yield Clash("scrub.time", f"at least {shown(SHORTEST_SCRUB)}", shown(scrub.time), "")
    elif short and not scrub.short_scrub_signed_by:
        yield Clash(
            "scrub.time",
            f"at least {shown(USUAL_SCRUB)}, or short_scrub_signed_by with a name",
            f"{shown(scrub.time)} and nobody who signed for it",
            "",
        )
    elif not short and scrub.short_scrub_signed_by:
        yield Clash(
            "scrub.short_scrub_signed_by",
            f"no such field, as a scrub of {shown(scrub.time)} is not short",
            f'"{scrub.short_scrub_signed_by}"',
            "",
        )


def _dry(sheet: OrderSheet) -> Iterator[Clash]:
    scrub = sheet.scrub
    least = SHORTEST_DRY[scrub.product]
    if more(least, scrub.dry):
        expected = f"at least {shown(least)} for {scrub.product}"
        yield Clash("scrub.dry", expected, shown(scrub.dry), "")


def _hands(sheet: OrderSheet) -> Iterator[Clash]:
    for name, found, least in (
        ("wash", sheet.hands.wash, SHORTEST_WASH),
        ("rub", sheet.hands.rub, SHORTEST_RUB),
    ):
        if more(least, found):
            yield Clash(f"hands.{name}", f"at least {shown(least)}", shown(found), "")


def _slips(sheet: OrderSheet) -> Iterator[Clash]:
    for field, found, most in (
        ("scrub.time", sheet.scrub.time, LONGEST_MOVE),
        ("scrub.dry", sheet.scrub.dry, LONGEST_DRY),
        ("hands.wash", sheet.hands.wash, LONGEST_MOVE),
        ("hands.rub", sheet.hands.rub, LONGEST_MOVE),
    ):
        if more(found, most):
            yield Clash(field, f"at most {shown(most)}", shown(found), "Is the unit right?")


def _allergies(sheet: OrderSheet) -> Iterator[Clash]:
    for row in refused(sheet):
        yield Clash(row.field, row.expected, row.found)


def _heparin_refused(sheet: OrderSheet) -> Iterator[Clash]:
    if not sheet.heparin.ordered:
        return
    if sheet.heparin.low_platelets_history:
        yield Clash(
            "heparin.ordered",
            "no heparin, as it once brought the platelets down",
            '"yes", with low_platelets_history "yes"',
        )


def _heparin_strength(sheet: OrderSheet) -> Iterator[Clash]:
    strength = sheet.heparin.strength
    if strength is None:
        return
    listed = "1, 10 or 100 units/mL"
    if not any(same(strength, allowed) for allowed in HEPARIN_STRENGTHS):
        strong = not more(STRONG_HEPARIN, strength)
        hint = f"Heparin of {shown(STRONG_HEPARIN)} or more must never be used to lock a line."
        yield Clash("heparin.strength", listed, shown(strength), hint if strong else ASK)
    elif same(strength, NOT_FOR_INFANTS) and _under_one_year(sheet):
        yield Clash(
            "heparin.strength",
            f"less than {shown(NOT_FOR_INFANTS)}, as the person is under 1 year old",
            f"{shown(strength)}, born {sheet.person.born}",
        )


def _under_one_year(sheet: OrderSheet) -> bool:
    born, now = sheet.person.born, sheet.sheet.date
    return (now.year, now.month, now.day) < (born.year + 1, born.month, born.day)


def _heparin_a_day(sheet: OrderSheet) -> Iterator[Clash]:
    units, limit = heparin_units(sheet), sheet.limits.heparin_units_per_day
    if units is None or limit is None:
        return
    if smallest_gap(sheet.doses) < SMALLEST_GAP:
        return  # refused already, and a slip such as 0.001 s would make billions of doses
    number = doses_a_day(sheet.doses)
    whole = each_day(sheet, units)
    if more(whole, limit):
        doses = f"{number} doses" if number > 1 else "1 dose"
        working = f"{shown(units)} × {doses} = {shown(whole)}"
        yield Clash(
            "limits.heparin_units_per_day",
            f"at least {shown(whole)} a day, as {working}",
            shown(limit),
        )


def _changes(sheet: OrderSheet) -> Iterator[Clash]:
    for name, change, (least, most) in (
        ("connector", sheet.changes.connector, CONNECTOR_CHANGE),
        ("dressing", sheet.changes.dressing, DRESSING_CHANGE),
    ):
        if change is None:
            continue
        if more(least, change.every) or more(change.every, most):
            expected = f"{shown(least)} to {shown(most)}"
            yield Clash(f"changes.{name}.every", expected, shown(change.every), "")
        if change.last > sheet.sheet.date:
            expected = f"a date on or before {sheet.sheet.date}, the date of the sheet"
            yield Clash(f"changes.{name}.last", expected, str(change.last))


def _delivery(sheet: OrderSheet) -> Iterator[Clash]:
    delivery = sheet.delivery
    if delivery is None:
        return
    if delivery.next < sheet.sheet.date:
        expected = f"a date on or after {sheet.sheet.date}, the date of the sheet"
        yield Clash("delivery.next", expected, str(delivery.next))
    if more(SHORTEST_DELIVERY, delivery.every):
        expected = f"at least {shown(SHORTEST_DELIVERY)}"
        yield Clash("delivery.every", expected, shown(delivery.every), "")


CARE_CHECKS: Mapping[Check, tuple[str, ...]] = {
    _flushes: (
        "line.inner_volume",
        "line.addons_volume",
        "flush.saline_before",
        "flush.saline_after",
    ),
    _barrel: ("flush.barrel", "flush.saline_before", "flush.saline_after", "heparin.volume"),
    _tubing: ("tubing.reuse", "tubing.hours"),
    _scrub: ("scrub.time", "scrub.short_scrub_signed_by"),
    _dry: ("scrub.dry", "scrub.product"),
    _hands: ("hands.wash", "hands.rub"),
    _slips: ("scrub.time", "scrub.dry", "hands.wash", "hands.rub"),
    _allergies: ("heparin.ordered", "medicine.name", "scrub.product", "allergies"),
    _heparin_refused: ("heparin.ordered", "heparin.low_platelets_history"),
    _heparin_strength: ("heparin.ordered", "heparin.strength", "person.born", "sheet.date"),
    _heparin_a_day: (
        "heparin.strength",
        "heparin.volume",
        "doses.times",
        "doses.every",
        "doses.first",
        "limits.heparin_units_per_day",
    ),
    _changes: ("changes", "sheet.date"),
    _delivery: ("delivery", "sheet.date"),
}
"""Each check with the fields that it looks at."""
