"""One thing asked, one line typed, at a teaching visit.

Owns the place to type. What becomes of the answer is up to who asks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, words
from coach.errors import CoachError
from coach.says import rehearsal as texts
from coach.screens.frame import DOSE_STYLES, Frame
from coach.screens.note import LONGEST_NOTE
from coach.screens.widgets.words import Words


class OneLineScreen(Frame):
    """Asks one thing."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, asks: str, take: Callable[[str], None]) -> None:
        """Ask *asks* and give what is typed to *take*, which refuses it with a CoachError."""
        super().__init__()
        self.asks = asks
        self.take = take

    def parts(self) -> Iterable[Widget]:
        """Return the question, and a place to type."""
        yield Words(self.asks, id="sentence")
        yield Input(id="typed", max_length=LONGEST_NOTE, select_on_focus=False)

    def show(self) -> None:
        """Say what the keys do."""
        self.head(texts.TITLE)
        self.take_typing(wanted=True)
        self.show_keys(("Esc", words.KEY_BACK), ("Enter", words.KEY_KEEP))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Go back, and let what was typed be taken."""
        event.stop()
        typed, below = clean.one_line(event.value), self.app.screen_stack[-2]
        if not typed:
            self.notice(texts.TYPE_IT)
            return
        self.back()
        try:
            self.take(typed)
        except CoachError as error:
            if isinstance(below, Frame):
                below.notice(str(error))
