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


def in_figures(seconds: int) -> str:
    """Return whole *seconds* as figures: 12, 1:58 or 1:01:58."""
    hours, rest = divmod(seconds, HOUR)
    minutes, left = divmod(rest, MINUTE)
    if hours:
        return f"{hours}:{minutes:02}:{left:02}"
    return f"{minutes}:{left:02}" if minutes else str(left)


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
        yield Words(id="time-left")
        yield Words(id="over-at")

    def show(self, view: View, zone: tzinfo) -> None:
        """Show the timer of *view*, with times of day in *zone*; hide where there is none."""
        timer = view.timer
        self.set_class(timer is None, "empty")
        if timer is None:
            return
        self.query_one("#figures", Digits).update(in_figures(timer.left))
        self.query_one("#time-left", Words).say(sentence(timer))
        more = []
        if view.ends_at is not None and timer.left > MINUTE:
            more.append(words.OVER_AT.format(time=clock_time(view.ends_at, zone)))
        if view.given:
            more.append(words.GIVEN.format(given=view.given))
        self.query_one("#over-at", Words).say(" ".join(more))
