"""The dose of an order sheet as a list on paper, and the supplies.

Owns what stands on which page. The record decides what this dose needs; the engine what follows.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from contextlib import closing
from random import Random

from coach.engine import Dose
from coach.orders.values import sheet_values, shown_values
from coach.paper.pdf import Document, Page, text_pages
from coach.paper.rows import Writing
from coach.places import practice_beside
from coach.practice.lessons import Lessons
from coach.practice.visiting import every_sheet
from coach.procedure.compose import compose
from coach.procedure.conditions import fill
from coach.records.shelf import Shelf
from coach.says import paper as words
from coach.sitting.desk import Desk
from coach.sitting.opening import Opening
from coach.sitting.times import day_and_time
from coach.sitting.view import PartNow
from coach.supplies import supply_lines
from coach.visit import report_of, unwrapped

PAGES = ("dose", "supplies", "competence", "visit")
"""What can be printed."""


def dose_on_paper(desk: Desk, pages: Collection[str]) -> Document:
    """Return the next dose by the order sheet of *desk* as a list, and what is in stock.

    *pages* are some of `PAGES`, of which each begins on a sheet of its own. Raises NotProved if
    the steps do not hold, FileProblems if the procedures cannot be used.
    """
    opening = Opening(
        desk.sheet, desk.sheet_raw, desk.procedures, desk.journal, desk.clock, desk.first_fault
    )
    opening.check()
    choices = opening.choices()
    dose = Dose(compose(opening.source, choices), sheet_values(desk.sheet), desk.zone)
    writing = Writing(dose, shown_values(desk.sheet), opening.pump_card)
    now = day_and_time(desk.clock.now().at, desk.zone)
    return Document(
        title=opening.source.title,
        head=_head(desk),
        foot=_foot(desk, opening, choices),
        pages=(
            *(dose_pages(writing, now) if "dose" in pages else ()),
            *((_stock(desk, now),) if "supplies" in pages else ()),
            *((_competence(desk, now),) if "competence" in pages else ()),
            *((_visit(desk),) if "visit" in pages else ()),
        ),
    )


def _head(desk: Desk) -> tuple[str, ...]:
    calls = (words.CALL.format(who=c.who, phone=c.phone) for c in desk.contacts())
    marked = (words.DEMONSTRATION,) if desk.sheet.demonstration else ()
    return (*calls, *marked)


def _foot(desk: Desk, opening: Opening, choices: Mapping[str, str]) -> str:
    info = desk.sheet.sheet
    kept = json.dumps([desk.sheet_raw.decode(), opening.bundle, choices], sort_keys=True)
    digits = hashlib.sha256(kept.encode()).hexdigest()
    content = f"{digits[:4]} {digits[4:8]}"  # in fours, as five figures in a row can be misread
    return words.FOOT.format(id=info.id, version=info.version, date=info.date, content=content)


def dose_pages(writing: Writing, now: str) -> tuple[Page, ...]:
    """Return the list of a dose, each part with what to do about trouble in it, and the rest.

    *now* is when the record was looked at, in words.
    """
    values, source = writing.values, writing.dose.procedure.source
    named = (words.CIRCUMSTANCES[one] for one in _circumstances(writing))
    lines = (
        fill(words.FOR, values),
        words.AS_NOW.format(time=now, circumstances="; ".join(named)),
        words.HOW,
    )
    title = fill(words.TITLE, {**values, "title": source.title})
    return (
        Page(title, lines, picture=_picture(writing), parts=writing.parts),
        Page(words.WRONG, (words.WRONG_HOW,), groups=writing.groups, fresh=False),
    )


def _stock(desk: Desk, now: str) -> Page:
    return text_pages(words.SUPPLIES.format(time=now), supply_lines(desk.supplies))


def _competence(desk: Desk, now: str) -> Page:
    """Return how far each learner is."""
    lessons = Lessons(desk, practice_beside(desk.journal.path), Random(0))
    with closing(lessons):
        lines = tuple(every_sheet(lessons, width=None))
    return text_pages(words.COMPETENCE.format(time=now), filter(None, lines))


def _visit(desk: Desk) -> Page:
    return text_pages(words.VISIT, filter(None, unwrapped(report_of(Shelf(desk)))))


def _circumstances(writing: Writing) -> list[tuple[str, str]]:
    choices = writing.dose.procedure.choices
    asked = writing.dose.procedure.source.circumstances
    return [(one.choice, choices[one.choice]) for one in asked]


def _picture(writing: Writing) -> tuple[PartNow, ...]:
    """Return the picture of the line at the line of the list where most of it is joined."""
    drawn = writing.dose.procedure.source.picture
    pictures = (
        tuple(
            PartNow(part.name, look.word, look.joined)
            for part in drawn
            for look in (next(one for one in part.looks if not state.facts & one.unless),)
        )
        for state, _ in writing.lines.walked
    )
    return max(pictures, key=lambda picture: sum(part.joined for part in picture))
