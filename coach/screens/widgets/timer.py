"""The time that is left, as large figures with words under them.

Owns how a timer looks. It counts nothing: what is left comes from the sitting.
"""

from __future__ import annotations

from datetime import tzinfo

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Digits

from coach import words
from coach.screens.widgets.words import Words
from coach.sitting.times import clock_time, seconds_in_words
from coach.sitting.view import Timer, View

HOUR, MINUTE = 3600, 60
ROWS = 5
"""How many rows a great figure has."""
GREAT = {
    "0": "75557", "1": "26227", "2": "71747", "3": "71717", "4": "55711", "5": "74717",
    "6": "74757", "7": "71111", "8": "75757", "9": "75717", ":": "02020",
}  # fmt: skip
"""The figures of the largest windows, row by row: of three places, those of the bits are full."""
FULL, FREE = "██", "  "


def in_figures(seconds: int) -> str:
    """Return whole *seconds* as figures: 12, 1:58 or 1:01:58."""
    hours, rest = divmod(seconds, HOUR)
    minutes, left = divmod(rest, MINUTE)
    if hours:
        return f"{hours}:{minutes:02}:{left:02}"
    return f"{minutes}:{left:02}" if minutes else str(left)


def in_great_figures(seconds: int) -> str:
    """Return whole *seconds* as figures of five rows."""
    figures = in_figures(seconds)
    rows = (FREE.join(_row(GREAT[figure][row]) for figure in figures) for row in range(ROWS))
    return "\n".join(rows)


def _row(bits: str) -> str:
    return "".join(FULL if int(bits) & place else FREE for place in (4, 2, 1))


def sentence(timer: Timer) -> str:
    """Return what *timer* says now, in words."""
    if timer.kind == "lead-in":
        return words.LEAD_IN.format(left=seconds_in_words(timer.left))
    if timer.over:
        return words.TIME_OVER
    return words.TIME_LEFT.format(
        left=seconds_in_words(timer.left), total=seconds_in_words(timer.total)
    )


class TimerPanel(Vertical):
    """Large figures in a large window, and the same in words in every window."""

    def compose(self) -> ComposeResult:
        """Build the panel."""
        yield Digits(id="figures")
        yield Words(id="great")
        yield Words(id="time-left")
        yield Words(id="over-at")

    def show(self, view: View, zone: tzinfo) -> None:
        """Show the timer of *view*, with times of day in *zone*; hide where there is none."""
        timer = view.timer
        self.set_class(timer is None, "empty")
        if timer is None:
            return
        self.query_one("#figures", Digits).update(in_figures(timer.left))
        self.query_one("#great", Words).say(in_great_figures(timer.left))
        self.query_one("#time-left", Words).say(sentence(timer))
        more = []
        if view.ends_at is not None and timer.left > MINUTE:
            more.append(words.OVER_AT.format(time=clock_time(view.ends_at, zone)))
        if view.given:
            more.append(words.GIVEN.format(given=view.given))
        self.query_one("#over-at", Words).say(" ".join(more))
