"""The competence sheet as a page for the chart: plain text, at most 80 columns.

Owns its layout. It must never say more than the sheet does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from coach.clean import one_line
from coach.orders.sheet import OrderSheet
from coach.practice.competence import CompetenceSheet
from coach.says import teaching as says

WIDTH = 80
"""Columns of the page."""
_NAMED, _CELL = 34, 9
_ACROSS = (WIDTH - _NAMED) // _CELL
"""Visits that fit beside each other; more of them follow below."""


def sheet_lines(sheet: CompetenceSheet, orders: OrderSheet) -> tuple[str, ...]:
    """Return the lines of the page for *sheet*, which is about the doses of *orders*."""
    lines = [
        *_head(sheet, orders),
        *_visits(sheet),
        *_tables(sheet),
        *_end(sheet),
    ]
    return tuple(line.rstrip() for line in lines)


def _head(sheet: CompetenceSheet, orders: OrderSheet) -> Iterator[str]:
    info, who = orders.sheet, sheet.learner
    yield says.PAGE_TITLE
    yield from _wrapped(orders.agency)
    yield from _wrapped(says.PAGE_LEARNER.format(name=who.name, role=who.role))
    medicine = orders.medicine.name
    yield from _wrapped(
        says.PAGE_SHEET.format(sheet=info.id, version=info.version, medicine=medicine)
    )
    yield ""
    yield from _wrapped(says.PAGE_LEVELS.format(levels=", ".join(says.LEVELS.values())))
    yield from _wrapped(says.PAGE_LEGEND)
    yield from _wrapped(says.PAGE_LOWEST)
    yield from _wrapped(sheet.rule)
    yield from _wrapped(says.NO_NUMBER)


def _visits(sheet: CompetenceSheet) -> Iterator[str]:
    yield from ("", says.PAGE_VISITS)
    for number, head in enumerate(sheet.visits, 1):
        nurse = head.visit.nurse
        yield from _wrapped(says.PAGE_VISIT.format(number=number, day=head.day, nurse=nurse))
        for verdict in head.verdicts:
            yield from _wrapped(verdict.says, "   ")
        if not head.verdicts:
            yield from _wrapped(says.PAGE_NO_RUN, "   ")


def _tables(sheet: CompetenceSheet) -> Iterator[str]:
    places = range(len(sheet.visits))
    for first in places[::_ACROSS]:
        some = places[first : first + _ACROSS]
        yield from ("", _row(says.PAGE_STEPS, [str(place + 1) for place in some]))
        for step in sheet.steps:
            mark = ("*" if step.critical else " ") + ("+" if step.changed else " ")
            cells = [says.SHORT.get(step.levels[place], "-") for place in some]
            yield _row(f"{mark} {step.title}", cells)
        if sheet.surprises:
            yield from ("", says.PAGE_SURPRISES)
        for row in sheet.surprises:
            yield from _wrapped(row.says)
            yield _row("", [says.PAGE_WENT.get(row.went[place], "-") for place in some])
            yield _row("", [says.SHORT.get(row.levels[place], "-") for place in some])
        if sheet.said_back:
            yield from ("", says.PAGE_TEACH_BACK)
        for said in sheet.said_back:
            yield from _wrapped(said.question.asks)
            whole = len(said.question.points)
            yield _row("", [_of(said.said[place], whole) for place in some])


def _of(said: int | None, points: int) -> str:
    return "-" if said is None else says.PAGE_SAID.format(said=said, points=points)


def _end(sheet: CompetenceSheet) -> Iterator[str]:
    yield ""
    if sheet.signed is None:
        yield says.PAGE_NOT_SIGNED
    else:
        yield from _wrapped(says.PAGE_SIGNED.format(nurse=sheet.signed.nurse, day=sheet.signed_day))
    yield from _wrapped(sheet.missing)
    if sheet.practise_next:
        yield from ("", says.PAGE_NEXT)
    for one in sheet.practise_next:
        yield from _wrapped(says.PAGE_NEXT_ROW.format(says=one.says, reason=one.reason), "  ")
    if sheet.notes:
        yield from ("", says.PAGE_NOTES)
    for note in sheet.notes:
        yield from _wrapped(note, "  ")


def _row(name: str, cells: Sequence[str]) -> str:
    return f"{name[: _NAMED - 1]:<{_NAMED}}" + "".join(f"{cell:<{_CELL}}" for cell in cells)


def _wrapped(text: str, indent: str = "") -> list[str]:
    return wrap(one_line(text), WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
