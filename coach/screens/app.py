"""The application: its theme, the keys that work everywhere, and the way out.

Owns what no single screen can: the trouble key, signals, and what happens when the program
itself fails. It must never know a step.
"""

from __future__ import annotations

import asyncio
import signal
import sys
from typing import ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.filter import NoColor
from textual.screen import Screen

from coach import keys
from coach.errors import ExitCode
from coach.screens.colours import COLOURS
from coach.screens.frame import Frame
from coach.screens.today import TodayScreen
from coach.sitting.desk import Desk
from coach.themes import DARK

_EVERYWHERE = ((keys.WRONG, "trouble"), (keys.HINT, "hint"))


class TableApp(App[None], inherit_bindings=False):
    """What every application of the coach has, whatever its screens show."""

    CSS_PATH = "coach.tcss"
    ENABLE_COMMAND_PALETTE = False
    AUTO_FOCUS = None
    ESCAPE_TO_MINIMIZE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(press, action, priority=True, show=False)
            for key, action in _EVERYWHERE
            for press in key.presses
        ),
        Binding("ctrl+q", "leave", priority=True, show=False),
    ]

    def __init__(self, theme: str) -> None:
        """Set *theme*, before anything is styled; with ``NO_COLOR`` there is no colour at all."""
        super().__init__()
        # The coach shows neither: a notice has a place of its own in the frame.
        self._disable_tooltips = self._disable_notifications = True
        self.register_theme(COLOURS[theme])
        self.set_reactive(App.theme, theme)
        # Before the first style is read: a change of theme reads every style once more.
        self.stylesheet.set_variables(self.get_css_variables())
        if self.no_color:
            # Textual would paint in greys of its own, which are colours to a terminal.
            self._filters = [NoColor()]
        self.failure: Exception | None = None
        """What broke, for the caller to tell calmly once the terminal is back."""

    def refresh_css(self, animate: bool = True) -> None:
        """Do nothing: the theme was there before the first style was read, and stays."""

    def on_mount(self) -> None:
        """Mind the signals."""
        self.animation_level = "none"
        if sys.platform != "win32":
            for number in (signal.SIGTERM, signal.SIGHUP):
                asyncio.get_running_loop().add_signal_handler(number, self.exit)

    def _handle_exception(self, error: Exception) -> None:
        """Keep *error* for the caller: Textual would print it with names and doses in it."""
        self.failure = error
        if self.is_headless:
            super()._handle_exception(error)
        else:
            self.exit()

    def action_trouble(self) -> None:
        """Do what Escape means on the screen that is on top."""
        if isinstance(self.screen, Frame):
            self.screen.notice("")
            self.screen.trouble()

    def action_leave(self) -> None:
        """Do what leaving means on the screen that is on top."""
        if isinstance(self.screen, Frame):
            self.screen.leave()

    def action_hint(self) -> None:
        """Say how to leave."""
        if isinstance(self.screen, Frame):
            self.screen.hint()


class CoachApp(TableApp):
    """The screens of one desk."""

    def __init__(self, desk: Desk, start: str, theme: str = DARK) -> None:
        """Open on *start*: ``today``, ``records``, or the dose by ``follow`` or ``checklist``."""
        super().__init__(theme)
        self.desk = desk
        self.start = start

    def get_default_screen(self) -> Screen[None]:
        """Open on the Today screen, with no empty one below it."""
        return TodayScreen(self.desk, straight_on="" if self.start == "today" else self.start)


def run_app(desk: Desk, start: str, theme: str = DARK) -> ExitCode:
    """Show the screens of *desk* in the colours of *theme* until the person leaves.

    *start* is ``today``, ``follow``, ``checklist`` or ``records``. Raises what broke inside, once
    the terminal is back.
    """
    return run(CoachApp(desk, start, theme))


def run(app: TableApp) -> ExitCode:
    """Show the screens of *app* until somebody leaves.

    Raises what broke inside, once the terminal is back.
    """
    app.run(mouse=False)
    if app.failure is not None:
        raise app.failure
    return ExitCode.DONE
