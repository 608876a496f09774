"""The supplies: what is there, how long it lasts, and writing down what came or was counted.

Owns the three screens for that. Every number comes from the supplies of the desk.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import fill

from textual.geometry import Region
from textual.widget import Widget
from textual.widgets import Input

from coach import clean, keys, words
from coach.errors import CoachError
from coach.orders.fields import LONGEST_TEXT
from coach.orders.supplies import KINDS
from coach.says import supplies as supply_words
from coach.screens.frame import DOSE_STYLES, HANG, Frame, numbered, numbers
from coach.screens.widgets.words import Words
from coach.sitting.stock import Item, Supplies
from coach.supplies import (
    batch_lines,
    capital,
    entry_lines,
    item_line,
    old_lines,
    unread_lines,
)

MOST_PICKED = 9
"""Items that a digit can pick; the others are reached by going down to them."""
MARKED = " " * 2
"""Stands before what goes on from the line above, below the mark."""


class SuppliesScreen(Frame):
    """Every item, with what is there of it."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, supplies: Supplies) -> None:
        """Show *supplies*."""
        super().__init__()
        self.supplies = supplies
        self.items: tuple[Item, ...] = ()
        self.at = 0
        """The item that is marked."""

    def parts(self) -> Iterable[Widget]:
        """Return the list of items, and what is too old."""
        yield Words(supply_words.STOCK_HEAD, id="sentence")
        yield Words(id="choices")
        yield Words(id="old", classes="list")
        yield Words(id="sums", classes="list")

    def show(self) -> None:
        """Show what is there now."""
        self.head(supply_words.STOCK_TITLE)
        try:
            self.items = self.supplies.items()
            unread = tuple(unread_lines(self.supplies))
        except CoachError as error:
            self.notice(str(error))
            self.show_keys(("Esc", words.KEY_BACK))
            return
        lines = self._lines()
        self.say("choices", "\n".join(lines) or supply_words.STOCK_NONE)
        self._keep_in_sight(lines)
        old = [
            supply_words.STOCK_ONE.format(name=capital(item.name), says=line)
            for item in self.items
            for line in old_lines(self.supplies, item)
        ]
        self.say("old", "\n".join(old))
        self.say("sums", "\n".join((*unread, supply_words.STOCK_KEPT_BACK)))
        last = min(len(self.items), MOST_PICKED)
        self.show_keys(
            ("Esc", words.KEY_BACK),
            ("Enter", words.KEY_CHANGE),
            (keys.MOVE.shown, words.KEY_MOVE),
            (numbers(last), words.KEY_PICK),
        )

    def _lines(self) -> list[str]:
        """Return each item with its number, the one that Enter opens with a mark before it."""
        told = []
        for number, item in enumerate(self.items):
            mark = words.SHEET_AT if number == self.at else words.SHEET_NOT_AT
            says = item_line(self.supplies, item)
            line = f"{mark} {words.CHOICE.format(number=number + 1, says=says)}"
            told.append(fill(line, self.list_width, subsequent_indent=MARKED + HANG))
        return told

    def _keep_in_sight(self, lines: Sequence[str]) -> None:
        """Scroll to the item that is marked, unless it is the first one."""
        before, own = (
            sum(one.count("\n") + 1 for one in part)
            for part in (lines[: self.at], lines[self.at : self.at + 1])
        )
        if self.at:
            top = self.query_one("#choices", Words).virtual_region.y + before
            self.body.scroll_to_region(Region(0, top, 1, own), animate=False)
        else:
            self.body.scroll_home(animate=False)

    def letter(self, key: str) -> None:
        """Mark the item above or below, round the end."""
        if key in keys.MOVE.presses and self.items:
            step = 1 if key == keys.MOVE.presses[1] else -1
            self.at = (self.at + step) % len(self.items)
            self.show()

    def enter(self) -> None:
        """Open the item that is marked."""
        self.pick(self.at + 1)

    def pick(self, number: int) -> None:
        """Open the item with this number."""
        if number <= len(self.items):
            self.at = number - 1
            self.app.push_screen(ItemScreen(self.supplies, self.items[self.at].key))


class ItemScreen(Frame):
    """One item: its dates, its last entries, and what can be written down of it."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, supplies: Supplies, key: str) -> None:
        """Show the item called *key* of *supplies*."""
        super().__init__()
        self.supplies = supplies
        self.key = key
        self.kept = ""

    def parts(self) -> Iterable[Widget]:
        """Return what is there, what can be written down, and what was."""
        yield Words(id="sentence")
        yield Words(supply_words.STOCK_WHAT, id="asks")
        yield Words(id="choices")
        yield Words(id="batches", classes="list")
        yield Words(id="entries", classes="list")

    def show(self) -> None:
        """Show the item as it is now."""
        self.head(supply_words.STOCK_TITLE)
        item = self.supplies.item(self.key)
        if item is None:
            return
        self.say("sentence", item_line(self.supplies, item))
        self.say(
            "choices", numbered((supply_words.STOCK_KINDS[kind] for kind in KINDS), self.list_width)
        )
        batches = (*batch_lines(self.supplies, item), *old_lines(self.supplies, item))
        self.say("batches", "\n".join(batches))
        self.say("entries", "\n".join(entry_lines(self.supplies, item)))
        self.notice(self.kept)
        self.kept = ""
        self.show_keys(("Esc", words.KEY_BACK), (numbers(len(KINDS)), words.KEY_PICK))

    def pick(self, number: int) -> None:
        """Ask for what belongs to the entry with this number."""
        item = self.supplies.item(self.key)
        if number <= len(KINDS) and item is not None:
            self.app.push_screen(EntryScreen(self, item, KINDS[number - 1]))


class EntryScreen(Frame):
    """Asks for one entry, a question at a time."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, below: ItemScreen, item: Item, kind: str) -> None:
        """Write down an entry of *kind* for *item*, and tell *below* once it is kept."""
        super().__init__()
        self.below = below
        self.item = item
        self.kind = kind
        self.asks = below.supplies.asks(kind, item)
        self.typed: dict[str, str] = {}

    def parts(self) -> Iterable[Widget]:
        """Return the question, and a place to type."""
        yield Words(id="sentence")
        yield Words(id="batches", classes="list")
        yield Input(id="typed", max_length=LONGEST_TEXT, select_on_focus=False)

    def show(self) -> None:
        """Ask what has to be typed next."""
        name = self.asks[len(self.typed)]
        self.head(capital(self.item.name))
        self.say("sentence", supply_words.STOCK_ASKS[name])
        dates = batch_lines(self.below.supplies, self.item) if name == "which" else ()
        self.say("batches", "\n".join(dates))
        self.take_typing(wanted=True)
        last = len(self.typed) + 1 == len(self.asks)
        self.show_keys(
            ("Esc", words.KEY_BACK), ("Enter", words.KEY_KEEP if last else words.KEY_GO_ON)
        )

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed; keep the entry once everything is there."""
        event.stop()
        name, written = self.asks[len(self.typed)], clean.one_line(event.value)
        try:
            self.below.supplies.check(self.kind, self.item, name, written)
            answers = {**self.typed, name: written}
            if len(answers) == len(self.asks):
                self.below.supplies.keep(self.kind, self.item, answers)
        except CoachError as error:
            self.notice(str(error))
            return
        self.query_one("#typed", Input).value = ""
        self.notice("")
        if len(answers) == len(self.asks):
            self.below.kept = supply_words.STOCK_KEPT
            self.back()
        else:
            self.typed = answers
            self.show()
