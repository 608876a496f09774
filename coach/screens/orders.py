"""The order sheet, for the nurse: every field in its group, and what is wrong at the field.

Owns the list and the place in it. What a field means, and how the file is written, is the order
sheet's affair.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from datetime import date

from textual.screen import Screen
from textual.widget import Widget

from coach import keys, words
from coach.clock import Clock
from coach.errors import CoachError, ExitCode
from coach.orders.dosing import Working, workings
from coach.orders.rows import Look, look_at
from coach.orders.write import Draft, save
from coach.screens.app import TableApp, run
from coach.screens.frame import Frame
from coach.screens.orders_field import FieldScreen
from coach.screens.orders_keep import KeepScreen
from coach.screens.widgets.words import Words
from coach.sheet_talk import problem_line, today_of
from coach.themes import DARK

HANG = " " * 6
"""Stands before what goes on from the line above."""
PAGE = 8
"""Fields that Space goes on by."""


class FieldLine(Words):
    """One field, and what is wrong with it or follows from it."""


class OrdersScreen(Frame):
    """Every field of one order sheet."""

    CSS_PATH = "orders.tcss"

    def __init__(self, draft: Draft, clock: Clock, explained: tuple[str, ...]) -> None:
        """Show *draft*; its own comments and then the sheets *explained* say what is what."""
        super().__init__()
        self.draft = draft
        self.clock = clock
        self.explained = (draft.text, *explained)
        self.looked: Look = look_at(draft)
        self.at = 0
        """The row that is marked."""

    def parts(self) -> Iterable[Widget]:
        """Return a line for each field."""
        yield Words(id="others")
        yield from (FieldLine() for _ in self.looked.rows)

    async def _fill(self) -> None:
        """Have as many lines as there are fields, then say what is so."""
        missing = len(self.looked.rows) - len(self.query(FieldLine))
        await self.body.mount_all([FieldLine() for _ in range(missing)])
        self.show()

    def show(self) -> None:
        """Say what is written in each field, and what is wrong with it."""
        wrong = self.looked.wrong
        says = words.SHEET_TO_LOOK_AT.format(number=wrong) if wrong else words.SHEET_RIGHT
        self.head(words.SHEET_TITLE, says)
        self.say("others", "\n".join(map(problem_line, self.looked.others)))
        lines = list(self.query(FieldLine))
        for line in lines[len(self.looked.rows) :]:
            line.say("")
            line.remove_class("-at")
        self._say_rows(lines, range(len(self.looked.rows)))
        self.show_keys(
            ("Esc", words.KEY_LEAVE),
            ("Enter", words.KEY_CHANGE),
            (keys.MOVE.shown, words.KEY_MOVE),
            (keys.KEEP.shown, words.KEY_KEEP),
        )

    def _say_rows(self, lines: Sequence[FieldLine], numbers: Iterable[int]) -> None:
        """Say what is so in the rows *numbers*, and have the one that is marked in sight."""
        sheet = self.looked.sheet
        worked = workings(sheet) if sheet is not None else ()
        for number in numbers:
            lines[number].say(self._text(number, worked))
            lines[number].set_class(number == self.at, "-at")
        if self.at:
            self.body.scroll_to_widget(lines[self.at], animate=False)
        else:
            self.body.scroll_home(animate=False)

    def _text(self, number: int, worked: Iterable[Working]) -> str:
        row = self.looked.rows[number]
        within, _, name = row.field.rpartition(".")
        mark = words.SHEET_AT if number == self.at else words.SHEET_NOT_AT
        value = row.value or words.SHEET_LEFT_OUT
        says = words.SHEET_ROW_IN if within else words.SHEET_ROW
        lines = [says.format(mark=mark, name=name, value=value)]
        lines += [HANG + problem_line(one) for one in row.problems]
        lines += [
            HANG + words.SHEET_WORKED.format(name=one.name, working=one.working)
            for one in worked
            if one.field == row.field
        ]
        lines = [textwrap.fill(line, self.width - 2, subsequent_indent=HANG) for line in lines]
        above = self.looked.rows[number - 1].field.rpartition(".")[0] if number else ""
        if within and within != above:
            lines.insert(0, words.SHEET_GROUP.format(name=within.replace(".", ", ")))
        return "\n".join(lines)

    async def take(self, draft: Draft, looked: Look) -> None:
        """Show *draft* from now on; *looked* is what is so with it."""
        self.draft, self.looked = draft, looked
        await self._fill()

    def enter(self) -> None:
        """Change the field that is marked."""
        self.app.push_screen(FieldScreen(self, self.looked.rows[self.at]))

    def scroll_on(self) -> None:
        """Go on by a page, or from the end back to the top, and take the mark along."""
        last = len(self.looked.rows) - 1
        self._mark(0 if self.at == last else min(self.at + PAGE, last))

    def _mark(self, number: int) -> None:
        """Mark another row; nothing but the two rows is drawn again."""
        before, self.at = self.at, number
        self._say_rows(list(self.query(FieldLine)), (before, number))

    def letter(self, key: str) -> None:
        """Move, or keep the changes."""
        if key in keys.MOVE.presses:
            step = 1 if key == keys.MOVE.presses[1] else -1
            self._mark((self.at + step) % len(self.looked.rows))
        elif key in keys.KEEP.presses:
            self._keep()

    def _keep(self) -> None:
        if not self.draft.changed:
            self.notice(words.SHEET_SAME)
        elif self.looked.sheet is None:
            self._go_to_a_problem()
            self.notice(words.SHEET_NOT_YET)
        else:
            self.app.push_screen(KeepScreen(self, self.looked.sheet, leaving=False))

    def _go_to_a_problem(self) -> None:
        """Mark the next field with a problem, round the end to the first."""
        number = len(self.looked.rows)
        after = [(self.at + step) % number for step in range(1, number + 1)]
        self._mark(next((n for n in after if self.looked.rows[n].problems), self.at))

    async def keep(self, signed_by: str) -> None:
        """Write the changes to the file, or say why not.

        They are the next version if *signed_by* is somebody, and else the same.
        """
        try:
            draft = self.draft
            saved = save(draft.as_next_version(self.today(), signed_by) if signed_by else draft)
        except CoachError as error:
            self.notice(str(error))
        else:
            await self.take(saved, look_at(saved))
            self.notice(words.SHEET_KEPT.format(name=saved.kept.name))

    def today(self) -> date:
        """Return the date where the person lives, or here where the sheet does not say."""
        return today_of(self.looked.sheet, self.clock)

    def trouble(self) -> None:
        """Leave: nobody's dose is on this screen."""
        self.leave()

    def leave(self) -> None:
        """Leave; ask first where something was changed."""
        if self.draft.changed and not self.too_small:
            self.app.push_screen(KeepScreen(self, self.looked.sheet, leaving=True))
        else:
            self.app.exit()


class OrdersApp(TableApp):
    """The order sheet alone."""

    def __init__(
        self, draft: Draft, clock: Clock, explained: tuple[str, ...], theme: str = DARK
    ) -> None:
        """Show *draft*; the sheets *explained* say what is what where it does not."""
        super().__init__(theme)
        self.sheet = OrdersScreen(draft, clock, explained)

    def get_default_screen(self) -> Screen[None]:
        """Open on the list of fields."""
        return self.sheet


def run_orders(draft: Draft, clock: Clock, explained: tuple[str, ...], theme: str) -> ExitCode:
    """Show *draft* until the nurse leaves. Raises what broke, once the terminal is back."""
    return run(OrdersApp(draft, clock, explained, theme))
