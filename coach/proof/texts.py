"""Every text of a procedure that a person sees or reads out, one by one, with its place.

Owns the list of which texts there are. It must never judge one.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from coach.procedure.facts import Where
from coach.procedure.model import Question, Reading, Source, Step, Stop


class Text(msgspec.Struct, frozen=True):
    """One text, its placeholders open."""

    at: str
    """The step, mishap, menu line or file that it stands in."""
    kind: str
    """Such as ``title``, ``do`` or ``situation``."""
    words: str
    where: Where | None = None
    """Its place; None where only the file is known."""


def texts_of(step: Step) -> Iterator[Text]:
    """Yield every text of *step*."""

    def text(kind: str, words: str) -> Text:
        return Text(step.id, kind, words, step.where)

    yield text("title", step.title)
    yield text("do", step.do)
    yield text("why", step.why)
    if step.line:
        yield text("line", step.line)
    if isinstance(step.ask, Question | Reading):
        yield text("question", step.ask.asks)
    for outcome in step.outcomes:
        if outcome.says:
            yield text("says", outcome.says)
    if isinstance(step.ask, Stop):
        yield from card_texts(step, step.ask)


def card_texts(step: Step, stop: Stop) -> Iterator[Text]:
    """Yield the texts of the call card of *stop*, which *step* ends in, that are its own."""
    yield Text(step.id, "leave", stop.leave, step.where)
    yield Text(step.id, "close", stop.close, step.where)
    yield Text(step.id, "situation", stop.situation, step.where)
    yield Text(step.id, "assessment", stop.assessment, step.where)
    yield Text(step.id, "request", stop.request, step.where)


def texts_beside(source: Source) -> Iterator[Text]:
    """Yield every text of *source* that does not stand in a step."""
    for mishap in source.mishaps:
        yield Text(mishap.id, "menu", mishap.title, mishap.where)
    for name, says in source.groups.items():
        yield Text(name, "menu", says)
    yield Text("dose.yaml", "background", source.background)
    yield Text("dose.yaml", "title", source.title)
    for words in (*source.so_far, *source.where, *source.close_line):
        yield Text("dose.yaml", "filled in", words)
    for step in _first_of_each_part(source):
        yield Text(step.part, "heading", step.part, step.where)
    for drawn in source.picture:
        yield from (Text(drawn.name, "look", look.word) for look in drawn.looks)


def _first_of_each_part(source: Source) -> Iterator[Step]:
    seen: set[str] = set()
    for step in source.steps + source.responses:
        if step.part not in seen:
            seen.add(step.part)
            yield step
