"""What the agency asks of a learner is read as written, and each mistake in it is named."""

from __future__ import annotations

import pytest

from coach.errors import FileProblems
from coach.procedure.model import Question
from coach.procedure.teaching import SignOffRule, read_teaching
from tests.procedure.bundles import changed
from tests.procedure.shipped import BUNDLE, SOURCE, STEPS

FILE = "teaching.yaml"


def said(old: str, new: str) -> str:
    """Return what is said of the file with *old* replaced."""
    with pytest.raises(FileProblems) as refused:
        read_teaching(changed((FILE, old, new)))
    return str(refused.value)


def test_the_rule_that_ships_is_three_runs_on_two_days_with_a_surprise() -> None:
    """The agency's number; common practice, no source."""
    assert read_teaching(BUNDLE).rule == SignOffRule(3, 2, 1)


def test_an_open_question_has_points_and_cannot_be_answered_by_yes_or_no() -> None:
    """Never yes or no. Source: AHRQ Health Literacy Toolkit, tool 5 (restated)."""
    questions = read_teaching(BUNDLE).questions
    assert len(questions) >= 8
    for one in questions:
        assert one.points
        last = one.asks.rstrip("?.").split(". ")[-1]
        assert last.split()[0] in ("Tell", "What", "How", "When"), one.asks


@pytest.mark.parametrize(
    ("old", "new", "row"),
    [
        ("runs: 3 ", "runs: 0 ", "expected runs from 1, and no more days or surprises than runs"),
        ("days: 2 ", "days: 4 ", "expected runs from 1, and no more days or surprises than runs"),
        ("surprises: 1 ", "surprises: one ", "expected a whole number"),
        ('"You read: {typed}"', "You read it", "expected a text with {typed} in it"),
        ('"You read: {typed}"', '"{tipped}"', "expected a known placeholder"),
        ("id: doorbell", "id: phone", "expected a name that no other has"),
        ("id: missed", "id: scrubbing", "expected a name that no other has"),
        ("seen: Your phone rings.", "shown: x", "expected one of the fields id, seen"),
        ("when: {heparin: ordered}", "when: {hepairn: ordered}", 'Did you mean "heparin"?'),
    ],
)
def test_a_mistake_is_named(old: str, new: str, row: str) -> None:
    told = said(old, new)
    assert row in told
    assert told.startswith(f"procedures/{FILE}, line ")


def test_a_question_without_points_is_refused() -> None:
    points = BUNDLE[FILE].split("asks: You forgot a dose. What do you do?\n")[1]
    points = points.split("  - id: heparin")[0]
    assert "at least one point" in said(points, "    points: []\n")


def test_a_procedure_without_the_file_can_be_followed_but_not_taught() -> None:
    with pytest.raises(FileProblems, match=r"teaching\.yaml: expected this file"):
        read_teaching({name: text for name, text in BUNDLE.items() if name != FILE})


# What the steps have for it


def test_each_look_that_can_turn_out_badly_has_something_to_see() -> None:
    """Those without are what follows a wrong number: whether one typed just what one saw."""
    bare = {
        step.id
        for step in STEPS
        if isinstance(step.ask, Question) and not any(o.seen for o in step.outcomes[1:])
    }
    assert {step for step in bare if not step.endswith("-doubt")} == set()


def test_what_is_seen_never_gives_its_name_away() -> None:
    for mishap in SOURCE.mishaps:
        assert mishap.seen.casefold().rstrip(".") != mishap.title.casefold()
        assert len(mishap.seen) <= 84


def test_the_critical_steps_are_those_that_keep_clean_compare_clamp_fill_and_push() -> None:
    """Which they are is the agency's choice; common practice, no source."""
    critical = {step.id for step in SOURCE.steps if step.critical}
    assert {
        *("first-wash", "second-rub", "saline-before-scrub", "tubing-dry", "tubing-join"),
        *("label-name-read", "label-rate-type", "set-rate-type", "read-discard"),
        *("fill", "look-tubing", "look-site", "saline-before-push", "heparin-syringe-push"),
        *("tubing-clamp-open", "start-pump", "stop-pump", "tube-clamp-shut", "part-tubing"),
    } <= critical
    assert not {"clear-table", "lay-pads", "bin-all", "remember"} & critical
