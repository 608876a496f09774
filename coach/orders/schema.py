"""The order sheet as a JSON Schema, so that an editor completes and checks it.

Owns nothing of its own: the fields come from their one list, and what is said of each from the
comments of the demonstration sheets.
"""

from __future__ import annotations

from collections.abc import Iterable

from coach.orders.form import ROOT
from coach.orders.patch import comment_of
from coach.shapes import schema_of

TITLE = "An order sheet"


def order_schema(sheets: Iterable[str]) -> dict[str, object]:
    """Return the schema of an order sheet, each field explained by the comments in *sheets*.

    Raises FileProblems if one of them is no sheet at all.
    """
    texts = tuple(sheets)

    def says(field: str) -> str:
        return next(filter(None, (comment_of(text, field) for text in texts)), "")

    return schema_of(ROOT, TITLE, says)
