"""Checks that every text of a procedure can be understood, and cannot be misread.

Owns the checks of words, each under its own name. It must never change a text; a person does.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache

import msgspec

from coach.orders.likeness import LONGEST_LIKENESS
from coach.procedure.model import Question, Source, Step, Stop
from coach.procedure.steps import LONGEST, LONGEST_OTHER
from coach.proof.finding import Finding
from coach.proof.lists import WordLists
from coach.proof.reading import HIGHEST_GRADE, MOST_WORDS, grade_of, sentences_of
from coach.proof.texts import Text, card_texts, texts_beside, texts_of

MOST_ACTIONS = 2
"""Actions in what one step says to do, such as to take a thing out and to read it."""

MOST_ACTIONS_OF_A_STOP = 3
"""To stop the pump, to shut the clamp, and to call: in danger these stand on one page."""

SHORT_WORD = "5"
"""Stands for a value of the order sheet where words are counted: one word of one syllable."""

USUAL_VALUE = "100 mL"
"""Stands for a value where characters are counted."""

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_WORD = re.compile(r"°?[^\W\d_]+(?:['’-][^\W\d_]+)*")


class NumberForm(msgspec.Struct, frozen=True):
    """A way of writing a number that has been misread."""

    pattern: str
    """Finds it."""
    write: str
    """What to write instead, as an example."""
    source: str


NUMBER_FORMS = (
    NumberForm(r"\d\.\d*0(?!\d)", "5, not 5.0", "Joint Commission, do-not-use list"),
    NumberForm(r"(?<!\d)\.\d+", "0.5, not .5", "Joint Commission, do-not-use list"),
    NumberForm(r"\d(?:mg|mcg|mL|ml|g|L|[Uu]nits?|h|min|s)\b", "10 mg, with a space", "ISMP, 2021"),
    NumberForm(r"\b(?:mg|mcg|mL|h|min)\.(?= [a-z0-9])", "mg, with no point", "ISMP, 2021"),
    NumberForm(r"(?<![\d.-])\d{5,}", "100,000, with a comma", "ISMP, 2021"),
)
"""The forms of numbers that no text has; forms of words stand in the list beside the texts."""


def check_words(source: Source, lists: WordLists) -> tuple[Finding, ...]:
    """Return what is hard to read, can be misread, or has no room, in the order of the files."""
    values = _values(source)
    steps = source.steps + source.responses
    found: list[Finding] = []
    for step in steps:
        found += _reading_level(step, values)
        found += _actions(step, lists)
        for text in texts_of(step):
            found += _text(text, values, lists)
    for text in texts_beside(source):
        found += _text(text, values, lists)
    return tuple(dict.fromkeys(found))


def _values(source: Source) -> Mapping[str, str]:
    """Return the placeholders whose words stand in *source* itself, at their longest."""
    return {
        "so_far": max(source.so_far, key=len),
        "close_line": max(source.close_line, key=len),
        "where": max(source.where, key=len),
        "looks_like": LONGEST_LIKENESS,
    }


def _filled(words: str, values: Mapping[str, str], other: str) -> str:
    """Return *words* with the *values* filled in, and *other* for every value of a sheet."""

    def value(found: re.Match[str]) -> str:
        return values.get(found.group(1), found.group())

    return _PLACEHOLDER.sub(other, _PLACEHOLDER.sub(value, words))


def _finding(name: str, text: Text, says: str) -> Finding:
    # Where a line is known it says enough; a part that is used twice is then named once.
    at = "" if text.where else f"{text.at}, "
    return Finding(name, f"{at}{text.kind}: {says}", text.where)


def _reading_level(step: Step, values: Mapping[str, str]) -> Iterator[Finding]:
    shown = [t for t in texts_of(step) if t.kind in ("do", "why", "question")]
    whole = Text(step.id, "do and why", " ".join(text.words for text in shown), step.where)
    card = card_texts(step, step.ask) if isinstance(step.ask, Stop) else ()
    for text in (whole, *card):
        words = _filled(text.words, values, SHORT_WORD)
        grade = grade_of(words)
        if grade > HIGHEST_GRADE:
            says = f"It reads at grade {grade:.1f}; {HIGHEST_GRADE} is the most. “{words}”"
            yield _finding("reading-level", text, says)


def _actions(step: Step, lists: WordLists) -> Iterator[Finding]:
    do = Text(step.id, "do", step.do, step.where)
    begins = _first_word(step.do)
    # A step that asks may first say what it asks about.
    if not isinstance(step.ask, Question) and begins not in lists.moves | lists.keeps:
        says = f"It begins with “{begins}”, not with the word for what to do. “{step.do}”"
        yield _finding("begins-with-an-action", do, says)
    most = MOST_ACTIONS_OF_A_STOP if isinstance(step.ask, Stop) else MOST_ACTIONS
    actions = tuple(_actions_in(step.do, lists))
    if len(actions) > most:
        listed = ", ".join(actions)
        says = f"It asks for {len(actions)} things at once: {listed}. {most} is the most."
        yield _finding("one-action", do, says)


def _actions_in(do: str, lists: WordLists) -> Iterator[str]:
    """Yield the words of *do* that begin an action: first in a sentence, or after and or then."""
    for sentence in sentences_of(do):
        first = _first_word(sentence)
        if first in lists.moves:
            yield first
        if first in lists.moves | lists.keeps:
            joined = re.findall(r"\b(?:and|then)\s+(\w+)", sentence.lower())
            yield from (word for word in joined if word in lists.moves)


def _first_word(text: str) -> str:
    found = _WORD.search(text)
    return found.group().lower() if found else ""


def _text(text: Text, values: Mapping[str, str], lists: WordLists) -> Iterator[Finding]:
    words = _filled(text.words, values, SHORT_WORD)
    for sentence in sentences_of(words):
        number = len(sentence.split())
        if number > MOST_WORDS:
            says = f"A sentence has {number} words; {MOST_WORDS} is the most. “{sentence}”"
            yield _finding("sentence-length", text, says)
    yield from _safe_writing(text, words, lists)
    for word in dict.fromkeys(_WORD.findall(words)):
        if lists.knows(word.lower()) or any(word in never.forms for never in lists.never):
            continue
        says = f"“{word}” is neither a common word nor in the glossary."
        yield _finding("plain-words", text, says)
    length = len(_filled(text.words, values, USUAL_VALUE))
    most = LONGEST.get(text.kind, LONGEST_OTHER)
    if length > most:
        says = f"It has {length} characters; a small screen has room for {most}."
        yield _finding("room", text, says)


def _safe_writing(text: Text, words: str, lists: WordLists) -> Iterator[Finding]:
    for form in NUMBER_FORMS:
        for found in dict.fromkeys(m.group() for m in re.finditer(form.pattern, words)):
            says = f"“{found}” can be misread. Write {form.write}. ({form.source})"
            yield _finding("safe-writing", text, says)
    for never in lists.never:
        for one in never.forms:
            if _pattern(one).search(words):
                says = f"“{one}” can be misread. Write {never.write}. ({never.source})"
                yield _finding("safe-writing", text, says)


@cache
def _pattern(form: str) -> re.Pattern[str]:
    """Return what finds *form* as a whole word, also right after a number."""
    before = r"(?<![^\W\d_])" if form[0].isalpha() else ""
    after = r"(?!\w)" if form[-1].isalnum() else ""
    return re.compile(before + re.escape(form) + after)
