"""Writing a note that is kept with the dose.

Owns the place to type it. Keeping it is the sitting's affair.
"""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, words
from coach.errors import CoachError
from coach.screens.frame import DOSE_STYLES, Frame
from coach.screens.widgets.words import Words
from coach.sitting.sitting import Sitting

LONGEST_NOTE = 120
"""Characters. A sentence or two, for the nurse to read."""


class NoteScreen(Frame):
    """Takes one note."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, sitting: Sitting) -> None:
        """Keep the note with *sitting*."""
        super().__init__()
        self.sitting = sitting

    def parts(self) -> Iterable[Widget]:
        """Return the question, and a place to type."""
        yield Words(words.NOTE_ASKS, id="sentence")
        yield Words(words.NOTE_HOW, id="why")
        yield Input(id="typed", max_length=LONGEST_NOTE, select_on_focus=False)

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.NOTE_TITLE)
        self.take_typing(wanted=True)
        self.show_keys(("Esc", words.KEY_BACK), ("Enter", words.KEY_KEEP))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep what was typed, and go back to the step."""
        event.stop()
        note = clean.one_line(event.value)
        if not note:
            self.notice(words.NOTE_EMPTY)
            return
        try:
            self.sitting.note(note)
        except CoachError as error:
            self.notice(str(error))
        else:
            self.back()
