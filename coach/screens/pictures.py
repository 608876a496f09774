"""Pictures of every screen, made by one command from the running application.

``python -m coach.screens.pictures FOLDER`` follows the demonstration sheet on a clock of its
own and writes one SVG for each screen and size. Owns the list of pictures. It must never be
imported by the program itself.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import ExitStack, asynccontextmanager
from datetime import datetime
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from textual.pilot import Pilot

from coach.clock import ManualClock
from coach.engine import possible
from coach.journal.store import Journal
from coach.orders.quantities import Quantity, shown
from coach.orders.sheet import OrderSheet
from coach.orders.write import open_draft
from coach.places import practice_beside
from coach.practice.lessons import Lessons
from coach.procedure.files import Bundle
from coach.procedure.model import Reading
from coach.proof.finding import Finding
from coach.screens.app import CoachApp, TableApp
from coach.screens.follow import FollowScreen
from coach.screens.frame import Frame
from coach.screens.orders import OrdersApp
from coach.screens.practice import PracticeScreen
from coach.screens.rehearse import RehearseApp
from coach.sitting.desk import Desk
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import View
from coach.themes import DARK

SIZES = ((80, 24), (40, 12))
PROCEDURES = Path("procedures")
SHEET = PROCEDURES / "demo" / "orders.yaml"
AT = datetime(2026, 11, 25, 14, 2, tzinfo=ZoneInfo("America/New_York"))
"""A moment at which the demonstration sheet has a dose that can be started."""
STEPS = 1000
"""More than any dose has; a walk that is longer goes round in circles."""

_FONTS = re.compile(r"@font-face\s*{.*?}\s*", re.DOTALL)


def hoped(sitting: Sitting, clock: ManualClock) -> None:
    """Do the step to do now as it is hoped to go, moving *clock* as far as that takes."""
    view = view_of(sitting)
    if view.way in ("question", "stop"):
        sitting.answer(view.choices[0].name)
    elif view.way == "reading":
        sitting.read(reading_that_agrees(sitting))
    elif view.way == "run":
        sitting.start_run()
        while sitting.running:
            clock.move(1)
            sitting.tick()
    else:
        clock.move(view.timer.left + 1 if view.timer else 2)
        sitting.done()


def reading_that_agrees(sitting: Sitting) -> str:
    """Return what the label or the pump would show if all is well."""
    ask = sitting.step().ask
    assert isinstance(ask, Reading)
    if ask.check == "outlasts":
        return "2030-01-31"
    value = sitting.dose.values[ask.against[0]]
    return shown(value) if isinstance(value, Quantity) else value


def walk(sitting: Sitting, clock: ManualClock, until: Callable[[View], bool]) -> None:
    """Go on as hoped until the view is the one that is looked for, or the dose is over."""
    for _ in range(STEPS):
        view = view_of(sitting)
        if sitting.over or until(view):
            return
        hoped(sitting, clock)
    raise RuntimeError("The walk does not end.")


Scene = Callable[[Pilot[None], ManualClock], Awaitable[None]]


async def _open(pilot: Pilot[None]) -> FollowScreen:
    await pilot.press("enter")
    await pilot.pause()
    screen = pilot.app.screen
    assert isinstance(screen, FollowScreen)
    return screen


def _step(
    until: Callable[[View], bool], *press: str, before: float = 0, passed: float = 0
) -> Scene:
    """Return the scene of the first step that is looked for, some keys and seconds later.

    *before* so many seconds pass first.
    """

    async def scene(pilot: Pilot[None], clock: ManualClock) -> None:
        screen = await _open(pilot)
        walk(screen.sitting, clock, until)
        screen.show()
        await pilot.pause()
        clock.move(before)
        await pilot.press(*press)
        clock.move(passed)
        await settle(pilot)

    return scene


def _orders(*press: str) -> Scene:
    """Return the scene of the order sheet, some keys later."""

    async def scene(pilot: Pilot[None], clock: ManualClock) -> None:
        await pilot.press(*press)
        await settle(pilot)

    return scene


async def _as_opened(pilot: Pilot[None], clock: ManualClock) -> None:
    await settle(pilot)


async def settle(pilot: Pilot[None]) -> None:
    """Let the screen look at the clock and lay itself out."""
    await pilot.pause()
    screen = pilot.app.screen
    if isinstance(screen, Frame):
        screen.look()
    await pilot.pause()
    await pilot.pause()


def _way(way: str) -> Callable[[View], bool]:
    return lambda view: view.way == way


def _scrubs(view: View) -> bool:
    return view.way == "run" and "scrub" in view.title.lower()


def _infuses(view: View) -> bool:
    return view.way == "wait" and bool(view.given)


def _pushes(view: View) -> bool:
    return view.part.startswith("Push")


def _first_trouble(sitting: Sitting) -> str:
    """Return a trouble of the pump that can be told now and gone on from."""
    told = possible(sitting.dose.procedure, sitting.moment.state)
    return next(m.id for m in told if m.group == "pump" and "batter" in m.title)


async def _hold(pilot: Pilot[None], clock: ManualClock) -> None:
    await _step(_scrubs, "enter")(pilot, clock)
    for _ in range(8):
        clock.move(1)
        await settle(pilot)


def _supplies(*press: str) -> Scene:
    """Return the scene of the supplies after a delivery of each, some keys later."""

    async def scene(pilot: Pilot[None], clock: ManualClock) -> None:
        app = pilot.app
        assert isinstance(app, CoachApp)
        for number, item in enumerate(app.desk.supplies.items(), 1):
            date = "27 Nov 2026" if number == 2 else ""
            answers = {"number": str(96 * number), "discard": date, "lot": ""}
            app.desk.supplies.keep("delivered", item, answers)
        await pilot.press("s", *press)
        await settle(pilot)

    return scene


def _doses(*press: str) -> Scene:
    """Return the scene of the doses so far, a few hours after one in which a pump warned."""

    async def scene(pilot: Pilot[None], clock: ManualClock) -> None:
        app = pilot.app
        assert isinstance(app, CoachApp)
        sitting = app.desk.begin()
        walk(sitting, clock, _infuses)
        clock.move(40)
        sitting.went_wrong(_first_trouble(sitting))
        walk(sitting, clock, lambda view: False)
        clock.move(5 * 3600)
        await pilot.press("d")
        await settle(pilot)
        for key in press:
            await pilot.press(key)
            await settle(pilot)

    return scene


LEARNER = ("1", *"Rosa V.", "enter", *"wife", "enter", *"Nurse Ash", "enter")
"""The keys from the start of a teaching visit to its first page."""


def _teaches(*press: str, until: Callable[[View], bool] | None = None) -> Scene:
    """Return the scene of a teaching visit, some keys later.

    With *until* in a rehearsal, from the first step that is looked for.
    """

    async def scene(pilot: Pilot[None], clock: ManualClock) -> None:
        await pilot.press(*LEARNER)
        await settle(pilot)
        if until is not None:
            await pilot.press("enter")
            await settle(pilot)
            screen = pilot.app.screen
            assert isinstance(screen, PracticeScreen)
            walk(screen.sitting, clock, until)
            screen.show()
            await settle(pilot)
        for key in press:
            await pilot.press(key)
            await settle(pilot)

    return scene


SCENES: dict[str, Scene] = {
    "first-start": _as_opened,
    "today": _as_opened,
    "act": _step(_way("act")),
    "pump": _step(lambda view: view.pump is not None),
    "question": _step(_way("question")),
    "reading": _step(_way("reading"), "2", "0"),
    "refused": _step(_way("reading"), "x", "enter"),
    "stretch": _step(_scrubs),
    "lead-in": _step(_scrubs, "enter", passed=2),
    "hold": _hold,
    "warming": _step(_way("wait"), passed=42),
    "warm": _step(_way("wait"), passed=121),
    "infusion": _step(_infuses, passed=75),
    "wrong": _step(_infuses, "escape"),
    "wrong-body": _step(_infuses, "escape", "1"),
    "call-card": _step(_infuses, "escape", "1", "4"),
    "emergency": _step(_infuses, "escape", "1", "1"),
    "contacts": _step(_infuses, "escape", "8"),
    "rest": _step(_infuses, "escape", "6"),
    "how": _step(_infuses, "h", before=75),
    "how-told": _step(_infuses, "h", "5", ".", "7", "enter", before=75),
    "how-off": _step(_infuses, "h", "1", "0", "enter", before=75),
    "note": _step(_infuses, "t"),
    "list": _step(lambda view: view.pump is not None, "l"),
    "list-question": _step(_way("question"), "l"),
    "list-hold": _step(_scrubs, "l", "enter", passed=7),
    "list-waits": _step(_way("act"), "l", *["down"] * 4, "enter"),
    "list-again": _step(_pushes, "escape", "2", "2", "l"),
    "list-left": _step(_infuses, "l", "o"),
    "supplies": _supplies(),
    "supply": _supplies("2"),
    "supply-count": _supplies("2", "2", "5", "9", "enter"),
    "doses": _doses(),
    "dose": _doses(*["down"] * 4, "enter"),
    "doses-trends": _doses("h"),
    "doses-add": _doses(*["down"] * 4, "enter", "e"),
    "visit-report": _doses("v"),
    "call-answer": _step(_infuses, "escape", "1", "4", "r", *"Rest now"),
    "leave": _step(_infuses, "q"),
    "why": _step(_scrubs, "w"),
    "picture": _step(_infuses, "p"),
    "orders": _orders(*["down"] * 18),
    "orders-field": _orders(*["down"] * 18, "enter"),
    "orders-wrong": _orders(*["down"] * 18, "enter", *["backspace"] * 12, *"250 mg", "enter"),
    "finished": _step(lambda view: view.way == "finished"),
    "learners": _as_opened,
    "teaching": _teaches(),
    "teaching-words": _teaches("b", "1", "3"),
    "teaching-sheet": _teaches("c"),
    "practice": _teaches("f2", "enter", until=lambda view: view.pump is not None),
    "practice-deal": _teaches("f2", until=_way("question")),
    "practice-missed": _teaches("f2", "enter", "enter", until=_way("act")),
    "practice-skipped": _teaches("f3", until=_way("wait")),
    "practice-call": _teaches("escape", "1", "4", until=_infuses),
    "practice-keys": _teaches("f1", until=_way("act")),
    "practice-marks": _teaches("enter", "1", "2", until=lambda view: view.way == "finished"),
}


NURSES = frozenset({"orders", "orders-field", "orders-wrong"})
"""What the nurse sees, who changes an order sheet."""
TEACHING = frozenset(
    name for name in SCENES if name == "learners" or name.startswith(("teaching", "practice"))
)
"""What is seen at a teaching visit."""
SMALL_ONLY = frozenset({"why", "picture"})
"""What a large window shows all the time."""


def _taken_as_proved(bundle: Bundle, folder: Path, sheet: OrderSheet) -> Finding | None:
    """Pictures are of how a step looks; no dose is given by them."""
    return None


@asynccontextmanager
async def scene(name: str, size: tuple[int, int]) -> AsyncIterator[TableApp]:
    """Show the scene called *name* in a window of *size*."""
    clock = ManualClock(AT)
    with (
        tempfile.TemporaryDirectory() as kept,
        Journal.open(Path(kept) / "journal") as journal,
        ExitStack() as kept_open,
    ):
        if name != "first-start":
            journal.mark_first_start()
        app: TableApp
        desk = Desk(SHEET, PROCEDURES, journal, clock, _taken_as_proved)
        if name in NURSES:
            app = OrdersApp(open_draft(SHEET), clock, ())
        elif name in TEACHING:
            lessons = Lessons(desk, practice_beside(journal.path), Random(name))
            kept_open.callback(lessons.close)
            app = RehearseApp(lessons, desk.contacts(), DARK)
        else:
            app = CoachApp(desk, "today")
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await SCENES[name](pilot, clock)
            yield app


async def _picture(name: str, size: tuple[int, int], folder: Path) -> None:
    async with scene(name, size) as app:
        svg = _FONTS.sub("", app.export_screenshot(title="Kitchen table coach"))
    (folder / f"{name}-{size[0]}x{size[1]}.svg").write_text(svg, encoding="utf-8")


def main(arguments: list[str]) -> int:
    """Write every picture into the folder that is named."""
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    for name in SCENES:
        for size in SIZES[1:] if name in SMALL_ONLY else SIZES:
            asyncio.run(_picture(name, size, folder))
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
