"""What an order sheet says against itself, against the floors, or against the agency's limits.

Owns the contradictions. Each says both sides, with the working of each, at the line of the
field concerned. It must never resolve one: a person who can ask the prescriber does that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coach.errors import Problem
from coach.nodes import Node
from coach.orders.care import CARE_CHECKS
from coach.orders.clash import Check, Clash, spoken
from coach.orders.floors import (
    HIGHEST_RATE,
    LEAST_SHARE_LEFT,
    LOWEST_RATE,
    MOST_THROUGH,
    SHORTEST_INFUSION,
    SMALLEST_GAP,
    WIDEST_TOLERANCE,
)
from coach.orders.quantities import (
    dose_of,
    in_unit,
    more,
    rate_of,
    rounded,
    same,
    shown,
    time_of,
    total,
    volume_of,
)
from coach.orders.rounding import rate_is_rounded, strength_is_rounded
from coach.orders.schedule import smallest_gap, span
from coach.orders.sheet import OrderSheet


def contradictions(sheet: OrderSheet, root: Node, unread: frozenset[str]) -> tuple[Problem, ...]:
    """Return every contradiction in *sheet*, read from *root*, from the top of the file down.

    A check that looks at one of the *unread* fields is left out: it would speak of a stand-in.
    """
    places = _places(root)
    found: list[Problem] = []
    for check, fields in (*CHECKS.items(), *CARE_CHECKS.items()):
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


def _born(sheet: OrderSheet) -> Iterator[Clash]:
    if sheet.sheet.date < sheet.person.born:
        yield Clash(
            "sheet.date",
            f"a date on or after {sheet.person.born}, when the person was born",
            str(sheet.sheet.date),
        )


def _dose(sheet: OrderSheet) -> Iterator[Clash]:
    medicine = sheet.medicine
    given = dose_of(medicine.strength, medicine.volume)
    of_a_kind = (medicine.dose.unit == "units") == (given.unit == "units")
    if not same(medicine.dose, given) and not (of_a_kind and strength_is_rounded(medicine)):
        working = f"{shown(medicine.strength)} × {shown(medicine.volume)} = {shown(given)}"
        found = shown(medicine.dose)
        if of_a_kind:
            volume = volume_of(medicine.dose, medicine.strength)
            found += f", which would be {found} ÷ {shown(medicine.strength)} = {shown(volume)}"
        yield Clash("medicine.dose", f"{shown(given)}, as {working}", found)


def _infusion_time(sheet: OrderSheet) -> Iterator[Clash]:
    medicine = sheet.medicine
    if more(SHORTEST_INFUSION, medicine.infusion_time):
        expected = f"at least {shown(SHORTEST_INFUSION)}"
        yield Clash("medicine.infusion_time", expected, shown(medicine.infusion_time), "")
    worked = time_of(medicine.volume, medicine.rate, "min")
    written = rounded(medicine.infusion_time, "min")
    if not same(worked, written) and not rate_is_rounded(medicine):
        working = f"{shown(medicine.volume)} ÷ {shown(medicine.rate)} = {shown(worked)}"
        rate = rate_of(medicine.volume, medicine.infusion_time)
        other = f"{shown(medicine.volume)} ÷ {shown(medicine.infusion_time)} = {shown(rate)}"
        yield Clash(
            "medicine.infusion_time",
            f"{shown(worked)}, as {working}",
            f"{shown(medicine.infusion_time)}, which would be {other}",
        )


def _rate(sheet: OrderSheet) -> Iterator[Clash]:
    rate, band = sheet.medicine.rate, f"{shown(LOWEST_RATE)} to {shown(HIGHEST_RATE)}"
    if more(LOWEST_RATE, rate) or more(rate, HIGHEST_RATE):
        yield Clash("medicine.rate", f"a rate that a pump can run, {band}", shown(rate), "")


def _highest_rate(sheet: OrderSheet) -> Iterator[Clash]:
    highest = sheet.limits.highest_rate
    if highest is None:
        return
    if more(highest, HIGHEST_RATE):
        yield Clash(
            "limits.highest_rate",
            f"at most {shown(HIGHEST_RATE)}, as a limit can only be stricter",
            shown(highest),
            "",
        )
    if more(sheet.medicine.rate, highest):
        yield Clash(
            "medicine.rate",
            f"at most {shown(highest)}, the agency's highest rate",
            shown(sheet.medicine.rate),
        )


def _left(sheet: OrderSheet) -> Iterator[Clash]:
    left, volume = sheet.pump.left_when_done, sheet.medicine.volume
    if more(total(*(left,) * LEAST_SHARE_LEFT), volume):
        yield Clash(
            "pump.left_when_done",
            f"at most a fifth of the bag's {shown(volume)}, or much of a dose could be missing",
            shown(left),
            "",
        )


def _residual(sheet: OrderSheet) -> Iterator[Clash]:
    residual, volume = sheet.pump.residual, sheet.medicine.volume
    if not more(volume, residual):
        expected = f"less than the {shown(volume)} of the dose"
        yield Clash("pump.residual", expected, shown(residual))


def _keep_open(sheet: OrderSheet) -> Iterator[Clash]:
    keep_open, rate = sheet.pump.keep_open, sheet.medicine.rate
    if keep_open is None:
        return
    if more(LOWEST_RATE, keep_open):
        expected = f"a rate that a pump can run, at least {shown(LOWEST_RATE)}"
        yield Clash("pump.keep_open", expected, shown(keep_open), "")
    if more(keep_open, rate):
        expected = f"at most {shown(rate)}, the rate of the dose"
        yield Clash("pump.keep_open", expected, shown(keep_open))


def _tolerance(sheet: OrderSheet) -> Iterator[Clash]:
    tolerance = sheet.pump.tolerance
    if more(tolerance, WIDEST_TOLERANCE):
        expected = f"at most {shown(WIDEST_TOLERANCE)}"
        yield Clash("pump.tolerance", expected, shown(tolerance), "")


def _tubing_holds(sheet: OrderSheet) -> Iterator[Clash]:
    inner, volume = sheet.tubing.inner_volume, sheet.medicine.volume
    if sheet.tubing.flush_through is None and not more(volume, inner):
        expected = f"less than the {shown(volume)} of the dose, or all of it stays in the tubing"
        yield Clash("tubing.inner_volume", expected, shown(inner))


def _flush_through(sheet: OrderSheet) -> Iterator[Clash]:
    ordered, inner = sheet.tubing.flush_through, sheet.tubing.inner_volume
    if ordered is None:
        return
    most, volume = total(*(in_unit(inner, "mL"),) * MOST_THROUGH), sheet.medicine.volume
    if more(inner, ordered):
        expected = f"at least {shown(inner)}, what the tubing holds"
        yield Clash("tubing.flush_through", expected, shown(ordered))
    elif more(ordered, volume) and more(volume, inner):
        expected = f"at most {shown(volume)}, the whole volume of the dose"
        yield Clash("tubing.flush_through", expected, shown(ordered))
    elif more(ordered, most):
        working = f"{MOST_THROUGH} × {shown(inner)} = {shown(most)}"
        yield Clash("tubing.flush_through", f"at most {shown(most)}, as {working}", shown(ordered))


def _through_fits(sheet: OrderSheet) -> Iterator[Clash]:
    volume, medicine = sheet.tubing.flush_through, sheet.medicine
    if volume is None:
        return
    time = time_of(volume, medicine.rate)
    warm_up, infusion = span(sheet.bag.warm_up), span(medicine.infusion_time)
    gap, through = smallest_gap(sheet.doses), span(time)
    if warm_up + infusion < gap <= warm_up + infusion + through:
        working = f"{shown(volume)} ÷ {shown(medicine.rate)} = {shown(time)}"
        yield Clash(
            "tubing.flush_through",
            f"warming, infusion and flush-through shorter than the {spoken(gap)} between doses",
            f"{working}, so {spoken(warm_up + infusion + through)} in all",
        )


def _gap(sheet: OrderSheet) -> Iterator[Clash]:
    doses, gap = sheet.doses, smallest_gap(sheet.doses)
    if gap < SMALLEST_GAP:
        yield Clash(
            "doses.every" if doses.every else "doses.times",
            f"at least {spoken(SMALLEST_GAP)} between doses",
            f"{spoken(gap)} between two of them",
            "",
        )
    window = span(doses.window)
    if window * 2 > gap:
        yield Clash(
            "doses.window",
            f"at most {spoken(gap / 2)}, half of the {spoken(gap)} between doses",
            shown(doses.window),
        )


def _fits(sheet: OrderSheet) -> Iterator[Clash]:
    gap = smallest_gap(sheet.doses)
    warm_up, infusion = span(sheet.bag.warm_up), span(sheet.medicine.infusion_time)
    if warm_up + infusion >= gap:
        working = f"{spoken(warm_up)} of warming + {spoken(infusion)} of infusion"
        yield Clash(
            "medicine.infusion_time",
            f"warming and infusion shorter than the {spoken(gap)} between doses",
            f"{working} = {spoken(warm_up + infusion)}",
        )


def _out(sheet: OrderSheet) -> Iterator[Clash]:
    warm_up, infusion = span(sheet.bag.warm_up), span(sheet.medicine.infusion_time)
    if sheet.bag.out_at_most is not None and span(sheet.bag.out_at_most) < warm_up + infusion:
        working = f"{spoken(warm_up)} of warming + {spoken(infusion)} of infusion"
        yield Clash(
            "bag.out_at_most",
            f"at least {spoken(warm_up + infusion)}, as {working}",
            shown(sheet.bag.out_at_most),
        )


_TIMES = ("doses.times", "doses.every", "doses.first")

CHECKS: Mapping[Check, tuple[str, ...]] = {
    _born: ("sheet.date", "person.born"),
    _dose: ("medicine.dose", "medicine.strength", "medicine.volume"),
    _infusion_time: ("medicine.infusion_time", "medicine.volume", "medicine.rate"),
    _rate: ("medicine.rate",),
    _highest_rate: ("medicine.rate", "limits.highest_rate"),
    _left: ("pump.left_when_done", "medicine.volume"),
    _residual: ("pump.residual", "medicine.volume"),
    _keep_open: ("pump.keep_open", "medicine.rate"),
    _tolerance: ("pump.tolerance",),
    _tubing_holds: ("tubing.flush_through", "tubing.inner_volume", "medicine.volume"),
    _flush_through: ("tubing.flush_through", "tubing.inner_volume", "medicine.volume"),
    _through_fits: (
        *_TIMES,
        "bag.storage",
        "bag.warm_up",
        "tubing.flush_through",
        "medicine.infusion_time",
        "medicine.rate",
    ),
    _gap: (*_TIMES, "doses.window"),
    _fits: (*_TIMES, "bag.storage", "bag.warm_up", "medicine.infusion_time"),
    _out: ("bag.storage", "bag.warm_up", "bag.out_at_most", "medicine.infusion_time"),
}
"""Each check with the fields that it looks at."""
