"""How is it going: what the pump shows as left, held against the order.

Owns the place to type it, and what is said of it. Whether it fits is not decided here.
"""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, telling, words
from coach.errors import CoachError
from coach.screens.frame import DOSE_STYLES, Frame
from coach.screens.widgets.words import Words
from coach.sitting.pace import Pace, Seen


class PaceScreen(Frame):
    """Takes what the pump shows, then says what that means."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, pace: Pace, phone: str) -> None:
        """Look at *pace*; *phone* is the nurse's line."""
        super().__init__()
        self.pace = pace
        self.nurse = phone
        self.seen: Seen | None = None

    def parts(self) -> Iterable[Widget]:
        """Return the question, and a place to type."""
        yield Words(words.PACE_ASKS, id="sentence")
        yield Words(words.PACE_HOW, id="why")
        yield Input(id="typed", max_length=12, select_on_focus=False)

    def show(self) -> None:
        """Ask, or say what was found and what to do."""
        self.head(words.PACE_TITLE)
        self.take_typing(wanted=self.seen is None)
        if self.seen is None:
            self.show_keys(("Esc", words.KEY_BACK), ("Enter", words.KEY_CHECK))
            return
        first, *others = telling.pace_lines(self.seen, self.nurse)
        self.say("sentence", first)
        self.say("why", "\n".join(others))
        says = words.KEY_TELL if self.seen.off else words.KEY_BACK
        self.show_keys(("Enter", says), ("", self.nurse))

    def phone(self) -> str:
        """Return the nurse's number."""
        return self.nurse

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Hold what was typed against the order."""
        event.stop()
        try:
            self.seen = self.pace.look(clean.one_line(event.value))
        except CoachError as error:
            self.notice(str(error))
        self.show()

    def enter(self) -> None:
        """Tell the trouble where it is off, or go back."""
        if self.seen is not None and self.seen.off:
            try:
                self.pace.tell()
            except CoachError as error:
                self.notice(str(error))
                return
        self.back()
