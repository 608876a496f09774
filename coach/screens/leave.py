"""Leaving the coach while a dose is under way.

Owns the question. What an absence means for the dose is the sitting's affair.
"""

from __future__ import annotations

from collections.abc import Iterable

from textual.widget import Widget

from coach import words
from coach.errors import CoachError
from coach.screens.frame import DOSE_STYLES, Frame, numbered, numbers
from coach.screens.widgets.words import Words
from coach.sitting.sitting import Sitting


class LeaveScreen(Frame):
    """Asks before the coach is left with a dose under way."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, sitting: Sitting, stays: str) -> None:
        """Ask about *sitting*; *stays* says what becomes of it."""
        super().__init__()
        self.sitting = sitting
        self.stays = stays

    def parts(self) -> Iterable[Widget]:
        """Return the question and its answers."""
        yield Words(words.LEAVE_TITLE, id="sentence")
        yield Words(self.stays, id="why")
        yield Words(id="choices", classes="list")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.KEY_LEAVE)
        self.say("choices", numbered((words.LEAVE_YES, words.LEAVE_NO), self.list_width))
        self.show_keys(("Esc", words.KEY_BACK), (numbers(2), words.KEY_PICK))

    def enter(self) -> None:
        """Ask for a number: Enter alone neither leaves nor stays."""
        self.notice(words.HINT_PICK)

    def leave(self) -> None:
        """Ask for a number: leaving is what is being asked about; leave if it cannot be read."""
        if self.too_small:
            leave_coach(self, self.sitting)
        else:
            self.notice(words.HINT_PICK)

    def hint(self) -> None:
        """Ask for a number: one of them leaves."""
        self.notice(words.HINT_PICK)

    def pick(self, number: int) -> None:
        """Leave the coach, or stay."""
        if number == 2:
            self.back()
        elif number == 1:
            leave_coach(self, self.sitting)


def leave_coach(screen: Frame, sitting: Sitting) -> None:
    """Say that the table is left, and end the program; the dose stays as it is."""
    try:
        sitting.leave()
    except CoachError as error:
        screen.notice(str(error))
    else:
        screen.app.exit()
