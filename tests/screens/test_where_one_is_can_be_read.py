"""Where one is in the dose: the part, and the step of that part, never a long count."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach import telling
from coach.clock import ManualClock
from coach.screens.step_texts import heads
from coach.sitting.show import menu_of, place_in, view_of
from coach.sitting.view import Place
from tests.person import MORNING, Person, desk_at
from tests.screens.table import LARGE, SMALL, table

PARTS = ["warm", "warm", "bag", "bag", "bag", "hands", "bag"]


@pytest.mark.parametrize(
    ("index", "place"),
    [
        (0, Place(1, 4, 1, 2)),
        (1, Place(1, 4, 2, 2)),
        (2, Place(2, 4, 1, 3)),
        (4, Place(2, 4, 3, 3)),
        (5, Place(3, 4, 1, 1)),
        (6, Place(4, 4, 1, 1)),
    ],
)
def test_steps_under_one_heading_one_after_the_other_are_a_part(index: int, place: Place) -> None:
    assert place_in(PARTS, index) == place


def test_past_the_last_step_there_is_no_place() -> None:
    assert place_in(PARTS, len(PARTS)) is None
    assert place_in([], 0) is None


def test_the_parts_of_a_dose_are_gone_through_and_no_number_is_left_out(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    sitting = desk_at(tmp_path, clock=clock).begin()
    person = Person(sitting, clock)
    part, step, parts = 1, 1, 0
    while not sitting.over:
        view = view_of(sitting)
        place = view.place
        assert place is not None
        assert (place.part, place.step) == (part, step)
        step, parts = step + (len(view.stretch) or 1), place.parts
        if step > place.steps:
            part, step = part + 1, 1
        person.act(view)
    assert part == parts + 1
    assert view_of(sitting).place is None


def test_what_only_one_answer_leads_to_is_counted_once_it_was_given(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    sitting = desk_at(tmp_path, clock=clock).begin()
    person = Person(sitting, clock, {"first-soap-or-not": ["no"]})
    found = []
    person.follow("first-soap-or-not")
    for _ in range(3):
        place = view_of(sitting).place
        assert place is not None
        found.append((place.step, place.steps))
        person.act(view_of(sitting))
    assert [step for step, _ in found] == [1, 2, 3]
    assert found[-1][1] < 5 + 2, "the steps with soap do not come"


@pytest.mark.parametrize(
    ("size", "place"), [(LARGE, "1 of 2 · part 1 of 25"), (SMALL, "1 of 2 · part 1 of 25")]
)
async def test_the_top_line_says_the_step_and_the_part(
    tmp_path: Path, size: tuple[int, int], place: str
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter")
        at = view_of(at_table.sitting).place
        assert at is not None
        assert at_table.text("place") == place.replace("25", str(at.parts))


async def test_a_long_heading_in_a_small_window_keeps_the_step_and_p_says_the_part(
    tmp_path: Path,
) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter")
        steps = at_table.sitting.dose.procedure.steps
        await at_table.walk(max(steps, key=lambda step: len(step.part)).id)
        at = view_of(at_table.sitting).place
        assert at is not None
        assert at_table.text("place") == f"{at.step} of {at.steps}"
        await at_table.press("p")
        assert f"Part {at.part} of {at.parts}" in at_table.text("picture-list")


@pytest.mark.parametrize("size", [LARGE, SMALL])
async def test_an_emergency_says_so_in_words_at_the_top(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter", "escape", "1", "1")
        assert at_table.text("part") == "Emergency"


@pytest.mark.parametrize("size", [LARGE, SMALL])
async def test_what_comes_first_says_so_at_the_top(tmp_path: Path, size: tuple[int, int]) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter")
        final = {one.id for one in at_table.sitting.dose.procedure.mishaps if one.final}
        offered = [item.name for group in menu_of(at_table.sitting) for item in group.items]
        urgent = 0
        for name in (name for name in offered if name not in final):
            at_table.sitting.went_wrong(name)
            if view_of(at_table.sitting).urgent:
                at_table.follow.show()
                assert at_table.text("part") == "This comes first"
                urgent += 1
            at_table.sitting.undo()
        assert urgent


def test_plain_lines_say_the_part_then_the_step(tmp_path: Path) -> None:
    sitting = desk_at(tmp_path).begin()
    view = view_of(sitting)
    assert view.place is not None
    lines = tuple(telling.step_lines(view, sitting.dose.zone, 5))
    assert lines[0] == f"Part 1 of {view.place.parts}, {view.part}. Step 1 of {view.place.steps}."
    assert heads(view)[0] == view.part
