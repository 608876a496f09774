"""What an order sheet has to agree with beside itself: the day, the pump card, and the steps.

Owns these checks. It must never read the sheet's own file.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from coach.errors import Problem
from coach.nodes import read_file
from coach.orders.quantities import shown
from coach.orders.sheet import OrderSheet


def beyond_the_sheet(
    sheet: OrderSheet, orders: str, procedures: Path, today: date
) -> Iterator[Problem]:
    """Yield what is wrong with *sheet*, read from *orders*, beside the day and its pump card."""
    info, name = sheet.sheet, sheet.pump.card
    if info.date > today:
        expected = f"a date up to today, {today}"
        yield Problem(orders, 0, 0, "sheet.date", expected, str(info.date))
    for field, ordered in (
        ("tubing.flush_through", sheet.tubing.flush_through),
        ("pump.keep_open", sheet.pump.keep_open),
    ):
        if ordered is not None:
            expected = "no such order, as no step of this coach carries it out"
            yield Problem(orders, 0, 0, field, expected, shown(ordered))
    card = procedures / "pump_cards" / f"{name}.yaml"
    if not card.is_file():
        yield Problem(orders, 0, 0, "pump.card", "a file in pump_cards", f'"{name}"')
    elif not sheet.demonstration and _is_demonstration(card):
        expected = "the card of the real pump, as this sheet is no demonstration"
        yield Problem(orders, 0, 0, "pump.card", expected, f'"{name}", an invented one')


def _is_demonstration(card: Path) -> bool:
    marked = read_file(card).value
    return (
        isinstance(marked, dict)
        and "demonstration" in marked
        and (marked["demonstration"].value == "yes")
    )
