"""How hard a text is to read, by counts alone.

Owns sentences, words, syllables and the grade that follows from them. Two counters of syllables
differ by up to two grades on a hard sentence, so this one is simple enough to be followed by
hand: groups of vowels, without those that are silent at the end of a word.
"""

from __future__ import annotations

import re

HIGHEST_GRADE = 6
"""Years of school. Source: American Medical Association, 4th to 6th grade (restated)."""

MOST_WORDS = 20
"""Words in one sentence. Source: HHS plain writing."""


def kincaid(words: int, sentences: int, syllables: int) -> float:
    """Return the grade, in years of school, by the formula of Kincaid 1975."""
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


def sentences_of(text: str) -> tuple[str, ...]:
    """Return the sentences of *text*; a colon does not end one, a decimal point neither."""
    return tuple(part for part in re.split(r"(?<=[.?!])\s+", text) if part)


def syllables_of(word: str) -> int:
    """Return the syllables of *word*; at least 1, so that a number counts as one."""
    letters = re.sub("[^a-z]", "", word.lower())
    groups = len(re.findall("[aeiouy]+", letters))
    silent = re.search("[^aeiouylt]e$|[^aeiouytd]ed$|[^aeiouyscgzxh]es$", letters)
    return max(1, groups - (1 if silent else 0))


def grade_of(text: str) -> float:
    """Return the grade of *text*, in years of school; its words are what stands between spaces.

    Raises ZeroDivisionError if there is no word in it.
    """
    words = text.split()
    syllables = sum(syllables_of(word) for word in words)
    return kincaid(len(words), len(sentences_of(text)), syllables)
