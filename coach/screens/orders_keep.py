"""What becomes of the changes to an order sheet.

Owns the question. A version number goes up only where the nurse says so.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, words
from coach.orders.fields import LONGEST_TEXT
from coach.orders.sheet import OrderSheet
from coach.says import sheet as sheet_words
from coach.screens.frame import DOSE_STYLES, Frame, numbered, numbers
from coach.screens.widgets.words import Words

if TYPE_CHECKING:
    from coach.screens.orders import OrdersScreen

NEXT, SAME, DROP = "next", "same", "drop"


class KeepScreen(Frame):
    """Asks how changes are kept, or whether they are dropped."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, screen: OrdersScreen, sheet: OrderSheet | None, *, leaving: bool) -> None:
        """Ask about the draft of *screen*, which says *sheet*; None where it is not right yet."""
        super().__init__()
        self.orders = screen
        self.answers: dict[str, str] = {}
        if sheet is not None:
            version = sheet.sheet.version + 1
            says = words.SHEET_KEEP_NEXT.format(version=version, date=screen.today())
            self.answers = {NEXT: says, SAME: words.SHEET_KEEP_SAME}
        if leaving:
            self.answers[DROP] = words.SHEET_DROP

    def parts(self) -> Iterable[Widget]:
        """Return the question and its answers."""
        yield Words(words.SHEET_KEEP_ASKS, id="sentence")
        yield Words(id="choices", classes="list")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.SHEET_TITLE)
        self.say("choices", numbered(self.answers.values(), self.list_width))
        self.show_keys(("Esc", words.KEY_BACK), (numbers(len(self.answers)), words.KEY_PICK))

    def enter(self) -> None:
        """Ask for a number: Enter alone neither keeps nor drops."""
        self.notice(words.HINT_PICK)

    def leave(self) -> None:
        """Ask for a number: whether to leave is what is being asked."""
        self.notice(words.HINT_PICK)

    def hint(self) -> None:
        """Ask for a number: one of them leaves."""
        self.notice(words.HINT_PICK)

    def pick(self, number: int) -> None:
        """Do what was picked, and go back to the list."""
        if not 1 <= number <= len(self.answers):
            return
        answer = list(self.answers)[number - 1]
        if answer == DROP:
            self.app.exit()
            return
        if answer == NEXT:
            self.app.switch_screen(SignScreen(self.orders))
            return
        self.back()
        self.orders.call_later(self.orders.keep, "")


class SignScreen(Frame):
    """Asks who checked the next version."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, screen: OrdersScreen) -> None:
        """Ask for the draft of *screen*."""
        super().__init__()
        self.orders = screen

    def parts(self) -> Iterable[Widget]:
        """Return the question and a place to type."""
        yield Words(sheet_words.SIGN_ASKS, id="sentence")
        yield Words(sheet_words.SIGN_WHY, id="why")
        yield Input(id="typed", max_length=LONGEST_TEXT, select_on_focus=False)

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.SHEET_TITLE)
        self.take_typing(wanted=True)
        self.show_keys(("Esc", words.KEY_BACK), ("Enter", words.KEY_KEEP))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep the next version with the name that was typed."""
        event.stop()
        name = clean.one_line(event.value)
        if not name:
            self.notice(sheet_words.SIGN_EMPTY)
            return
        self.back()
        self.orders.call_later(self.orders.keep, name)
