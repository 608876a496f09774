"""The frame that every screen shares: where one is, the body, what the keys do.

Owns the places on the screen, scrolling, and the way from a key press to what it means. A
screen says what its keys do; nothing here knows a dose.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input

from coach import keys, words
from coach.screens.widgets.words import Notice, Words
from coach.window import SMALLEST

DOSE_STYLES = "dose.tcss"
"""What a screen names that has more than a sentence and lists; the Today screen does not."""
WIDEST = 100
"""Columns. Longer lines are hard to read."""
HANG = " " * 3
ROOMY = (80, 20)
"""Columns and rows from which there is room for the picture and large figures."""
HUGE = (120, 36)
"""Columns and rows from which the figures of a timer and the place of the sentence grow."""
GAP = "  "
"""What stands between two entries of the key line."""


def key_line(labels: Iterable[tuple[str, str]], width: int) -> str:
    """Return *labels* (key, what it does) in rows of at most *width*, none broken in two."""
    rows = [""]
    for key, does in labels:
        entry = f"{key} {does}".strip()
        longer = f"{rows[-1]}{GAP}{entry}" if rows[-1] else entry
        if len(longer) <= width:
            rows[-1] = longer
        else:
            rows.append(entry)
    return "\n".join(rows)


def numbered(texts: Iterable[str], width: int, between: str = "\n") -> str:
    """Return *texts* as numbered lines, wrapped at *width* with the number standing clear."""
    return between.join(
        textwrap.fill(words.CHOICE.format(number=number, says=says), width, subsequent_indent=HANG)
        for number, says in enumerate(texts, 1)
    )


def numbers(last: int) -> str:
    """Return the keys from 1 to *last*, for the key line."""
    return words.NUMBERS.format(last=last) if last > 1 else "1"


LONGEST_TYPED = 40
"""Characters. Longer than any number with its unit, or any date, that a label bears."""


class Body(VerticalScroll, can_focus=False, inherit_bindings=False):
    """The middle of a screen, which scrolls where it is too long."""


class Frame(Screen[None], inherit_bindings=False):
    """A screen with a top line, a body and a key line."""

    AUTO_FOCUS: ClassVar[str | None] = ""
    ALLOW_SELECT = False
    DEFAULT_CLASSES = " ".join(("-wide", "-tall"))  # so that the usual window is styled only once
    BEAT: ClassVar[float] = 0.2
    """Seconds between two looks at the clock."""
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (ROOMY[0], "-wide"), (HUGE[0], "-widest")]  # noqa: RUF012 - as in Textual
    VERTICAL_BREAKPOINTS = [(0, "-short"), (ROOMY[1], "-tall"), (HUGE[1], "-tallest")]  # noqa: RUF012 - as in Textual
    fresh = True
    """Whether this screen has not been on top yet."""
    seen_from = 0.0
    """When this screen came on top: a key pressed before was meant for another."""

    def compose(self) -> ComposeResult:
        """Build the frame around the screen's own parts."""
        with Vertical(id="frame"):
            with Horizontal(id="top"):
                yield Words(id="part")
                yield Words(id="place")
            with Body(id="body"):
                yield from self.parts()
            yield Words(id="more")
            yield from self.foot()
            yield Notice(id="notice")
            yield Words(id="keys")

    def parts(self) -> Iterable[Widget]:
        """Return what stands in the body."""
        return ()

    def foot(self) -> Iterable[Widget]:
        """Return what stands between the body and the key line."""
        return ()

    def on_mount(self) -> None:
        """Look at the clock from now on; what is so is shown once this screen is on top."""
        self.set_interval(self.BEAT, self.look)
        self.screen_layout_refresh_signal.subscribe(self, self._laid_out)

    def on_screen_resume(self, event: events.ScreenResume) -> None:
        """Show what is so now that this screen is on top."""
        # At first every widget has only just been styled; later, what lay below may have changed.
        event.refresh_styles = not self.fresh
        self.fresh = False
        self.seen_from = event.time
        # A key that leaves can take a screen away before it was ever painted.
        if self.is_attached and self.query("#part"):
            self.show()

    def on_resize(self) -> None:
        """Fit the words to the new size."""
        if self.too_small:
            if not self.query("#too-small"):
                self.mount(Words(id="too-small"))
            self.say("too-small", self._instead())
        self.set_class(self.too_small, "-too-small")
        self.show()

    def look(self) -> None:
        """Look at what fits and at the clock, unless another screen is on top."""
        if self.is_current:
            self.fit()
            self.beat()

    def beat(self) -> None:
        """Look at the clock; a screen that shows time says how."""

    def show(self) -> None:
        """Fill the screen with what is so now."""

    # What stands in the places of the frame

    def head(self, part: str, place: str = "") -> None:
        """Say where one is."""
        self.query_one("#part", Words).say(self.titled(part))
        self.query_one("#place", Words).say(place)

    def titled(self, part: str) -> str:
        """Return *part* with what stands in the head of every screen of this application."""
        return f"{self.app.sub_title} {part}".strip()

    def say(self, name: str, text: str) -> None:
        """Show *text* in the words called *name*."""
        self.query_one(f"#{name}", Words).say(text)

    def notice(self, text: str) -> None:
        """Show *text* calmly above the key line, until the next key."""
        self.say("notice", text)

    def show_keys(self, *labels: tuple[str, str]) -> None:
        """Show what the keys do, Escape always first; then see whether there is more below."""
        self.say("keys", key_line(labels, self.width - 2))

    def _instead(self) -> str:
        """Return what stands in a window that is too small: as many whole sentences as fit."""
        screens = (one for one in reversed(self.app.screen_stack) if isinstance(one, Frame))
        phone = next(filter(None, (one.phone() for one in screens)), "")
        lines: list[str] = []
        for text in (words.TOO_SMALL, words.TOO_SMALL_LEAVE, phone):
            longer = [*lines, *textwrap.wrap(text, self.size.width, break_on_hyphens=False)]
            if len(longer) <= self.size.height:
                lines = longer
        return "\n".join(lines or [words.TOO_SMALL])

    def phone(self) -> str:
        """Return the first number to call and whose it is, where this screen knows it."""
        return ""

    @property
    def small(self) -> bool:
        """Whether the window has room for the words alone."""
        return self.size.width < ROOMY[0] or self.size.height < ROOMY[1]

    @property
    def too_small(self) -> bool:
        """Whether the window has no room for a step, so that no key may answer one."""
        # By the window's own size: a screen that lies below another has not heard of it yet.
        width, height = self.app.size
        return width < SMALLEST[0] or height < SMALLEST[1]

    def take_typing(self, *, wanted: bool) -> None:
        """Let keys go to the place to type where that is *wanted* and can be seen."""
        typed = self.query_one("#typed", Input)
        typed.cursor_blink = False  # nothing here moves by itself but time
        typed.set_class(not wanted, "empty")
        self.set_focus(typed if wanted and not self.too_small else None)

    @property
    def width(self) -> int:
        """Columns between the edges."""
        return min(self.size.width, WIDEST)

    @property
    def list_width(self) -> int:
        """Columns that a list has."""
        return max(self.width - (2 if self.small else 8), 10)

    @property
    def body(self) -> Body:
        """The part that scrolls."""
        return self.query_one(Body)

    def overflows(self) -> bool:
        """Tell whether the body is longer than its place."""
        more = self.query_one("#more", Words)
        room = self.body.size.height + (0 if more.has_class("empty") else more.size.height)
        return self.body.virtual_size.height > room

    def _laid_out(self, _: Screen[None]) -> None:
        self.fit()

    def fit(self) -> None:
        """Say that there is more below, where there is."""
        if not self.is_current:
            return
        if not self.overflows():
            self.say("more", "")
        elif self.body.scroll_offset.y >= self.body.max_scroll_y and self.body.max_scroll_y:
            self.say("more", words.BACK_TO_TOP)
        else:
            self.say("more", words.MORE_BELOW)

    # Keys

    def on_key(self, event: events.Key) -> None:
        """Do what the key means here; every other key does nothing.

        A key that was pressed before this screen was there answers nothing on it, but may leave
        it. While something is typed, all keys but PageDown belong to it. In a window with no room
        for a step no key answers what cannot be read; the one that leaves still does.
        """
        if isinstance(self.focused, Input) and event.key != "pagedown":
            return
        event.stop()
        event.prevent_default()
        key = event.key.lower() if len(event.key) == 1 else event.key
        if event.time < self.seen_from and key not in keys.LEAVE.presses:
            return
        self.notice("")
        if self.too_small and key not in keys.LEAVE.presses:
            return
        if key in keys.MORE.presses:
            self.scroll_on()
        elif key in keys.ENTER.presses:
            self.enter()
        elif key in keys.PICK.presses:
            self.pick(int(key))
        elif key in keys.LEAVE.presses:
            self.leave()
        else:
            self.letter(key)

    def scroll_on(self) -> None:
        """Go a page down, or from the end back to the top."""
        if self.body.scroll_offset.y >= self.body.max_scroll_y:
            self.body.scroll_home(animate=False)
        else:
            self.body.scroll_page_down(animate=False)
        self.call_after_refresh(self.fit)

    def enter(self) -> None:
        """Do what Enter means on this screen: go back, unless it says otherwise."""
        self.back()

    def pick(self, number: int) -> None:
        """Take the line with this number, where there are any."""

    def letter(self, key: str) -> None:
        """Do what another key means on this screen."""

    def trouble(self) -> None:
        """Do what Escape means on this screen: go back, unless it says otherwise."""
        self.back()

    def leave(self) -> None:
        """Close this screen and leave the one below it, unless it says otherwise."""
        below = self.app.screen_stack[-2]
        self.back()
        if isinstance(below, Frame):
            below.leave()

    def hint(self) -> None:
        """Say how to leave from this screen."""
        self.notice(words.HINT_LEAVE)

    def back(self) -> None:
        """Close this screen."""
        if self.is_current:
            self.dismiss()
