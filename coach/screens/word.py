"""The word that a dose may be started after a stop, or soon after the last one.

Owns the question. Whether it has to be asked comes from the desk.
"""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, words
from coach.screens.card import contact_lines
from coach.screens.frame import DOSE_STYLES, LONGEST_TYPED, Frame
from coach.screens.today import TodayScreen
from coach.screens.widgets.words import Words


class WordScreen(Frame):
    """Asks who said that a dose may be started."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, today: TodayScreen) -> None:
        """Begin the dose from *today* once somebody is named."""
        super().__init__()
        self.today = today

    def parts(self) -> Iterable[Widget]:
        """Return the question, and a place to type."""
        why = words.WORD_FOR[self.today.desk.today().word_for]
        yield Words(words.WORD_ASKS.format(why=why), id="sentence")
        yield Words(words.WORD_HOW, id="why")
        yield Input(id="typed", max_length=LONGEST_TYPED, select_on_focus=False)
        yield Words(contact_lines(self.today.desk.contacts()), classes="list")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.WORD_TITLE)
        self.take_typing(wanted=True)
        self.show_keys(("Esc", words.KEY_BACK), ("Enter", words.KEY_START))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Begin the dose on the word of who is named."""
        event.stop()
        who = clean.one_line(event.value)
        if not who:
            self.notice(words.WORD_EMPTY)
            return
        desk = self.today.desk
        self.back()
        self.today.open(lambda: desk.begin(who))
