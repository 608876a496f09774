"""Kincaid 1975, grade = 0.39 words/sentences + 11.8 syllables/words - 15.59 (read).

Grade 6 or below: American Medical Association, 4th to 6th grade (restated). At most 20 words a
sentence: HHS plain writing (read). Counters of syllables differ by up to two grades on hard
sentences, so two are asked: textstat 0.7.3 counts places for hyphens and finds too few
("medicine" 1); the program's own counts groups of vowels. Numbers and units are measured as they
stand in print, each as one word; names of medicines and products are left in.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator
from typing import Protocol, cast

import pytest

from coach.procedure.model import Step
from coach.procedure.teaching import read_teaching
from coach.proof.reading import (
    HIGHEST_GRADE,
    MOST_WORDS,
    grade_of,
    kincaid,
    sentences_of,
    syllables_of,
)
from coach.proof.texts import Text, card_texts, texts_of
from tests.procedure.shipped import (
    BUNDLE,
    SHEETS,
    SOURCE,
    STEPS,
    STOPS,
    filled,
    open_texts,
    values_of,
)


class Counter(Protocol):
    """What is used of textstat, which has no types of its own."""

    def set_rounding(self, rounding: bool) -> None: ...
    def flesch_kincaid_grade(self, text: str) -> float: ...
    def lexicon_count(self, text: str) -> int: ...
    def sentence_count(self, text: str) -> int: ...
    def syllable_count(self, text: str) -> int: ...


def counting(rounded: bool) -> Counter:
    """Return a counter of textstat's; one keeps its answers, even when told to round after."""
    found = cast(Counter, importlib.import_module("textstat").textstat.__class__())
    found.set_rounding(rounded)
    return found


@pytest.fixture
def counter() -> Counter:
    """Return textstat 0.7.3 without its rounding."""
    return counting(rounded=False)


def read_as_one(step: Step, sheet: str) -> str:
    """Return what *step* says under its title: what to do, why, and what is asked."""
    kinds = ("do", "why", "question")
    values = values_of(sheet)
    return " ".join(filled(t, values).words for t in texts_of(step) if t.kind in kinds)


@pytest.mark.parametrize(
    ("words", "sentences", "syllables", "grade"),
    [
        # worked out by hand from the formula
        (10, 1, 10, 0.11),
        (20, 1, 30, 9.91),
        (100, 10, 140, 4.83),
        (100, 5, 150, 9.91),
    ],
)
def test_the_formula_comes_out_as_by_hand(
    words: int, sentences: int, syllables: int, grade: float
) -> None:
    assert kincaid(words, sentences, syllables) == pytest.approx(grade)


@pytest.mark.parametrize(
    "text",
    [
        "Push a little, pause, push a little, until it is in. Never force it at all.",
        "Scrub the end and the sides of the connector hard. It is only clean once it is dry.",
    ],
)
def test_the_counter_uses_the_formula_on_its_counts(counter: Counter, text: str) -> None:
    words, sentences = counter.lexicon_count(text), counter.sentence_count(text)
    by_formula = kincaid(words, sentences, counter.syllable_count(text))
    assert counter.flesch_kincaid_grade(text) == pytest.approx(by_formula)


def test_the_counter_left_to_round_strays_from_the_formula(counter: Counter) -> None:
    """7 words, 1 sentence, 9 syllables: 2.31; with 9/7 rounded to 1.3 first, 2.5 (computed)."""
    text = "The connector is dry when you look."
    assert counter.syllable_count(text) == 9
    assert counter.flesch_kincaid_grade(text) == pytest.approx(kincaid(7, 1, 9))
    assert counting(rounded=True).flesch_kincaid_grade(text) == 2.5
    assert round(kincaid(7, 1, 9), 1) == 2.3


@pytest.mark.parametrize(
    ("word", "syllables"),
    [
        ("medicine", 3),
        ("syringe", 2),
        ("connector", 3),
        ("pushed", 1),
        ("needed", 2),
        ("pharmacist", 3),
        ("emergency", 4),
        ("little", 2),
        ("minutes", 2),
        ("10", 1),
        ("mL/h", 1),
    ],
)
def test_groups_of_vowels_are_syllables(word: str, syllables: int) -> None:
    assert syllables_of(word) == syllables


def test_the_programs_counter_is_the_stricter_one_on_the_words_that_are_used(
    counter: Counter,
) -> None:
    """A word differs by 2 at most, and all of them together are no easier."""
    texts = " ".join(text.words for text in open_texts())
    words = sorted(set(re.findall("[a-z]+", texts.lower())))
    pairs = [(syllables_of(word), counter.syllable_count(word)) for word in words]
    assert max(abs(own - other) for own, other in pairs) <= 2
    assert sum(own for own, _ in pairs) >= sum(other for _, other in pairs)


def test_hard_words_are_found_hard(counter: Counter) -> None:
    hard = "Discontinue administration immediately upon experiencing significant resistance."
    assert counter.flesch_kincaid_grade(hard) > HIGHEST_GRADE
    assert grade_of(hard) > HIGHEST_GRADE


@pytest.mark.parametrize("sheet", sorted(SHEETS))
@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.id)
def test_every_step_reads_at_sixth_grade(counter: Counter, step: Step, sheet: str) -> None:
    text = read_as_one(step, sheet)
    assert counter.flesch_kincaid_grade(text) <= HIGHEST_GRADE, text
    assert grade_of(text) <= HIGHEST_GRADE, text


@pytest.mark.parametrize("sheet", sorted(SHEETS))
def test_every_short_line_on_paper_reads_at_sixth_grade(counter: Counter, sheet: str) -> None:
    lines = [
        filled(text, values_of(sheet)).words
        for step in STEPS
        for text in texts_of(step)
        if text.kind == "line"
    ]
    assert len(lines) > 60
    too_hard = [
        line
        for line in lines
        if max(counter.flesch_kincaid_grade(line), grade_of(line)) > HIGHEST_GRADE
    ]
    assert too_hard == []


@pytest.mark.parametrize("sheet", sorted(SHEETS))
def test_every_text_of_a_call_card_reads_at_sixth_grade(counter: Counter, sheet: str) -> None:
    texts = [filled(t, values_of(sheet)) for step, stop in STOPS for t in card_texts(step, stop)]
    assert texts
    too_hard = [
        text
        for text in texts
        if max(counter.flesch_kincaid_grade(text.words), grade_of(text.words)) > HIGHEST_GRADE
    ]
    assert too_hard == []


@pytest.mark.parametrize("sheet", sorted(SHEETS))
def test_no_sentence_has_more_than_twenty_words(sheet: str) -> None:
    too_long: list[Text] = [
        text
        for text in (filled(t, values_of(sheet)) for t in open_texts())
        for sentence in sentences_of(text.words)
        if len(sentence.split()) > MOST_WORDS
    ]
    assert too_long == []


def shown_in_a_rehearsal() -> Iterator[str]:
    """Yield what a learner is shown or asked in a rehearsal, each text with its full stop."""
    yield from (mishap.seen for mishap in SOURCE.mishaps)
    yield from (outcome.seen for step in STEPS for outcome in step.outcomes if outcome.seen)
    teaching = read_teaching(BUNDLE)
    yield from (one.seen for one in teaching.interruptions)
    for question in teaching.questions:
        yield " ".join((question.asks, *question.points))


def test_what_is_shown_and_asked_in_a_rehearsal_reads_at_sixth_grade(counter: Counter) -> None:
    texts = tuple(shown_in_a_rehearsal())
    assert len(texts) > 80
    too_hard = [
        text
        for text in texts
        if max(counter.flesch_kincaid_grade(text), grade_of(text)) > HIGHEST_GRADE
        or any(len(sentence.split()) > MOST_WORDS for sentence in sentences_of(text))
    ]
    assert too_hard == []
