"""One line said, one line heard: what every conversation in plain lines is made of.

Owns the writing and reading of a line. It must never know what a line means.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from textwrap import fill
from typing import TextIO

from coach import words
from coach.clean import one_line
from coach.lines import Lines

LONGEST_LINE = 200
"""Characters. What is longer was pasted by mistake, and no part of it is taken."""
HOW = "how"
"""Asks how the medicine is going, with what the pump shows as left."""
LISTEN = "listen"
"""Goes on as Enter does, but each time a timer speaks a line is heard: Enter lets it run on."""


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
        self.said: list[str] = []
        """What was said since a line was last waited for."""

    def say(self, text: str) -> None:
        """Write one sentence, in as many lines as the terminal needs for it."""
        self.said.append(text)
        line = one_line(text)
        if self.columns is not None:
            line = fill(line, max(self.columns(), 1), break_on_hyphens=False)
        self.out.write(line + "\n")
        self.out.flush()

    def say_all(self, texts: Iterable[str]) -> None:
        """Write several lines."""
        for text in texts:
            self.say(text)

    def hear_beside(self, asides: Mapping[str, Iterable[str]]) -> str:
        """Return the next line that none of *asides* answers; those are answered at once.

        ``again`` says once more what was said since the line before. Raises Gone at the end of
        the input.
        """
        while True:
            said = list(self.said)
            heard = self.hear()
            word = heard.casefold()
            if word != "again" and word not in asides:
                return heard
            self.say_all(said if word == "again" else asides[word])

    def hear(self) -> str:
        """Return the next line, folded. Raises Gone at the end of the input."""
        self.said.clear()
        while True:
            line = self.lines.line()
            if line is None:
                raise Gone
            if len(line) <= LONGEST_LINE:
                return one_line(line)
            self.say(words.TOO_LONG)
