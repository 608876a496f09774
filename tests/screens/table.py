"""A screen at a table, for tests: opened on a manual clock, and measured for what is cut."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from textual.pilot import Pilot
from textual.widget import Widget
from textual.widgets import Input

from coach.clock import ManualClock
from coach.screens.app import CoachApp
from coach.screens.follow import FollowScreen
from coach.screens.frame import Body, Frame
from coach.screens.widgets.words import Words
from coach.sitting.desk import Desk
from coach.sitting.sitting import Sitting
from tests.person import DEMO, MORNING, Person, desk_at

LARGE, SMALL = (80, 24), (40, 12)
SIZES = (LARGE, SMALL)


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
        """Press *keys* one after the other."""
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def pass_time(self, seconds: float) -> None:
        """Let *seconds* pass, and let the screen look at the clock."""
        self.clock.move(seconds)
        await self.look()

    async def look(self) -> None:
        """Let the screen look at the clock and settle."""
        await self.pilot.pause()
        self.screen.look()
        await self.pilot.pause()
        await self.pilot.pause()

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


@asynccontextmanager
async def table(
    folder: Path,
    size: tuple[int, int] = LARGE,
    *,
    orders: Path = DEMO,
    at: datetime = MORNING,
    first: bool = False,
    start: str = "today",
) -> AsyncIterator[Table]:
    """Open the application on the order sheet *orders* at the moment *at*."""
    clock = ManualClock(at)
    desk = desk_at(folder, orders, clock)
    if not first:
        desk.journal.mark_first_start()
    with desk.journal:
        async with CoachApp(desk, start).run_test(size=size) as pilot:
            await pilot.pause()
            yield Table(pilot, clock, desk)


def kinds(at_table: Table) -> list[str]:
    """Return the kinds of the events that were kept."""
    journal = at_table.desk.journal
    return [event.kind for event in journal.events(at_table.sitting.row.id)]


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
