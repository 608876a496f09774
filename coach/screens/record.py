"""What is read of the record beside the list: one dose, how the doses went, the visit report.

Owns these screens, which are pages of text. Every line comes from the records.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from textual.widget import Widget

from coach import keys, words
from coach.errors import CoachError
from coach.records.drawn import change_lines, dose_lines, time_line_of, trend_lines
from coach.records.forms import forms_of
from coach.records.model import DoseRecord
from coach.records.shelf import Shelf
from coach.records.weeks import weeks_of
from coach.says import doses as dose_words
from coach.screens.ask import AddScreen
from coach.screens.frame import DOSE_STYLES, Frame
from coach.screens.widgets.words import Words
from coach.sitting.times import day_and_time
from coach.supplies import supply_lines
from coach.visit import report_of, unwrapped


class DoseScreen(Frame):
    """One dose: its time line, and all that its record says."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, shelf: Shelf, record: DoseRecord, changed: Callable[[str], None]) -> None:
        """Show *record* of *shelf*; tell *changed* once something was added to it."""
        super().__init__()
        self.shelf = shelf
        self.record = record
        self.changed = changed
        self.kept = ""

    def parts(self) -> Iterable[Widget]:
        """Return the drawing and the words."""
        yield Words(id="sentence")
        yield Words(id="drawn", classes="list")
        yield Words(id="said", classes="list")
        yield Words(id="changes", classes="list")

    def show(self) -> None:
        """Show the dose as its record stands now."""
        zone, one = self.shelf.zone, self.record
        self.head(dose_words.DOSE_TITLE, day_and_time(one.due, zone))
        first, *others = dose_lines(one, zone)
        self.say("sentence", first)
        self.say("drawn", "\n".join(time_line_of(one, zone)))
        self.say("said", "\n".join(others))
        self.say("changes", "\n".join(self._changes()))
        if self.kept:
            self.notice(self.kept)
            self.kept = ""
        self.show_keys(("Esc", words.KEY_BACK), (keys.ADD.shown, dose_words.KEY_ADD))

    def _changes(self) -> Iterable[str]:
        try:
            return tuple(change_lines(self.record, self.shelf.before(self.record), self.shelf.zone))
        except CoachError as error:
            return (str(error),)

    def letter(self, key: str) -> None:
        """Write something down of this dose."""
        if key in keys.ADD.presses:
            try:
                forms = forms_of(self.shelf, self.record)
            except CoachError as error:
                self.notice(str(error))
            else:
                self.app.push_screen(AddScreen(forms, self.anew))

    def anew(self, says: str) -> None:
        """Read the record anew, since something was added; say *says*."""
        self.record = self.shelf.anew(self.record)
        self.changed("")
        self.kept = says


class TrendsScreen(Frame):
    """How the doses of the last days went, and what is left of the supplies."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, shelf: Shelf) -> None:
        """Show the last days of *shelf*."""
        super().__init__()
        self.shelf = shelf

    def parts(self) -> Iterable[Widget]:
        """Return the count, the plots and the supplies."""
        yield Words(id="sentence")
        yield Words(id="said", classes="list")
        yield Words(id="sums", classes="list")

    def show(self) -> None:
        """Show how it went up to now."""
        self.head(dose_words.TRENDS_TITLE)
        try:
            weeks = weeks_of(self.shelf)
            told = trend_lines(*self.shelf.lately(), weeks, self.shelf.zone)
            span, counted, *others = told
            left = tuple(supply_lines(self.shelf.desk.supplies))
        except CoachError as error:
            self.notice(str(error))
        else:
            self.say("sentence", f"{span} {counted}")
            apart = "\n".join(others).strip("\n")
            self.say("said", apart.replace("\n\n", "\n") if self.small else apart)
            self.say("sums", "\n".join((dose_words.SUPPLIES_HEAD, *left)))
        self.show_keys(("Esc", words.KEY_BACK))


class ReportScreen(Frame):
    """The visit report, and what the nurse is to know besides."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, shelf: Shelf) -> None:
        """Show the report of *shelf*."""
        super().__init__()
        self.shelf = shelf
        self.kept = ""

    def parts(self) -> Iterable[Widget]:
        """Return the report."""
        yield Words(id="said", classes="list")

    def show(self) -> None:
        """Show what happened from the last visit to now."""
        self.head(dose_words.REPORT_TITLE)
        try:
            self.say("said", "\n".join(unwrapped(report_of(self.shelf))))
        except CoachError as error:
            self.kept = str(error)
        if self.kept:
            self.notice(self.kept)
            self.kept = ""
        self.show_keys(("Esc", words.KEY_BACK), (keys.ADD.shown, dose_words.KEY_ADD))

    def letter(self, key: str) -> None:
        """Write down a question, or that the nurse was here."""
        if key in keys.ADD.presses:
            forms = forms_of(self.shelf, None)
            self.app.push_screen(AddScreen(forms, self._kept))

    def _kept(self, says: str) -> None:
        self.kept = says
