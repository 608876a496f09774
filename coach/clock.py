"""Time as a parameter: what the clock says, handed in so that tests never sleep.

Owns the reading of the machine's clocks. It must never decide what an elapsed time means for
a dose; it only measures, and it never measures more than has passed.
"""

from __future__ import annotations

import time
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol

import msgspec


class Instant(msgspec.Struct, frozen=True):
    """A moment by two clocks: the wall clock, and a counter that nobody can set."""

    at: datetime
    """Aware. The wall clock: survives a restart of the machine, but can be set wrong."""
    tick: float
    """Seconds on a counter that only goes forward, sleep of the machine included."""
    counter: str
    """Names the run of that counter: two ticks compare only within the same run."""


def seconds_between(earlier: Instant, later: Instant) -> float:
    """Return seconds from *earlier* to *later*, never less than 0.

    Within one run of the counter the counter alone counts, so that setting the wall clock,
    a new time zone or summer time changes nothing. Across runs (the machine was restarted)
    only the wall clock is left.
    """
    if earlier.counter == later.counter:
        return max(0.0, later.tick - earlier.tick)
    # In UTC: within one zone Python subtracts the hands of the clock, summer time left out.
    passed = later.at.astimezone(UTC) - earlier.at.astimezone(UTC)
    return max(0.0, passed.total_seconds())


class Clock(Protocol):
    """What a sitting needs of time."""

    def now(self) -> Instant:
        """Return this moment."""

    def monotonic(self) -> float:
        """Return seconds for a hold: forward only, standing still while the machine sleeps."""

    def sleep(self, seconds: float) -> None:
        """Return after *seconds*; used by plain lines alone."""


class SystemClock:
    """The machine's own clocks."""

    def __init__(self) -> None:
        """Name the run of the counter: the machine's start, or else this program's."""
        self._counter = _boot_name()

    def now(self) -> Instant:
        """Return this moment, in the machine's time zone."""
        return Instant(datetime.now(UTC).astimezone(), _tick(), self._counter)

    def monotonic(self) -> float:
        """Return the machine's monotonic seconds."""
        return time.monotonic()

    def sleep(self, seconds: float) -> None:
        """Sleep at least *seconds*."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            time.sleep(left)


def _boot_name() -> str:
    if not hasattr(time, "CLOCK_BOOTTIME"):
        return f"run-{uuid.uuid4()}"
    try:
        return "boot-" + Path("/proc/sys/kernel/random/boot_id").read_text().strip()
    except OSError:
        return f"run-{uuid.uuid4()}"


def _tick() -> float:
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


class ManualClock:
    """A clock that a test moves; it refuses to go back."""

    def __init__(self, at: datetime, counter: str = "test") -> None:
        """Start at the aware moment *at*."""
        self.at = at
        self.seconds = 0.0
        self.counter = counter

    def now(self) -> Instant:
        """Return the moment that was set."""
        return Instant(self.at, self.seconds, self.counter)

    def monotonic(self) -> float:
        """Return the seconds moved so far."""
        return self.seconds

    def sleep(self, seconds: float) -> None:
        """Move by *seconds*."""
        self.move(seconds)

    def move(self, seconds: float) -> None:
        """Let *seconds* pass on both clocks. Raises ValueError on a step back."""
        if seconds < 0:
            raise ValueError("a clock does not go back")
        self.at += timedelta(seconds=seconds)
        self.seconds += seconds

    def set_wall(self, at: datetime) -> None:
        """Set the wall clock alone, as a person or a network may."""
        self.at = at

    def restart(self, counter: str) -> None:
        """Begin a new run of the counter, as a restart of the machine does."""
        self.counter = counter
        self.seconds = 0.0
