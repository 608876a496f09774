"""What an order sheet says against itself, against the floors, or against the agency's limits.

Owns the contradictions. Each says both sides, with the working of each, at the line of the
field concerned. It must never resolve one: a person who can ask the prescriber does that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta
from decimal import Decimal

import msgspec

from coach.errors import Problem
from coach.nodes import Node
from coach.orders.allergies import refused
from coach.orders.floors import (
    FLUSH_TIMES,
    HEPARIN_STRENGTHS,
    HIGHEST_RATE,
    LONGEST_DRY,
    LONGEST_MOVE,
    LONGEST_TUBING,
    LOWEST_RATE,
    NOT_FOR_INFANTS,
    SHORTEST_DRY,
    SHORTEST_INFUSION,
    SHORTEST_RUB,
    SHORTEST_SCRUB,
    SHORTEST_WASH,
    SMALLEST_BARREL,
    SMALLEST_GAP,
    STRONG_HEPARIN,
    USUAL_SCRUB,
)
from coach.orders.quantities import (
    Quantity,
    dose_of,
    more,
    rate_of,
    rounded,
    same,
    shown,
    time_of,
    total,
    volume_of,
)
from coach.orders.schedule import doses_a_day, smallest_gap, span
from coach.orders.sheet import OrderSheet
from coach.orders.values import heparin_units

ASK = "Ask the nurse or the pharmacist which one is right."


class _Clash(msgspec.Struct, frozen=True):
    """One contradiction: where, what would have been right and why, and what stands there."""

    field: str
    expected: str
    found: str
    hint: str = ASK


Check = Callable[[OrderSheet], Iterator[_Clash]]


def contradictions(sheet: OrderSheet, root: Node, unread: frozenset[str]) -> tuple[Problem, ...]:
    """Return every contradiction in *sheet*, read from *root*, from the top of the file down.

    A check that looks at one of the *unread* fields is left out: it would speak of a stand-in.
    """
    places = _places(root)
    found: list[Problem] = []
    for check, fields in CHECKS.items():
        if any(_touches(field, one) for field in fields for one in unread):
            continue
        for clash in check(sheet):
            node = places[clash.field]
            found.append(node.problem(clash.expected, clash.found, clash.hint))
    return tuple(sorted(found, key=lambda row: (row.line, row.column)))


def _touches(field: str, other: str) -> bool:
    """Tell whether one of the two fields is, or lies in, the other; ``""`` is all."""
    longer, shorter = max(field, other, key=len), min(field, other, key=len)
    if shorter in ("", longer):
        return True
    return longer.startswith((f"{shorter}.", f"{shorter}["))


def _places(root: Node) -> Mapping[str, Node]:
    places: dict[str, Node] = {}
    waiting = [root]
    while waiting:
        node = waiting.pop()
        places[node.field] = node
        if isinstance(node.value, dict):
            waiting += node.value.values()
        elif isinstance(node.value, list):
            waiting += node.value
    return places


def _born(sheet: OrderSheet) -> Iterator[_Clash]:
    if sheet.sheet.date < sheet.person.born:
        yield _Clash(
            "sheet.date",
            f"a date on or after {sheet.person.born}, when the person was born",
            str(sheet.sheet.date),
        )


def _dose(sheet: OrderSheet) -> Iterator[_Clash]:
    medicine = sheet.medicine
    given = dose_of(medicine.strength, medicine.volume)
    if not same(medicine.dose, given):
        working = f"{shown(medicine.strength)} × {shown(medicine.volume)} = {shown(given)}"
        found = shown(medicine.dose)
        if (medicine.dose.unit == "units") == (given.unit == "units"):
            volume = volume_of(medicine.dose, medicine.strength)
            found += f", which would be {found} ÷ {shown(medicine.strength)} = {shown(volume)}"
        yield _Clash("medicine.dose", f"{shown(given)}, as {working}", found)


def _infusion_time(sheet: OrderSheet) -> Iterator[_Clash]:
    medicine = sheet.medicine
    if more(SHORTEST_INFUSION, medicine.infusion_time):
        expected = f"at least {shown(SHORTEST_INFUSION)}"
        yield _Clash("medicine.infusion_time", expected, shown(medicine.infusion_time), "")
    worked = time_of(medicine.volume, medicine.rate, "min")
    written = rounded(medicine.infusion_time, "min")
    if not same(worked, written):
        working = f"{shown(medicine.volume)} ÷ {shown(medicine.rate)} = {shown(worked)}"
        rate = rate_of(medicine.volume, medicine.infusion_time)
        other = f"{shown(medicine.volume)} ÷ {shown(medicine.infusion_time)} = {shown(rate)}"
        yield _Clash(
            "medicine.infusion_time",
            f"{shown(worked)}, as {working}",
            f"{shown(medicine.infusion_time)}, which would be {other}",
        )


def _rate(sheet: OrderSheet) -> Iterator[_Clash]:
    rate, band = sheet.medicine.rate, f"{shown(LOWEST_RATE)} to {shown(HIGHEST_RATE)}"
    if more(LOWEST_RATE, rate) or more(rate, HIGHEST_RATE):
        yield _Clash("medicine.rate", f"a rate that a pump can run, {band}", shown(rate), "")


def _highest_rate(sheet: OrderSheet) -> Iterator[_Clash]:
    highest = sheet.limits.highest_rate
    if highest is None:
        return
    if more(highest, HIGHEST_RATE):
        yield _Clash(
            "limits.highest_rate",
            f"at most {shown(HIGHEST_RATE)}, as a limit can only be stricter",
            shown(highest),
            "",
        )
    if more(sheet.medicine.rate, highest):
        yield _Clash(
            "medicine.rate",
            f"at most {shown(highest)}, the agency's highest rate",
            shown(sheet.medicine.rate),
        )


def _left(sheet: OrderSheet) -> Iterator[_Clash]:
    left, volume = sheet.pump.left_when_done, sheet.medicine.volume
    if not more(volume, left):
        yield _Clash(
            "pump.left_when_done",
            f"less than the bag's {shown(volume)}, or a dose not begun would pass for done",
            shown(left),
            "",
        )


def _gap(sheet: OrderSheet) -> Iterator[_Clash]:
    doses, gap = sheet.doses, smallest_gap(sheet.doses)
    if gap < SMALLEST_GAP:
        yield _Clash(
            "doses.every" if doses.every else "doses.times",
            f"at least {_spoken(SMALLEST_GAP)} between doses",
            f"{_spoken(gap)} between two of them",
            "",
        )
    window = span(doses.window)
    if window * 2 > gap:
        yield _Clash(
            "doses.window",
            f"at most {_spoken(gap / 2)}, half of the {_spoken(gap)} between doses",
            shown(doses.window),
        )


def _fits(sheet: OrderSheet) -> Iterator[_Clash]:
    gap = smallest_gap(sheet.doses)
    warm_up, infusion = span(sheet.bag.warm_up), span(sheet.medicine.infusion_time)
    if warm_up + infusion >= gap:
        working = f"{_spoken(warm_up)} of warming + {_spoken(infusion)} of infusion"
        yield _Clash(
            "medicine.infusion_time",
            f"warming and infusion shorter than the {_spoken(gap)} between doses",
            f"{working} = {_spoken(warm_up + infusion)}",
        )


def _out(sheet: OrderSheet) -> Iterator[_Clash]:
    warm_up, infusion = span(sheet.bag.warm_up), span(sheet.medicine.infusion_time)
    if sheet.bag.out_at_most is not None and span(sheet.bag.out_at_most) < warm_up + infusion:
        working = f"{_spoken(warm_up)} of warming + {_spoken(infusion)} of infusion"
        yield _Clash(
            "bag.out_at_most",
            f"at least {_spoken(warm_up + infusion)}, as {working}",
            shown(sheet.bag.out_at_most),
        )


def _flushes(sheet: OrderSheet) -> Iterator[_Clash]:
    line, flush = sheet.line, sheet.flush
    least = total(*(line.inner_volume, line.addons_volume) * FLUSH_TIMES)
    parts = f"({shown(line.inner_volume)} + {shown(line.addons_volume)})"
    for name, volume in (("before", flush.saline_before), ("after", flush.saline_after)):
        if more(least, volume):
            yield _Clash(
                f"flush.saline_{name}",
                f"at least {shown(least)}, as {FLUSH_TIMES} × {parts} = {shown(least)}",
                shown(volume),
            )


def _barrel(sheet: OrderSheet) -> Iterator[_Clash]:
    flush, heparin = sheet.flush, sheet.heparin.volume
    if more(SMALLEST_BARREL, flush.barrel):
        expected = f"a barrel of at least {shown(SMALLEST_BARREL)}"
        yield _Clash("flush.barrel", expected, shown(flush.barrel), "")
    held = {"flush.saline_before": flush.saline_before, "flush.saline_after": flush.saline_after}
    if heparin is not None:
        held["heparin.volume"] = heparin
    for field, volume in held.items():
        if more(volume, flush.barrel):
            expected = f"at most {shown(flush.barrel)}, what the barrel holds"
            yield _Clash(field, expected, shown(volume))


def _tubing(sheet: OrderSheet) -> Iterator[_Clash]:
    hours = sheet.tubing.hours
    if hours is not None and more(hours, LONGEST_TUBING):
        expected = f"at most {shown(LONGEST_TUBING)}"
        yield _Clash("tubing.hours", expected, shown(hours), "")


def _scrub(sheet: OrderSheet) -> Iterator[_Clash]:
    scrub = sheet.scrub
    short = more(USUAL_SCRUB, scrub.time)
    if more(SHORTEST_SCRUB, scrub.time):
        yield _Clash("scrub.time", f"at least {shown(SHORTEST_SCRUB)}", shown(scrub.time), "")
    elif short and not scrub.short_scrub_signed_by:
        yield _Clash(
            "scrub.time",
            f"at least {shown(USUAL_SCRUB)}, or short_scrub_signed_by with a name",
            f"{shown(scrub.time)} and nobody who signed for it",
            "",
        )
    elif not short and scrub.short_scrub_signed_by:
        yield _Clash(
            "scrub.short_scrub_signed_by",
            f"no such field, as a scrub of {shown(scrub.time)} is not short",
            f'"{scrub.short_scrub_signed_by}"',
            "",
        )


def _dry(sheet: OrderSheet) -> Iterator[_Clash]:
    scrub = sheet.scrub
    least = SHORTEST_DRY[scrub.product]
    if more(least, scrub.dry):
        expected = f"at least {shown(least)} for {scrub.product}"
        yield _Clash("scrub.dry", expected, shown(scrub.dry), "")


def _hands(sheet: OrderSheet) -> Iterator[_Clash]:
    for name, found, least in (
        ("wash", sheet.hands.wash, SHORTEST_WASH),
        ("rub", sheet.hands.rub, SHORTEST_RUB),
    ):
        if more(least, found):
            yield _Clash(f"hands.{name}", f"at least {shown(least)}", shown(found), "")


def _slips(sheet: OrderSheet) -> Iterator[_Clash]:
    for field, found, most in (
        ("scrub.time", sheet.scrub.time, LONGEST_MOVE),
        ("scrub.dry", sheet.scrub.dry, LONGEST_DRY),
        ("hands.wash", sheet.hands.wash, LONGEST_MOVE),
        ("hands.rub", sheet.hands.rub, LONGEST_MOVE),
    ):
        if more(found, most):
            yield _Clash(field, f"at most {shown(most)}", shown(found), "Is the unit right?")


def _allergies(sheet: OrderSheet) -> Iterator[_Clash]:
    for row in refused(sheet):
        yield _Clash(row.field, row.expected, row.found)


def _heparin_refused(sheet: OrderSheet) -> Iterator[_Clash]:
    if not sheet.heparin.ordered:
        return
    if sheet.heparin.low_platelets_history:
        yield _Clash(
            "heparin.ordered",
            "no heparin, as it once brought the platelets down",
            '"yes", with low_platelets_history "yes"',
        )


def _heparin_strength(sheet: OrderSheet) -> Iterator[_Clash]:
    strength = sheet.heparin.strength
    if strength is None:
        return
    listed = "1, 10 or 100 units/mL"
    if not any(same(strength, allowed) for allowed in HEPARIN_STRENGTHS):
        strong = not more(STRONG_HEPARIN, strength)
        hint = f"Heparin of {shown(STRONG_HEPARIN)} or more must never be used to lock a line."
        yield _Clash("heparin.strength", listed, shown(strength), hint if strong else ASK)
    elif same(strength, NOT_FOR_INFANTS) and _under_one_year(sheet):
        yield _Clash(
            "heparin.strength",
            f"less than {shown(NOT_FOR_INFANTS)}, as the person is under 1 year old",
            f"{shown(strength)}, born {sheet.person.born}",
        )


def _under_one_year(sheet: OrderSheet) -> bool:
    born, now = sheet.person.born, sheet.sheet.date
    return (now.year, now.month, now.day) < (born.year + 1, born.month, born.day)


def _heparin_a_day(sheet: OrderSheet) -> Iterator[_Clash]:
    units, limit = heparin_units(sheet), sheet.limits.heparin_units_per_day
    if units is None or limit is None:
        return
    if smallest_gap(sheet.doses) < SMALLEST_GAP:
        return  # refused already, and a slip such as 0.001 s would make billions of doses
    number = doses_a_day(sheet.doses)
    whole = total(*(units,) * number)
    if more(whole, limit):
        doses = f"{number} doses" if number > 1 else "1 dose"
        working = f"{shown(units)} × {doses} = {shown(whole)}"
        yield _Clash(
            "limits.heparin_units_per_day",
            f"at least {shown(whole)} a day, as {working}",
            shown(limit),
        )


def _spoken(span_of_time: timedelta) -> str:
    return shown(Quantity(Decimal(span_of_time // timedelta(seconds=1)), "s"))


_TIMES = ("doses.times", "doses.every", "doses.first")

CHECKS: Mapping[Check, tuple[str, ...]] = {
    _born: ("sheet.date", "person.born"),
    _dose: ("medicine.dose", "medicine.strength", "medicine.volume"),
    _infusion_time: ("medicine.infusion_time", "medicine.volume", "medicine.rate"),
    _rate: ("medicine.rate",),
    _highest_rate: ("medicine.rate", "limits.highest_rate"),
    _left: ("pump.left_when_done", "medicine.volume"),
    _gap: (*_TIMES, "doses.window"),
    _fits: (*_TIMES, "bag.storage", "bag.warm_up", "medicine.infusion_time"),
    _out: ("bag.storage", "bag.warm_up", "bag.out_at_most", "medicine.infusion_time"),
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
        *_TIMES,
        "limits.heparin_units_per_day",
    ),
}
"""Each check with the fields that it looks at."""
