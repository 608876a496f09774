"""How lines and boxes are named on paper: numbers as ranges, boxes by letters.

Owns the names alone. It must never know what stands under one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from string import ascii_uppercase

LETTERS = "".join(letter for letter in ascii_uppercase if letter not in "IOQU")
"""What boxes are called: I and O look like figures, and U has been read as 0 or as units."""


def letter_ranges(places: Iterable[int], letters: Sequence[str]) -> str:
    """Return the *letters* at *places* as ranges, each with its first and last."""
    return ", ".join(
        "–".join(dict.fromkeys((letters[run[0]], letters[run[-1]]))) for run in runs_of(places)
    )


def letter_of(place: int) -> str:
    """Return the letter of the box at *place*, from 0: A to Z, then AA and on."""
    round_, letter = divmod(place, len(LETTERS))
    return (LETTERS[round_ - 1] if round_ else "") + LETTERS[letter]


def ranges(numbers: Iterable[int]) -> str:
    """Return *numbers* as ranges, each with its first and last."""
    return ", ".join("–".join(map(str, dict.fromkeys((r[0], r[-1])))) for r in runs_of(numbers))


def runs_of(numbers: Iterable[int]) -> list[list[int]]:
    """Return *numbers* in order, those together that follow one another."""
    found: list[list[int]] = []
    for number in sorted(set(numbers)):
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return found
