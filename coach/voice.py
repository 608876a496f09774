"""One line said, one line heard: what every conversation in plain lines is made of.

Owns the writing and reading of a line. It must never know what a line means.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from textwrap import fill
from typing import TextIO

from coach import words
from coach.clean import one_line
from coach.lines import Lines

LONGEST_LINE = 200
"""Characters. What is longer was pasted by mistake, and no part of it is taken."""


class Gone(Exception):
    """The input has ended, or the person left."""


class Voice:
    """Says lines, and hears them."""

    def __init__(self, lines: Lines, out: TextIO, columns: Callable[[], int] | None = None) -> None:
        """Read *lines* and write to *out*.

        *columns* tells how wide a terminal is, so that no word is broken at its edge; without it
        each sentence stays one line.
        """
        self.lines = lines
        self.out = out
        self.columns = columns

    def say(self, text: str) -> None:
        """Write one sentence, in as many lines as the terminal needs for it."""
        line = one_line(text)
        if self.columns is not None:
            line = fill(line, max(self.columns(), 1), break_on_hyphens=False)
        self.out.write(line + "\n")
        self.out.flush()

    def say_all(self, texts: Iterable[str]) -> None:
        """Write several lines."""
        for text in texts:
            self.say(text)

    def hear(self) -> str:
        """Return the next line, folded. Raises Gone at the end of the input."""
        while True:
            line = self.lines.line()
            if line is None:
                raise Gone
            if len(line) <= LONGEST_LINE:
                return one_line(line)
            self.say(words.TOO_LONG)
