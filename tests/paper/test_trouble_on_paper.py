"""Whatever goes wrong, paper says what to do first, what to shut and whom to call, at each line."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import chain

import pytest

from coach.engine import (
    State,
    after_mishap,
    after_outcome,
    ended,
    possible,
    response_to_do,
    step_to_do,
)
from coach.paper.rows import Trouble, Writing
from coach.procedure.conditions import fill
from coach.procedure.model import Step, Stop
from coach.proof.reading import sentences_of
from tests.paper.test_a_dose_on_paper import FULLEST, writing_of

FIRST_DOSE = {
    **FULLEST, "reuse": "not-allowed", "connector": "negative",
    "tubing": "new", "last": "finished",
}  # fmt: skip
"""The kind of dose that the demonstration sheet asks for first."""


@pytest.fixture(scope="module", params=[FIRST_DOSE, FULLEST], ids=["first dose", "fullest"])
def writing(request: pytest.FixtureRequest) -> Writing:
    return writing_of(request.param)


def calls_from(writing: Writing, state: State) -> Iterator[tuple[Step, Stop]]:
    """Yield every call that *state* can come to before a line of the list is done again."""
    procedure = writing.dose.procedure
    seen, ahead = set(), [state]
    while ahead:
        state = ahead.pop()
        if state in seen or ended(procedure, state):
            continue
        seen.add(state)
        step = step_to_do(procedure, state)
        if isinstance(step.ask, Stop):
            yield step, step.ask
        elif step.id not in writing.lines.numbers:
            ahead += [after_outcome(procedure, state, step, one) for one in step.outcomes]


def plain(text: str) -> str:
    """Return *text* without what only says when: a pump may be stopped once more."""
    return text.replace(" if it runs", "").replace(" now", "")


def missing(step: Step, text: str, writing: Writing) -> list[str]:
    """Return what of the call that is *step* is not in *text*: the first thing, clamps, whom."""
    says = sentences_of(fill(step.do, writing.values))
    needed = [one for one in says if one is says[0] or re.search("clamp|Call", one)]
    assert any("Call" in one for one in needed)
    return [one for one in needed if plain(one.removesuffix(".")) not in plain(text)]


def numbers_in(ranges: str) -> set[int]:
    """Return the numbers of *ranges* as they are printed."""
    ends = [[int(end) for end in one.split("–")] for one in ranges.split(", ")]
    return {number for end in ends for number in range(end[0], end[-1] + 1)}


def at_line(trouble: Trouble, number: int, boxes: dict[str, str]) -> str:
    """Return what *trouble* says to somebody at the line *number*."""
    here, told = True, []
    for one in trouble.does:
        if at := re.fullmatch("At ([0-9–, ]+):", one):
            here = number in numbers_in(at[1])
        elif see := re.fullmatch(r"See ([A-Z]+), after \d+\.", one):
            told.append(boxes[see[1]])
        elif here:
            told.append(one)
    return " ".join(told)


def boxes_of(writing: Writing) -> dict[str, str]:
    return {box.letter: box.text for part in writing.parts for box in part.boxes}


def troubles_of(writing: Writing) -> dict[str, list[Trouble]]:
    """Return what stands under each name of a trouble."""
    told: dict[str, list[Trouble]] = {}
    held = [holder.troubles for holder in writing.groups]
    held += [holder.troubles for holder in writing.parts]
    for trouble in chain.from_iterable(held):
        for title in trouble.titles:
            told.setdefault(title, []).append(trouble)
    return told


def test_every_trouble_says_at_each_line_what_is_first_what_to_shut_and_whom_to_call(
    writing: Writing,
) -> None:
    procedure, boxes, told = writing.dose.procedure, boxes_of(writing), troubles_of(writing)
    calls = 0
    for number, (state, _) in enumerate(writing.lines.walked, 1):
        for mishap in possible(procedure, state):
            after = after_mishap(procedure, state, mishap)
            (trouble,) = told[fill(mishap.title, writing.values)]
            text = at_line(trouble, number, boxes)
            first = response_to_do(procedure, after.facts)
            if first is not None:
                begins = fill(first.line or first.do, writing.values)
                assert text.startswith(begins), (mishap.id, number)
            for step, _ in calls_from(writing, after):
                calls += 1
                assert missing(step, text, writing) == [], (mishap.id, number, step.id)
    assert calls > 500


def test_every_box_says_what_is_first_what_to_shut_and_whom_to_call(writing: Writing) -> None:
    procedure, boxes = writing.dose.procedure, boxes_of(writing)
    rows = [row for part in writing.parts for row in part.rows]
    seen = set()
    for row, (state, step) in zip(rows, writing.lines.walked, strict=True):
        letters = re.findall(r"If not: ([A-Z]+)(?:\.|, after)", row.unless)
        seen |= set(letters)
        text = " ".join(boxes[letter] for letter in letters)
        for outcome in step.outcomes[1:]:
            for call, _ in calls_from(writing, after_outcome(procedure, state, step, outcome)):
                assert missing(call, text, writing) == [], (row.number, call.id)
    assert seen == set(boxes)


def test_a_sentence_of_a_call_that_is_left_out_is_noticed(writing: Writing) -> None:
    stop = next(
        step
        for step in writing.dose.procedure.source.responses
        if isinstance(step.ask, Stop) and "clamp" in step.do
    )
    says = sentences_of(fill(stop.do, writing.values))
    assert missing(stop, " ".join(says), writing) == []
    for left_out in says:
        told = " ".join(one for one in says if one != left_out)
        assert missing(stop, told, writing) == [left_out]


def test_what_is_asked_before_the_pump_is_looked_at_names_its_own_call(writing: Writing) -> None:
    """Each question is followed by its call, and never by that of another."""
    (beeps,) = troubles_of(writing)["The pump beeps and I do not know why"]
    text = " ".join(beeps.does)
    body, screen, looks = text.split(" If so: ")
    assert body.endswith("If not: Stop the pump if it runs. "
                         "Shut the clamp nearest to your body. Call for help now.")  # fmt: skip
    assert screen.endswith("Does it say blocked? If not: Stop the pump if it runs. "
                           "Shut the clamp nearest to your body. Call the nurse now.")  # fmt: skip
    assert "If still not so" not in looks


def test_if_not_follows_a_question(writing: Writing) -> None:
    told = [*boxes_of(writing).values()]
    told += [" ".join(t.does) for all_ in troubles_of(writing).values() for t in all_]
    befores = [before for text in told for before in re.findall(r"(\S+) If not: ", text)]
    assert befores
    assert all(before.endswith("?") for before in befores)
