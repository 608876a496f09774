"""The procedures that ship, and each text of them that a person sees."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from coach.orders.read import read_sheet
from coach.orders.values import shown_values
from coach.procedure.conditions import fill
from coach.procedure.files import bundle_of
from coach.procedure.model import Question, Reading, Step, Stop
from coach.procedure.read import needed_keys, read_pump_card, read_source

FOLDER = Path(__file__).parents[2] / "procedures"
BUNDLE = bundle_of(FOLDER)
SOURCE = read_source(BUNDLE)
SHEETS = {path.stem: read_sheet(path) for path in sorted((FOLDER / "demo").glob("*.yaml"))}
STEPS = (*SOURCE.steps, *SOURCE.responses)
STOPS = tuple((step, step.ask) for step in STEPS if isinstance(step.ask, Stop))
CARD = read_pump_card(BUNDLE, "demo", needed_keys(SOURCE))

PROGRESS = {
    "now": "14:32",
    "due": "14:00 on 25 November",
    "started": "14:02",
    "next_due": "15:00 on 25 November",
    "given": "7.5 mL",
    "left_to_give": "2.5 mL",
    "so_far": "By the clock 7.5 mL of 10 mL went in.",
    "where": "I am at 12 Made-Up Lane, Quillfern.",
    "typed": "30 Nov 2026 14:00",
    **{f"count_{supply}": "2" for step in SOURCE.steps for supply in step.uses},
}
"""Plausible words for what only a dose under way can say, none shorter than usual."""


@dataclass(frozen=True, slots=True)
class Text:
    """One text that a person sees."""

    at: str
    """The step, mishap or file that it stands in."""
    kind: str
    """Such as ``title``, ``do`` or ``situation``."""
    words: str


def values_of(sheet: str) -> dict[str, str]:
    """Return every placeholder with its words, for the demonstration sheet called *sheet*."""
    return {**shown_values(SHEETS[sheet]), **PROGRESS}


def texts_of(step: Step) -> Iterator[Text]:
    """Yield every text of *step*, placeholders open."""
    yield Text(step.id, "title", step.title)
    yield Text(step.id, "do", step.do)
    yield Text(step.id, "why", step.why)
    if isinstance(step.ask, Question | Reading):
        yield Text(step.id, "question", step.ask.asks)
    for outcome in step.outcomes:
        if outcome.says:
            yield Text(step.id, "says", outcome.says)
    if isinstance(step.ask, Stop):
        yield from card_texts(step, step.ask)


def card_texts(step: Step, stop: Stop) -> Iterator[Text]:
    """Yield the texts of the call card of *stop* that are its own."""
    yield Text(step.id, "leave", stop.leave)
    yield Text(step.id, "close", stop.close)
    yield Text(step.id, "situation", stop.situation)
    yield Text(step.id, "assessment", stop.assessment)
    yield Text(step.id, "request", stop.request)


def open_texts() -> Iterator[Text]:
    """Yield every text of the procedures, placeholders open."""
    for step in STEPS:
        yield from texts_of(step)
    for mishap in SOURCE.mishaps:
        yield Text(mishap.id, "menu", mishap.title)
    for name, says in SOURCE.groups.items():
        yield Text(name, "menu", says)
    yield Text("dose.yaml", "background", SOURCE.background)
    yield Text("dose.yaml", "title", SOURCE.title)
    for words in (*SOURCE.so_far, *SOURCE.where):
        yield Text("dose.yaml", "filled in", words)
    for part in {step.part for step in STEPS}:
        yield Text(part, "heading", part)
    for fact in SOURCE.table.facts:
        yield Text(fact.name, "about", fact.about)
    for drawn in SOURCE.picture:
        yield from (Text(drawn.name, "look", look.word) for look in drawn.looks)
    for key, entry in CARD.items():
        yield Text(key, "press", entry.press)
        yield Text(key, "expect", entry.expect)


def filled(text: Text, values: Mapping[str, str]) -> Text:
    """Return *text* with its placeholders filled."""
    return Text(text.at, text.kind, fill(text.words, values))
