"""The menu "Something is wrong", and the rest from the table.

Owns the order of its lines. What can have gone wrong at this moment, and what follows from it,
comes from the sitting.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial

import msgspec
from textual.widget import Widget

from coach import words
from coach.errors import CoachError
from coach.screens.contacts import ContactsScreen
from coach.screens.frame import DOSE_STYLES, Frame, numbered, numbers
from coach.screens.widgets.words import Words
from coach.sitting.show import menu_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import MenuGroup

PAGE = 9
"""Lines that a digit can pick."""


class Line(msgspec.Struct, frozen=True):
    """One line of the menu and what it does."""

    says: str
    act: Callable[[], None]


class WrongScreen(Frame):
    """What can be wrong, numbered; Escape goes back."""

    def __init__(self, sitting: Sitting) -> None:
        """Offer what can have gone wrong in *sitting* now."""
        super().__init__()
        self.sitting = sitting
        self.title_now = words.WRONG_TITLE
        self.lines: Sequence[Line] = self._top()
        self.first = 0

    def parts(self) -> Iterable[Widget]:
        """Return the list of lines."""
        yield Words(id="lines", classes="list")

    def show(self) -> None:
        """Show the page of lines."""
        nurse = self.sitting.words.contact("nurse", "Nurse")
        phone = words.CALL_LINE.format(who=nurse.who, phone=nurse.phone)
        fits = len(self.titled(self.title_now)) + len(phone) + 4 <= self.width
        self.head(self.title_now, phone if fits else "")
        page = self._page()
        says = (line.says for line in page)
        self.say("lines", numbered(says, self.list_width, "\n" if self.small else "\n\n"))
        self.show_keys(("Esc", words.KEY_BACK), (numbers(len(page)), words.KEY_PICK))

    def enter(self) -> None:
        """Ask for a number: Enter alone says nothing."""
        self.notice(words.HINT_PICK)

    def pick(self, number: int) -> None:
        """Do what the line with this number does."""
        page = self._page()
        if number <= len(page):
            try:
                page[number - 1].act()
            except CoachError as error:
                self.notice(str(error))

    def _page(self) -> Sequence[Line]:
        if len(self.lines) <= PAGE:
            return self.lines
        page = self.lines[self.first : self.first + PAGE - 1]
        return (*page, Line(words.WRONG_MORE, self._turn))

    def _turn(self) -> None:
        self.first += PAGE - 1
        if self.first >= len(self.lines):
            self.first = 0
        self._open(self.title_now, self.lines, self.first)

    def _open(self, title: str, lines: Sequence[Line], first: int = 0) -> None:
        self.title_now, self.lines, self.first = title, lines, first
        self.body.scroll_home(animate=False)
        self.show()

    def _top(self) -> Sequence[Line]:
        groups = (Line(group.says, partial(self._group, group)) for group in menu_of(self.sitting))
        return (
            *groups,
            Line(words.WRONG_LEAVE, self._rest),
            Line(words.WRONG_KEY, self._undo),
            Line(words.WRONG_CALL, self._call),
            Line(words.WRONG_NOTHING, self.back),
        )

    def _group(self, group: MenuGroup) -> None:
        items = (Line(item.says, partial(self._went_wrong, item.name)) for item in group.items)
        back = Line(words.WRONG_NOTHING, self.back)
        self._open(group.says, (*items, back))

    def _went_wrong(self, name: str) -> None:
        self.sitting.went_wrong(name)
        self.back()

    def _undo(self) -> None:
        self.sitting.undo()
        self.back()

    def _rest(self) -> None:
        self.sitting.leave()
        self.app.switch_screen(RestScreen(self.sitting))

    def _call(self) -> None:
        self.app.switch_screen(ContactsScreen(self.sitting.words.contacts("nurse")))


class RestScreen(Frame):
    """Waits until somebody is back at the table."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, sitting: Sitting) -> None:
        """Wait for the person of *sitting*."""
        super().__init__()
        self.sitting = sitting

    def parts(self) -> Iterable[Widget]:
        """Return the calm words."""
        yield Words(words.RESTING, id="sentence")
        yield Words(words.RESTING_HOW, id="why")

    def show(self) -> None:
        """Say what the keys do."""
        self.head(words.RESTING_TITLE)
        self.show_keys(("Esc", words.KEY_WRONG), ("Enter", words.KEY_I_AM_BACK))

    def back(self) -> None:
        """Say that somebody is back, and show the step."""
        try:
            self.sitting.come_back()
        except CoachError as error:
            self.notice(str(error))
        else:
            super().back()

    def leave(self) -> None:
        """Leave the coach: the table has been left already."""
        self.app.exit()

    def trouble(self) -> None:
        """Come back, then tell what is wrong."""
        try:
            self.sitting.come_back()
        except CoachError as error:
            self.notice(str(error))
        else:
            self.app.switch_screen(WrongScreen(self.sitting))
