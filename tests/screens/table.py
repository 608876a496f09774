"""A screen at a table, for tests: opened on a manual clock, and measured for what is cut."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from textual import events
from textual.message_pump import MessagePump
from textual.pilot import Pilot
from textual.widget import Widget
from textual.widgets import Input

from coach import keys, words
from coach.clock import ManualClock
from coach.screens.app import CoachApp
from coach.screens.follow import FollowScreen
from coach.screens.frame import Body, Frame
from coach.screens.widgets.words import Words
from coach.sitting.desk import Desk
from coach.sitting.sitting import Sitting
from coach.themes import DARK
from tests.person import DEMO, MORNING, Person, desk_at

LARGE, SMALL = (80, 24), (40, 12)
SIZES = (LARGE, SMALL)
DIGITS = {str(digit) for digit in range(1, 10)} | {f"1-{digit}" for digit in range(2, 10)}
NAMED = {key.shown for key in keys.KEYS} | DIGITS | {words.YES_NO, "Ctrl+Q", ""}
"""The keys in the table, by its names for them; the empty name stands before a phone number."""
CHARACTERS = {"space": " ", "full_stop": ".", "slash": "/", "enter": "\r"}
"""What a key types, where its name is longer than that."""
MOST_TURNS = 1_000
"""How often each widget is given its turn before it is taken to wait for more than messages."""
MOST_ROUNDS = 50
"""How often messages are let through before a screen that goes on changing has failed."""


@dataclass
class Table:
    """The running application, and what a test needs of it."""

    pilot: Pilot[None]
    clock: ManualClock
    desk: Desk

    @property
    def screen(self) -> Frame:
        """The screen that is on top."""
        screen = self.pilot.app.screen
        assert isinstance(screen, Frame)
        return screen

    @property
    def follow(self) -> FollowScreen:
        """The screen of the dose, on top or covered."""
        return next(s for s in self.pilot.app.screen_stack if isinstance(s, FollowScreen))

    @property
    def sitting(self) -> Sitting:
        """The dose that is under way."""
        return self.follow.sitting

    async def press(self, *keys: str) -> None:
        """Press *keys* one after the other, each once the screen has settled."""
        for key in keys:
            character = CHARACTERS.get(key, key if len(key) == 1 else None)
            self.pilot.app.post_message(events.Key(key, character))
            await self.settle()

    async def pass_time(self, seconds: float) -> None:
        """Let *seconds* pass, and let the screen look at the clock."""
        self.clock.move(seconds)
        await self.look()

    async def look(self) -> None:
        """Let the screen look at the clock and settle."""
        await self.settle()
        self.screen.look()
        await self.settle()

    async def resize(self, size: tuple[int, int]) -> None:
        """Give the window another *size* and let the screen look at it and settle."""
        await self.pilot.resize_terminal(*size)
        await self.look()

    async def settle(self) -> None:
        """Wait until every message was heard and nothing on the screen changes any more.

        The pilot's own pauses wait for an idle processor, and post a message to every widget to
        hear whether it is done, which is most of what a test takes.
        """
        before = None
        for _ in range(MOST_ROUNDS):
            await self._hear()
            now = self._stands()
            if now is None:
                return
            if now == before and self._rests():
                await self.pilot.pause(0)  # every widget says itself that it is done
                if self._rests() and self._stands() == now:
                    return
            before = now
        raise AssertionError("the screen does not come to rest")

    async def _hear(self) -> None:
        """Let every message be heard, then let the screen lay out and paint what follows."""
        for _ in range(MOST_TURNS):
            await asyncio.sleep(0)
            if self._rests():
                break
        else:
            await self.pilot.pause(0)  # something waits for more than messages
        if self.pilot.app.is_running:
            self.pilot.app.screen._on_timer_update()

    def _stands(self) -> object:
        """Return all by which one round of messages may differ from the next."""
        app = self.pilot.app
        if not app.is_running or not isinstance(app.screen, Frame):
            return None
        return (
            app.screen,
            app.size,
            app.screen.classes,
            app.screen.focused,
            [typed.value for typed in app.screen.walk_children(Input)],
            [(w.text, w.display, w.region) for w in app.screen.walk_children(Words)],
            [(body.size, body.scroll_offset) for body in app.screen.walk_children(Body)],
        )

    def _rests(self) -> bool:
        """Tell whether everything on every screen has heard all and waits for a message."""
        app = self.pilot.app
        if not app.is_running:
            return True
        # A screen that is covered calls back only once it is on top again.
        return not app.screen._callbacks and all(
            _idle(pump)
            for screen in app.screen_stack
            for pump in (app, *screen.walk_children(with_self=True))
        )

    async def walk(self, until: str) -> None:
        """Begin the dose and go on as hoped to the step *until*, or the end if it is empty."""
        if len(self.pilot.app.screen_stack) < 2:
            await self.press("enter")
        Person(self.sitting, self.clock).follow(until)
        self.follow.show()
        await self.look()

    def text(self, name: str) -> str:
        """Return what the words called *name* say, empty where they are hidden."""
        widget = self.screen.query_one(f"#{name}", Words)
        return widget.text if widget.display else ""

    @property
    def all_text(self) -> str:
        """Everything that the screen says."""
        return "\n".join(words.text for words in self.screen.query(Words) if words.display)


def _idle(pump: MessagePump) -> bool:
    """Tell whether *pump* has no message, has none under way, and waits for the next."""
    queue: Any = pump._message_queue
    return queue.empty() and any(not one.done() for one in queue.ready_event._waiters)


@asynccontextmanager
async def table(
    folder: Path,
    size: tuple[int, int] = LARGE,
    *,
    orders: Path = DEMO,
    at: datetime = MORNING,
    first: bool = False,
    start: str = "today",
    theme: str = DARK,
) -> AsyncIterator[Table]:
    """Open the application on the order sheet *orders* at the moment *at*."""
    clock = ManualClock(at)
    desk = desk_at(folder, orders, clock)
    if not first:
        desk.journal.mark_first_start()
    with desk.journal:
        async with CoachApp(desk, start, theme).run_test(size=size) as pilot:
            at_table = Table(pilot, clock, desk)
            await at_table.settle()
            yield at_table


def kinds(at_table: Table) -> list[str]:
    """Return the kinds of the events that were kept."""
    journal = at_table.desk.journal
    return [event.kind for event in journal.events(at_table.sitting.row.id)]


def misfits(at_table: Table, *, whole: bool) -> list[str]:
    """Return what is cut, and the keys where they take three rows.

    What is shown *whole* must need no scrolling either.
    """
    found = cut(at_table.screen)
    if whole and at_table.screen.overflows():
        found.append("it has to be scrolled")
    if at_table.text("keys").count("\n") > 1:
        found.append("the keys take more than two lines")
    return found


def cut(screen: Frame) -> list[str]:
    """Return what is cut off on *screen*: empty where everything can be read.

    What stands in the body may be below its lower edge, as long as the screen says so.
    """
    found = []
    body = screen.query_one(Body)
    for widget in screen.query(Widget):
        if not widget.display or not isinstance(widget, Words | Input):
            continue
        if any(not parent.display for parent in widget.ancestors if isinstance(parent, Widget)):
            continue
        inside = body in widget.ancestors
        if isinstance(widget, Words):
            found += _cut_words(widget)
        region = widget.virtual_region if inside else widget.region
        width = body.size.width if inside else screen.size.width
        if region.right > width + (1 if inside else 0) or region.x < 0:
            found.append(f"{widget.id} stands out at the side")
        if not inside and region.bottom > screen.size.height:
            found.append(f"{widget.id} stands out below")
    if screen.overflows() and not screen.query_one("#more", Words).text:
        found.append("nothing says that there is more below")
    return found


def _cut_words(widget: Words) -> list[str]:
    width, height = widget.content_size
    if not widget.text:
        return []
    lines = widget.text.split("\n")
    if widget.styles.text_wrap == "nowrap":
        fits = max(len(line) for line in lines) <= width and len(lines) <= height
    else:
        fits = widget.get_content_height(widget.size, widget.size, width) <= height
        fits = fits and max(len(word) for word in widget.text.split()) <= width
    return [] if fits else [f"{widget.id}: {widget.text!r} in {width} by {height}"]
