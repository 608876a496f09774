"""A whole dose in plain lines on a clock of its own, as a program: for a test to read.

``python -m tests.plain.a_dose_in_a_terminal FOLDER`` keeps its record in FOLDER.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from coach.clock import ManualClock
from coach.lines import PipedLines
from coach.plain import Plain
from tests.person import MORNING, desk_at


class Echoed(PipedLines):
    """Lines that stand in the transcript where they were heard, as a person would see them."""

    def line(self) -> str | None:
        """Return the next line, after writing it."""
        read = super().line()
        print(read or "")
        return read


def main(folder: Path) -> int:
    """Talk about one dose until the lines end."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    with desk.journal:
        lines = Echoed(sys.stdin, clock)
        Plain(desk, lines, sys.stdout, lambda: shutil.get_terminal_size().columns).run("today")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(Path(sys.argv[1])))
