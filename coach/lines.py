"""Where plain lines come from: a person at a terminal, or a script on a pipe.

Owns the waiting for a line. A pipe lets timers run through; a person can cut in at any time.
"""

from __future__ import annotations

import select
import sys
from typing import Protocol, TextIO

from coach.clock import Clock

NO_LINE = "\x00"
"""What stands for no line having come; no line that comes from outside can be it."""


class Lines(Protocol):
    """What plain mode needs of its input."""

    def line(self) -> str | None:
        """Return the next line without its end; None when there are no more."""

    def line_within(self, seconds: float) -> str | None:
        """Wait at most *seconds* for a line; return it, NO_LINE, or None at the end."""

    def drop(self) -> None:
        """Forget what was typed before it was asked for, where a person types."""


class PipedLines:
    """Lines of a script, or of a test: a timer is never cut short by what stands in the pipe."""

    def __init__(self, source: TextIO, clock: Clock) -> None:
        """Read from *source*; pass time on *clock*."""
        self._source = source
        self._clock = clock

    def line(self) -> str | None:
        """Return the next line, or None at the end of the script."""
        read = self._source.readline()
        return read.rstrip("\r\n") if read else None

    def line_within(self, seconds: float) -> str | None:
        """Let *seconds* pass; a script does not cut in."""
        self._clock.sleep(seconds)
        return NO_LINE

    def drop(self) -> None:
        """Keep every line: a script is written before anything is asked."""


class TypedLines:
    """Lines that a person types at a terminal."""

    def line(self) -> str | None:
        """Return the next line, or None when the terminal is closed."""
        read = sys.stdin.readline()
        return read.rstrip("\r\n") if read else None

    def line_within(self, seconds: float) -> str | None:
        """Return a line that is typed within *seconds*, else NO_LINE."""
        ready, _, _ = select.select([sys.stdin], [], [], max(0.0, seconds))
        return self.line() if ready else NO_LINE

    def drop(self) -> None:
        """Forget what was typed and not read yet: it was no answer to what is asked next."""
        import termios  # there is none on Windows, where lines come as from a pipe

        termios.tcflush(sys.stdin, termios.TCIFLUSH)
