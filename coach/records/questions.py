"""A question at a time: what is asked for one entry, and what an answer must be.

Owns the form of every entry. It must never know what a row of the record is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal

import msgspec

from coach.errors import OrderError
from coach.says import doses as words

Check = Callable[[str, Mapping[str, str]], None]
"""Takes what was typed, and what was answered before. Raises OrderError, saying what is wanted."""

_NUMBER = re.compile(r"\d{1,5}(\.\d{1,3})?")


class Question(msgspec.Struct, frozen=True):
    """One thing that is asked for."""

    name: str
    asks: str
    """In words; may name what was answered before, in braces."""
    check: Check


class Form(msgspec.Struct, frozen=True):
    """One entry that can be written down."""

    name: str
    questions: tuple[Question, ...]
    keep: Callable[[Mapping[str, str]], str]
    """Keeps the answers, by name, and returns what to say. Raises JournalError."""

    @property
    def says(self) -> str:
        """What it is, in words."""
        return words.FORMS[self.name]

    def ask(self, number: int, answers: Mapping[str, str]) -> str:
        """Return what is asked at the question *number*, from 0."""
        asks = self.questions[number].asks
        return asks.replace("{words}", answers["words"]) if "words" in answers else asks


def something(typed: str, _: Mapping[str, str]) -> None:
    """Raise OrderError where nothing was *typed*."""
    if not typed:
        raise OrderError(words.NEEDED)


def one_of(known: Mapping[str, object], refused: str) -> Check:
    """Return the check that what was typed is one of *known*; *refused* says what is wanted."""

    def check(typed: str, _: Mapping[str, str]) -> None:
        if typed.casefold() not in known:
            raise OrderError(refused)

    return check


def asking(name: str, check: Check = something) -> Question:
    """Return the question called *name*."""
    return Question(name, words.ASKS[name], check)


def see_number(typed: str, most: Decimal) -> None:
    """Raise OrderError unless *typed* is a number up to *most*."""
    if not _NUMBER.fullmatch(typed):
        raise OrderError(words.NOT_A_NUMBER)
    if Decimal(typed) > most:
        raise OrderError(words.TOO_MUCH)
