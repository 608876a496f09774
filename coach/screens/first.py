"""The first start: what the coach is for, and what it does not replace.

Owns the notice. Whether it was seen is kept by the journal.
"""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget

from coach import words
from coach.errors import CoachError
from coach.screens.card import contact_lines
from coach.screens.contacts import ContactsScreen
from coach.screens.frame import DOSE_STYLES, Frame
from coach.screens.widgets.words import Words
from coach.sitting.desk import Desk


class FirstScreen(Frame):
    """What the coach is for, and what it does not replace; shown once."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, desk: Desk) -> None:
        """Take the *desk* that keeps whether it was seen."""
        super().__init__()
        self.desk = desk

    def parts(self) -> Iterable[Widget]:
        """Return the notice, whom to call, and when to call for help at once."""
        contacts = self.desk.contacts()
        number = self.desk.sheet.contacts.emergency_number
        yield Words(words.FIRST, id="sentence")
        yield Words(words.FIRST_EMERGENCY.format(number=number), id="asks")
        yield Words(f"{words.FIRST_CALL}\n{contact_lines(contacts)}", classes="list")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.FIRST_TITLE)
        self.show_keys(
            ("Esc", words.CALL_TITLE), ("Enter", words.KEY_UNDERSTOOD), ("q", words.KEY_LEAVE)
        )

    def enter(self) -> None:
        """Keep that it was seen, and go on."""
        try:
            self.desk.journal.mark_first_start()
        except CoachError as error:
            self.notice(str(error))
        else:
            self.back()

    def trouble(self) -> None:
        """Show whom to call."""
        self.app.push_screen(ContactsScreen(self.desk.contacts()))

    def leave(self) -> None:
        """Leave: it is shown again the next time."""
        self.app.exit()
