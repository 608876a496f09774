"""The procedures that ship, and each text of them that a person sees."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from coach.orders.read import read_sheet
from coach.orders.values import shown_values
from coach.procedure.conditions import fill
from coach.procedure.files import bundle_of
from coach.procedure.model import Stop
from coach.procedure.read import needed_keys, read_pump_card, read_source
from coach.proof.texts import Text, texts_beside, texts_of

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
    "close_line": "If the tubing is on your line, shut the clamp on the tubing",
    "looks_like": "28.8 is 24 times 1.2. Is that an amount for a whole day?",
    "typed": "30 Nov 2026 14:00",
    **{f"count_{supply}": "2" for step in SOURCE.steps for supply in step.uses},
}
"""Plausible words for what only a dose under way can say, none shorter than usual."""


def values_of(sheet: str) -> dict[str, str]:
    """Return every placeholder with its words, for the demonstration sheet called *sheet*."""
    return {**shown_values(SHEETS[sheet]), **PROGRESS}


def open_texts() -> Iterator[Text]:
    """Yield every text of the procedures, placeholders open."""
    for step in STEPS:
        yield from texts_of(step)
    yield from texts_beside(SOURCE)
    for fact in SOURCE.table.facts:
        yield Text(fact.name, "about", fact.about)
    for key, entry in CARD.items():
        yield Text(key, "press", entry.press)
        yield Text(key, "expect", entry.expect)


def filled(text: Text, values: Mapping[str, str]) -> Text:
    """Return *text* with its placeholders filled."""
    return Text(text.at, text.kind, fill(text.words, values))
