"""A clock that can leap: the rest of a long wait is skipped for practice.

Owns the seconds that were skipped. It must never go back, and never decide what may be skipped.
"""

from __future__ import annotations

from datetime import timedelta

from msgspec.structs import replace

from coach.clock import Clock, Instant


class LeapClock:
    """A clock that runs as another does, ahead of it by what was skipped."""

    def __init__(self, real: Clock, leapt: float = 0.0) -> None:
        """Run ahead of *real* by *leapt* seconds."""
        self.real = real
        self.leapt = leapt
        """Seconds by which this clock is ahead."""

    def now(self) -> Instant:
        """Return the moment that it is for practice, by both clocks."""
        now = self.real.now()
        return replace(now, at=now.at + timedelta(seconds=self.leapt), tick=now.tick + self.leapt)

    def monotonic(self) -> float:
        """Return the seconds for a hold, which never leap: no hold is cut short."""
        return self.real.monotonic()

    def sleep(self, seconds: float) -> None:
        """Return after *seconds*."""
        self.real.sleep(seconds)
