"""One field of an order sheet: typed, looked at with every letter, kept in the draft by Enter.

Owns the place to type. Whether a value is right is asked of the sheet as a whole, so that a
contradiction with another field shows here too.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, words
from coach.errors import CoachError, Problem
from coach.orders.dosing import workings
from coach.orders.rows import Look, Row, about, look_at
from coach.orders.write import Draft
from coach.screens.frame import DOSE_STYLES, Frame
from coach.screens.widgets.words import Words
from coach.sheet_talk import problem_line

if TYPE_CHECKING:
    from coach.screens.orders import OrdersScreen

LONGEST_VALUE = 80
"""Characters. Longer than any field takes, so that what is too long can be typed and be told of."""


class FieldScreen(Frame):
    """Takes the value of one field."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, sheet: OrdersScreen, row: Row) -> None:
        """Change *row* of the draft of *sheet*."""
        super().__init__()
        self.sheet = sheet
        self.row = row
        self.draft: Draft = sheet.draft
        """The sheet with what is typed now."""
        self.looked: Look = sheet.looked
        """What is so with it."""
        self._typed: str | None = None
        """What was looked at last."""

    def parts(self) -> Iterable[Widget]:
        """Return the name of the field, what it is, a place to type, and what follows."""
        yield Words(self.row.field, id="sentence")
        yield Words(about(self.row.field, self.sheet.explained), id="why")
        yield Input(self.row.value, id="typed", max_length=LONGEST_VALUE, select_on_focus=False)
        yield Words(id="asks")
        yield Words(id="worked", classes="list")
        yield Words(words.SHEET_HOW, id="how", classes="list")

    def show(self) -> None:
        """Say what the keys do, and what is so with what is typed."""
        self.head(words.SHEET_TITLE, self.row.field.partition(".")[0])
        self.take_typing(wanted=True)
        self.show_keys(("Esc", words.KEY_BACK), ("Enter", words.KEY_KEEP))
        self._look(self.query_one("#typed", Input).value)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Look at the sheet with what is typed now."""
        event.stop()
        self._look(event.value)

    def _look(self, typed: str) -> None:
        """Look at the sheet with *typed* in the field, unless that was looked at last."""
        if typed == self._typed:
            return
        self._typed = typed
        try:
            self.draft = self.sheet.draft.put(self.row.field, clean.one_line(typed))
        except CoachError as error:
            self.say("asks", str(error))
            self.say("worked", "")
            return
        self.looked = look_at(self.draft)
        self.say("asks", "\n".join(problem_line(one) for one in self._problems(self.looked)))
        self.say("worked", "\n".join(self._worked(self.looked)))

    def _problems(self, looked: Look) -> tuple[Problem, ...]:
        return next((row.problems for row in looked.rows if row.field == self.row.field), ())

    def _worked(self, looked: Look) -> Iterable[str]:
        """Return what follows from the fields of this group."""
        group = self.row.field.partition(".")[0]
        return (
            words.SHEET_WORKED.format(name=one.name, working=one.working)
            for one in (workings(looked.sheet) if looked.sheet is not None else ())
            if one.field.partition(".")[0] == group
        )

    async def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed into the draft, right or not yet; nothing is written to the file."""
        event.stop()
        self._look(event.value)
        await self.sheet.take(self.draft, self.looked)
        self.back()
