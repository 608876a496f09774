"""The doses so far: the days with a mark and a word for each, and what can be found among them.

Owns the list and the search in it. Only the days that are shown are read.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from textwrap import fill

from textual.geometry import Region
from textual.widget import Widget
from textual.widgets import Input

from coach import clean, keys, words
from coach.errors import CoachError
from coach.orders.times import day_starts
from coach.records.drawn import row_of, strip
from coach.records.forms import forms_of
from coach.records.model import DoseRecord
from coach.records.shelf import ENOUGH, Shelf
from coach.says import doses as dose_words
from coach.says import report as report_words
from coach.screens.ask import AddScreen
from coach.screens.frame import DOSE_STYLES, Frame, numbered, numbers
from coach.screens.record import DoseScreen, ReportScreen, TrendsScreen
from coach.screens.widgets.words import Words
from coach.sitting.times import day_in_full

FOUND_BY = (
    report_words.STATUS["completed"],
    report_words.SHORT,
    *(
        report_words.STATUS[one]
        for one in ("stopped", "not-done", "in-progress", "entered-in-error")
    ),
)
"""What the search offers: how a dose stands, in words."""
STRIP_DAYS = timedelta(days=7)
HANG = " " * 10


class RecordsScreen(Frame):
    """The doses of some days, the newest first."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, shelf: Shelf) -> None:
        """Show the doses of *shelf*."""
        super().__init__()
        self.shelf = shelf
        self.words = ""
        self.found: list[DoseRecord] = []
        self.older = shelf.today()
        """The first day that was not looked into yet."""
        self.wanted = ENOUGH
        """As many as are looked for now."""
        self.going_on = False
        """Whether the next days will be looked into once what was found is painted."""
        self.at = 0
        """The dose that is marked."""
        self.kept = ""
        self.looked = False
        """Whether the doses were looked into, beyond how each stands."""

    def parts(self) -> Iterable[Widget]:
        """Return the strip of days, and the list."""
        yield Words(id="sentence")
        yield Words(id="strip", classes="list")
        yield Words(id="choices")

    def show(self) -> None:
        """Show what was found, reading the newest days first where nothing is there yet.

        The first time of all the doses are looked into once the list was painted. A search goes
        on some days at a time, so that what it found is there soon, and keys are taken.
        """
        self.head(dose_words.TITLE)
        if not self.found:
            self._read_on()
            if not self.looked:
                self.call_after_refresh(self._look_closely)
        if self._looks_on() and not self.going_on:
            self.going_on = True
            self.call_after_refresh(self._go_on)
        self.say("sentence", self._headline())
        days = [one for one in self.found if one.due >= self.found[0].due - STRIP_DAYS]
        self.say("strip", strip(days, self.shelf.zone))
        lines = self._lines()
        self.say("choices", "\n".join(text for text, _ in lines))
        self._keep_in_sight(lines)
        if self.kept:
            self.notice(self.kept)
            self.kept = ""
        self.show_keys(
            ("Esc", words.KEY_BACK),
            ("Enter", dose_words.KEY_OPEN),
            (keys.MOVE.shown, words.KEY_MOVE),
            (keys.FIND.shown, dose_words.KEY_FIND),
            (keys.PACE.shown, dose_words.KEY_TRENDS),
            (keys.VISIT.shown, dose_words.KEY_REPORT),
            (keys.ADD.shown, dose_words.KEY_ADD),
        )

    def _look_closely(self) -> None:
        """Look into the doses that are shown, unless that was done."""
        if not self.looked:
            self.looked = True
            self.find(self.words)
            self.show()

    def _read_on(self) -> None:
        closely = self.looked or bool(self.words)
        try:
            more, self.older = self.shelf.back_from(self.older, self.words, closely=closely)
        except CoachError as error:
            self.kept, self.wanted = str(error), 0  # it would be the same again
        else:
            self.found += more

    def _looks_on(self) -> bool:
        """Tell whether more is looked for, and may be there."""
        try:
            return len(self.found) < self.wanted and self.shelf.older_than(self.older)
        except CoachError:
            return False

    def _go_on(self) -> None:
        """Look into the next days, unless another screen is on top by now."""
        self.going_on = False
        if not self.is_current or not self._looks_on():
            return
        if self.found:
            self._read_on()
        self.show()

    def _headline(self) -> str:
        if self.words and self._looks_on():
            at = day_starts(self.older, self.shelf.zone)
            day = day_in_full(at, self.shelf.zone)
            return dose_words.LOOKING_BACK.format(words=self.words, day=day)
        if not self.found:
            nothing = dose_words.NONE_FOUND if self.words else dose_words.NONE_YET
            return nothing.format(words=self.words)
        if self.words:
            return dose_words.LOOKING_FOR.format(words=self.words)
        given = sum(one.status == "completed" and not one.short for one in self.found)
        return dose_words.HEAD.format(given=given, due=len(self.found))

    def _lines(self) -> list[tuple[str, int]]:
        """Return the lines of the list, each with the dose it belongs to; a day's head has -1."""
        lines: list[tuple[str, int]] = []
        day: date | None = None
        for number, one in enumerate(self.found):
            if (its := one.due.astimezone(self.shelf.zone).date()) != day:
                day = its
                lines.append((day_in_full(one.due, self.shelf.zone), -1))
            mark = words.SHEET_AT if number == self.at else words.SHEET_NOT_AT
            line = f"{mark} {row_of(one, self.shelf.zone)}"
            lines.append((fill(line, self.list_width, subsequent_indent=HANG), number))
        return lines

    def _keep_in_sight(self, lines: Iterable[tuple[str, int]]) -> None:
        """Scroll to the dose that is marked, unless it is the first one."""
        if not self.at:
            self.body.scroll_home(animate=False)
            return
        before = own = 0
        for text, number in lines:
            rows = text.count("\n") + 1
            if number == self.at:
                own = rows
                break
            before += rows
        top = self.query_one("#choices", Words).virtual_region.y + before
        self.body.scroll_to_region(Region(0, top, 1, own), animate=False)

    def letter(self, key: str) -> None:
        """Mark another dose, or open what the key stands for."""
        self._look_closely()
        if key in keys.MOVE.presses:
            self._move(1 if key == keys.MOVE.presses[1] else -1)
        elif key in keys.FIND.presses:
            self.app.push_screen(FindScreen(self))
        elif key in keys.PACE.presses:
            self.app.push_screen(TrendsScreen(self.shelf))
        elif key in keys.VISIT.presses:
            self.app.push_screen(ReportScreen(self.shelf))
        elif key in keys.ADD.presses:
            self.app.push_screen(AddScreen(forms_of(self.shelf, None), self.anew))

    def _move(self, step: int) -> None:
        """Mark the dose above or below; below the last one older days are read."""
        if step > 0 and self.at + 1 == len(self.found) and not self.going_on:
            self.wanted = len(self.found) + ENOUGH
            self._read_on()
        self.at = min(max(self.at + step, 0), max(len(self.found) - 1, 0))
        self.show()

    def enter(self) -> None:
        """Open the dose that is marked."""
        self._look_closely()
        if self.found:
            self.app.push_screen(DoseScreen(self.shelf, self.found[self.at], self.anew))

    def anew(self, says: str = "") -> None:
        """Read everything anew, since something was written down; say *says*."""
        self.shelf.forget()
        self.find(self.words)
        self.kept = says
        if self.is_current:
            self.show()

    def find(self, typed: str) -> None:
        """Look for the doses with the words *typed*, from the newest on."""
        self.words, self.found, self.at, self.older = typed, [], 0, self.shelf.today()
        self.wanted = ENOUGH


class FindScreen(Frame):
    """Which doses to show."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, below: RecordsScreen) -> None:
        """Tell *below* what to look for."""
        super().__init__()
        self.below = below
        self.typing = False

    def parts(self) -> Iterable[Widget]:
        """Return the question, the list, and a place to type."""
        yield Words(id="sentence")
        yield Words(id="choices", classes="list")
        yield Input(id="typed", max_length=40, select_on_focus=False)

    def show(self) -> None:
        """Ask which doses, or for the words."""
        self.head(dose_words.FIND_TITLE)
        self.say("sentence", dose_words.ASKS["find"] if self.typing else dose_words.FIND_ASKS)
        says = (dose_words.EVERY, *FOUND_BY, dose_words.FIND_WORDS)
        self.say("choices", "" if self.typing else numbered(says, self.list_width))
        self.take_typing(wanted=self.typing)
        does = ("Enter", words.KEY_GO_ON) if self.typing else (numbers(len(says)), words.KEY_PICK)
        self.show_keys(("Esc", words.KEY_BACK), does)

    def enter(self) -> None:
        """Say how to pick: Enter alone picks nothing."""
        self.notice(words.HINT_PICK)

    def pick(self, number: int) -> None:
        """Look for the doses with this status; for all of them, or ask for words."""
        if number == len(FOUND_BY) + 2:
            self.typing = True
            self.show()
        elif number <= len(FOUND_BY) + 1:
            self._find("" if number == 1 else FOUND_BY[number - 2])

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Look for what was typed."""
        event.stop()
        self._find(clean.one_line(event.value))

    def _find(self, typed: str) -> None:
        self.below.find(typed)
        self.back()
