"""One line said, one line heard: what every conversation in plain lines is made of.

Owns the writing and reading of a line, and the few words that are answered at every prompt. It
must never know what any other line means.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from textwrap import wrap
from typing import TextIO

from coach import words
from coach.clean import one_line
from coach.lines import Lines

LONGEST_LINE = 200
"""Characters. What is longer was pasted by mistake, and no part of it is taken."""
HOW = "how"
"""Asks how the medicine is going, with what the pump shows as left."""
LIST, LIST_ALL = "list", "list all"
LISTEN = "listen"
"""Goes on as Enter does, but each time a timer speaks a line is heard: Enter lets it run on."""


_BETWEEN_SENTENCES = re.compile(
    r"(?<=[a-z0-9%)”][.?!])(?<!^\d\.)(?<!^\d\d\.)(?<!Dr\.)(?<!Mr\.)(?<!Ms\.)(?<!Mrs\.)(?<!St\.) "
    r"(?=[A-Z“])"
)
"""Where one sentence ends and the next begins: a number, an initial and a title end none."""

Asides = Mapping[str, Callable[[], Iterable[str]]]
"""What is said to each word that is asked beside an answer, such as ``?`` and ``why``."""


def asides(
    place: tuple[str, str],
    whom: Iterable[str],
    listed: Callable[[], Iterable[str]],
    all_listed: Callable[[], Iterable[str]] | None = None,
) -> Asides:
    """Return what is answered at a prompt that is no step of a dose.

    *place* says where one is, and why that is asked; *whom* is whom to call, which is the help
    that there is; *listed* says what is left of the list, and *all_listed* the whole of it if that
    is more.
    """
    where, why = place
    told = tuple(whom)
    return {
        "?": lambda: (where,),
        "why": lambda: (why,),
        "call": lambda: told,
        "wrong": lambda: told,
        LIST: listed,
        LIST_ALL: all_listed or listed,
    }


def in_columns(text: str, columns: int) -> list[str]:
    """Return *text* in lines of at most *columns* letters, for a terminal.

    What does not fit on one line has a new line for each sentence, so that none begins in the
    middle of a line and no sentence that fits is broken.
    """
    if len(text) <= columns:
        return [text]
    sentences = _BETWEEN_SENTENCES.split(text)
    return [
        line for one in sentences for line in wrap(one, columns, break_on_hyphens=False) or [""]
    ]


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
        """Write what belongs together, in as many lines as the terminal needs for it."""
        self.said.append(text)
        line = one_line(text)
        lines = [line] if self.columns is None else in_columns(line, max(self.columns(), 1))
        self.out.write("\n".join(lines) + "\n")
        self.out.flush()

    def say_all(self, texts: Iterable[str]) -> None:
        """Write several lines."""
        for text in texts:
            self.say(text)

    def hear_beside(self, asides: Asides, asked: str = "") -> str:
        """Return the next line that none of *asides* answers; those are answered at once.

        After each, *asked* is said once more: what was said last, unless it is told. ``again``
        says all that was said since the line before, unless *asides* have an answer to it. Raises
        Gone at the end of the input.
        """
        said = tuple(self.said)
        question = (asked,) if asked else said[-1:]
        while True:
            heard = self.hear()
            word = heard.casefold()
            if word in asides:
                self.say_all((*asides[word](), *question))
            elif word == "again":
                self.say_all(said)
            else:
                return heard

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
