"""The command line at another time of day, for the benchmark of the records."""

from __future__ import annotations

import os
from datetime import datetime
from unittest.mock import patch

from coach import cli, clock


def run(command: str, journal: str) -> int:
    """Run ``coach`` *command* on the record *journal*, by a clock that starts at ``NOW``."""

    class Then(clock.SystemClock):
        def __init__(self) -> None:
            super().__init__()
            started = super().now().at
            self._ahead = datetime.fromisoformat(os.environ["NOW"]) - started

        def now(self) -> clock.Instant:
            now = super().now()
            return clock.Instant(now.at + self._ahead, now.tick, now.counter)

    with patch("coach.clock.SystemClock", Then):
        return cli.main([command, "--journal", journal])
