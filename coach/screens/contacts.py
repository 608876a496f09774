"""The screen of everybody there is to call.

Owns nothing but its place: whom to call comes from who opens it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.widget import Widget

from coach import words
from coach.screens.card import contact_lines
from coach.screens.frame import Frame
from coach.screens.widgets.words import Words
from coach.sitting.contacts import Contact


class ContactsScreen(Frame):
    """Everybody there is to call."""

    def __init__(self, contacts: Sequence[Contact]) -> None:
        """Show *contacts*, in the order in which to call."""
        super().__init__()
        self.contacts = contacts

    def parts(self) -> Iterable[Widget]:
        """Return the list of people."""
        yield Words(id="people", classes="list")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.CALL_TITLE)
        self.say("people", contact_lines(self.contacts, "\n" if self.small else "\n\n"))
        self.show_keys(("Esc", words.KEY_BACK))
