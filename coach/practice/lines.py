"""The competence sheet as a page for the chart: plain text, as wide as there is room for.

Owns its layout: a table where it fits, and else a sentence for each step. It must never say more
than the sheet does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from textwrap import wrap

from coach.clean import one_line
from coach.orders.sheet import OrderSheet
from coach.practice.competence import CompetenceSheet
from coach.says import teaching as says

WIDTH = 80
"""Columns of the page for the chart."""
TABLE_FROM = 70
"""Columns from which the levels stand in a table."""
_NAMED, _CELL = 34, 9
_HANG = "   "


def sheet_lines(
    sheet: CompetenceSheet, orders: OrderSheet, width: int | None = WIDTH
) -> tuple[str, ...]:
    """Return the lines of the page for *sheet*, which is about the doses of *orders*.

    Each is at most *width* columns. Without a width each sentence is one line, as for paper or
    for lines that are read aloud.
    """
    page = _Page(sheet, width)
    lines = (*page.head(orders), *page.visits(), *page.tables(), *page.end())
    return tuple(line.rstrip() for line in lines)


class _Page:
    """Writes one sheet."""

    def __init__(self, sheet: CompetenceSheet, width: int | None) -> None:
        self.sheet = sheet
        self.width = width
        self.across = 0
        """Visits that fit beside each other in a table, more of them follow below; 0 for none."""
        if width is not None and width >= TABLE_FROM:
            self.across = (width - _NAMED) // _CELL

    def head(self, orders: OrderSheet) -> Iterator[str]:
        """Yield whose sheet it is, and how to read it."""
        info, who = orders.sheet, self.sheet.learner
        form = says.PAGE_LEARNER if who.role else says.PAGE_LEARNER_BARE
        medicine, levels = orders.medicine.name, ", ".join(says.SHORT.values())
        yield says.PAGE_TITLE
        yield from self._all(
            orders.agency,
            form.format(name=who.name, role=who.role),
            says.PAGE_SHEET.format(sheet=info.id, version=info.version, medicine=medicine),
        )
        yield ""
        legend = (says.PAGE_LEVELS.format(levels=levels), says.PAGE_LEGEND, says.PAGE_LOWEST)
        yield from self._all(*legend, self.sheet.rule, says.NO_NUMBER)

    def visits(self) -> Iterator[str]:
        """Yield each visit, and what came of its rehearsals."""
        yield from ("", says.PAGE_VISITS)
        for number, head in enumerate(self.sheet.visits, 1):
            nurse = head.visit.nurse
            yield from self._all(says.PAGE_VISIT.format(number=number, day=head.day, nurse=nurse))
            told = [verdict.says for verdict in head.verdicts] or [says.PAGE_NO_RUN]
            yield from self._all(*told, indent=_HANG)

    def tables(self) -> Iterator[str]:
        """Yield how each step, surprise and question went at each visit."""
        places = range(len(self.sheet.visits))
        for first in places[:: self.across or len(places) or 1]:
            some = places[first : first + self.across] if self.across else places
            yield ""
            yield from self._row(says.PAGE_STEPS, [str(place + 1) for place in some], "")
            yield from self._steps(some)
            yield from self._surprises(some)
            yield from self._teach_back(some)

    def _steps(self, some: Sequence[int]) -> Iterator[str]:
        heading = ""
        for step in self.sheet.steps:
            if step.heading != heading:
                heading = step.heading
                yield from self._all(heading)
            mark = ("*" if step.critical else " ") + ("+" if step.changed else " ")
            cells = [says.SHORT.get(step.levels[place], "") for place in some]
            yield from self._row(f"{mark} {step.title}", cells)

    def _surprises(self, some: Sequence[int]) -> Iterator[str]:
        if self.sheet.surprises:
            yield from ("", says.PAGE_SURPRISES)
        for row in self.sheet.surprises:
            went = [says.PAGE_WENT.get(row.went[place], "") for place in some]
            levels = [says.SHORT.get(row.levels[place], "") for place in some]
            if self.across:
                yield from self._all(row.says)
                yield from self._row("", went)
                yield from self._row("", levels)
            else:
                both = zip(went, levels, strict=True)
                yield from self._row(row.says.rstrip("."), [_so(*one) for one in both])

    def _teach_back(self, some: Sequence[int]) -> Iterator[str]:
        if self.sheet.said_back:
            yield from ("", says.PAGE_TEACH_BACK)
        for row in self.sheet.said_back:
            whole = len(row.question.points)
            form, asks = says.PAGE_SAID, row.question.asks
            if self.across:
                yield from self._all(asks)
                asks = ""
            else:
                form = says.PAGE_SAID_TOLD
            cells = [_of(row.said[place], whole, form) for place in some]
            yield from self._row(asks.rstrip("."), cells)

    def end(self) -> Iterator[str]:
        """Yield who signed, what is missing, what comes next, and the notes."""
        sheet = self.sheet
        yield ""
        signed = says.PAGE_NOT_SIGNED
        if sheet.signed is not None:
            signed = says.PAGE_SIGNED.format(nurse=sheet.signed.nurse, day=sheet.signed_day)
        yield from self._all(signed, sheet.missing)
        nexts = [
            says.PAGE_NEXT_ROW.format(says=n.says.rstrip("."), reason=n.reason)
            for n in sheet.practise_next
        ]
        for title, lines in ((says.PAGE_NEXT, nexts), (says.PAGE_NOTES, sheet.notes)):
            if lines:
                yield from ("", title, *self._all(*lines, indent="  "))

    def _row(self, name: str, cells: Sequence[str], unmarked: str = "-") -> Iterable[str]:
        """Return one row: in a table, or as a sentence that names the visits."""
        if not self.across:
            told = ", ".join(_told(cells)) or unmarked
            row = says.PAGE_TOLD.format(title=" ".join(name.split()), cells=told)
            return self._all(row if unmarked else name)
        *above, last = wrap(name, _NAMED - 1, subsequent_indent=_HANG) or [""]
        columns = "".join(f"{cell or unmarked:<{_CELL}}" for cell in cells)
        return (*above, f"{last:<{_NAMED}}{columns}")

    def _all(self, *texts: str, indent: str = "") -> Iterator[str]:
        for text in texts:
            line = one_line(text)
            if self.width is None:
                yield line
            else:
                hang = f"{indent}  "
                yield from wrap(line, self.width, initial_indent=indent, subsequent_indent=hang)


def _so(went: str, level: str) -> str:
    return says.PAGE_WENT_SO.format(went=went, level=level) if went and level else went


def _of(said: int | None, points: int, form: str) -> str:
    return "" if said is None else form.format(said=said, points=points)


def _told(cells: Sequence[str]) -> Iterator[str]:
    """Yield what *cells* say, those beside each other that say the same in one."""
    first = 1
    for cell, same in groupby(cells):
        last = first + len(tuple(same)) - 1
        if cell:
            form = says.PAGE_CELL if first == last else says.PAGE_CELLS
            yield form.format(first=first, last=last, cell=cell)
        first = last + 1
