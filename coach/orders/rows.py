"""An order sheet row by row: each field with what is written, what is said of it and what is wrong.

Owns the place of each problem among the fields. It must never change a sheet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import msgspec

from coach.errors import FileProblems, Problem
from coach.orders.form import every_field
from coach.orders.patch import comment_of, written
from coach.orders.sheet import OrderSheet
from coach.orders.write import Draft


class Row(msgspec.Struct, frozen=True):
    """One field."""

    field: str
    """Its whole name, such as ``flush.barrel`` or ``allergies[2]``."""
    value: str
    """As it is written; empty where it is left out."""
    problems: tuple[Problem, ...] = ()


class Look(msgspec.Struct, frozen=True):
    """A sheet as it stands."""

    rows: tuple[Row, ...]
    others: tuple[Problem, ...]
    """What is wrong with no field that there can be."""
    sheet: OrderSheet | None
    """None where something is wrong."""

    @property
    def wrong(self) -> int:
        """How many things there are to look at."""
        return len(self.others) + sum(len(row.problems) for row in self.rows)


def look_at(draft: Draft) -> Look:
    """Return every field that *draft* has or may have, in the order of a sheet."""
    problems: tuple[Problem, ...] = ()
    sheet = None
    try:
        sheet = draft.sheet()
    except FileProblems as error:
        problems = error.problems
    found = dict(_fields(written(draft.text)))
    at: dict[str, list[Problem]] = {field: [] for field in found}
    others: list[Problem] = []
    for problem in problems:
        at.get(_nearest(problem.field, found), others).append(problem)
    rows = tuple(Row(field, value, tuple(at[field])) for field, value in found.items())
    return Look(rows, tuple(others), sheet)


def about(field: str, texts: Iterable[str]) -> str:
    """Return what the first of the sheets *texts* that says anything of *field* says of it."""
    item = field.partition("[")[0]
    return next(filter(None, (comment_of(text, item) for text in texts)), "")


def _fields(values: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Return each field with its value; a list has one more place than it has items."""
    for field, form in every_field():
        if form["type"] != "array":
            yield field, values.get(field, "")
            continue
        number = 1
        while f"{field}[{number}]" in values:
            yield f"{field}[{number}]", values[f"{field}[{number}]"]
            number += 1
        yield f"{field}[{number}]", ""


def _nearest(field: str, known: Iterable[str]) -> str:
    """Return the field of *known* at which a problem of *field*, which may be a group, is told."""
    if field in known:
        return field
    return next((one for one in known if field and one.startswith((f"{field}.", f"{field}["))), "")
