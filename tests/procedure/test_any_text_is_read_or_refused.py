"""Whatever stands in the files: they are read, or refused in words; nothing else can happen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.clean import unsafe_character
from coach.errors import FileProblems
from coach.nodes import DEEPEST
from coach.procedure.files import bundle_of
from coach.procedure.model import Source
from coach.procedure.read import needed_keys, read_pump_card, read_source
from tests.procedure.bundles import changed, said_of
from tests.procedure.shipped import BUNDLE, SOURCE

NAMES = sorted(BUNDLE)
HOSTILE = (
    "",
    "- - -",
    "schema: [1, {2: 3}]",
    "  - {id: x, do: {y: z}}",
    "parts: nothing",
    "steps: {a: b}",
    "facts: []",
    "facts: {hands: [], body: {}}",
    "    ask: []",
    "    type: {against: {a: b}, check: outlasts}",
    "    wait: {time: dose, since: <fact>, while: {body: {not: []}}}",
    "    stop:",
    "      goes_on: {}",
    "    needs: {body: {not: {not: {not: well}}}}",
    "    uses: {pad: -1, 'x y': 999999999}",
    '    do: "{{medicine}} {now {}"',
    '    do: "\\x1b[2J"',
    "    <a>: <b>",
    "  - part: dose",
    "  - {part: syringe, with: {syringe: hands, name: <name>}}",
    "? [a, b]",
    "*a",
    "&a b",
    "!!python/object:os.system x",
    "---",
    "...",
    "\t",
)


T = TypeVar("T")


def tried(read: Callable[[], T]) -> T | FileProblems:
    """Return what *read* gives, or is refused with."""
    try:
        return read()
    except FileProblems as refused:
        return refused


def source_or_problems(bundle: dict[str, str]) -> None:
    """Read *bundle*; anything but a source, or problems told in words, fails the test."""
    found = tried(lambda: read_source(bundle))
    if isinstance(found, Source):
        return
    assert found.problems
    for problem in found.problems:
        assert problem.file.startswith("procedures/")
        assert problem.expected
        assert problem.found
        assert not unsafe_character(str(problem))


MOVED = st.sampled_from(["delete", "duplicate", "swap", "cut"])
STRANGE = st.sampled_from(HOSTILE)
Change = tuple[str, int, int, str]
"""A file, a line of it and another, and what is done with them, or a line in their place."""


def changes_by(
    change: st.SearchStrategy[str],
) -> st.SearchStrategy[list[tuple[str, int, int, str]]]:
    """Draw some changes, each by *change*."""
    line = st.integers(0, 300)
    return st.lists(st.tuples(st.sampled_from(NAMES), line, line, change), min_size=1, max_size=3)


def mutated(changes: list[Change]) -> dict[str, str]:
    """Return the shipped files with *changes* made."""
    bundle = dict(BUNDLE)
    for name, first, second, change in changes:
        lines = bundle[name].split("\n")
        place, other = first % len(lines), second % len(lines)
        if change == "delete":
            del lines[place]
        elif change == "duplicate":
            lines.insert(other, lines[place])
        elif change == "swap":
            lines[place], lines[other] = lines[other], lines[place]
        elif change == "cut":
            lines[place] = lines[place][:other]
        else:
            lines[place] = change
        bundle[name] = "\n".join(lines)
    return bundle


@settings(max_examples=40, deadline=None)
@given(changes_by(MOVED))
def test_shipped_files_with_lines_lost_or_moved_are_read_or_refused(
    changes: list[Change],
) -> None:
    source_or_problems(mutated(changes))


@settings(max_examples=40, deadline=None)
@given(changes_by(STRANGE | MOVED))
def test_shipped_files_with_strange_lines_are_read_or_refused(
    changes: list[Change],
) -> None:
    source_or_problems(mutated(changes))


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(NAMES), st.text(max_size=60))
def test_any_text_in_place_of_a_file_is_read_or_refused(name: str, text: str) -> None:
    source_or_problems({**BUNDLE, name: text})


@pytest.mark.parametrize("name", NAMES)
def test_the_shipped_files_without_one_of_them_are_refused_by_its_name(name: str) -> None:
    bundle = dict(BUNDLE)
    del bundle[name]
    if name.startswith("pump_cards/") or name == "teaching.yaml":  # read where they are used
        assert read_source(bundle) == SOURCE
        return
    assert f"procedures/{name}: expected this file; found no file of that name." in said_of(bundle)


@settings(deadline=None)
@given(st.data())
def test_any_change_of_a_pump_card_is_read_or_refused(data: st.DataObject) -> None:
    lines = BUNDLE["pump_cards/demo.yaml"].split("\n")
    place = data.draw(st.integers(0, len(lines) - 1))
    lines[place] = data.draw(st.sampled_from(HOSTILE) | st.text(max_size=20))
    bundle = {"pump_cards/demo.yaml": "\n".join(lines)}
    found = tried(lambda: read_pump_card(bundle, "demo", needed_keys(SOURCE)))
    if isinstance(found, FileProblems):
        assert found.problems
    else:
        assert found.keys() == needed_keys(SOURCE)


def test_groups_within_groups_are_refused_before_they_can_do_harm() -> None:
    deep = "{a: " * (DEEPEST + 1) + "b" + "}" * (DEEPEST + 1)
    change = ("parts/place.yaml", "needs: {place: cleared}", f"needs: {deep}")
    (row,) = said_of(changed(change))
    assert row.startswith("procedures/parts/place.yaml, line ")
    assert row.endswith("expected at most 40 levels; found more of them within each other.")


def test_a_lone_half_of_a_character_from_a_damaged_record_is_refused() -> None:
    bundle = {**BUNDLE, "parts/warm.yaml": "schema: 1\ntitle: \ud800\n"}
    assert said_of(bundle) == (
        "procedures/parts/warm.yaml, line 2: expected text in UTF-8; found bytes that are not.",
    )


def test_a_mark_at_the_beginning_and_windows_line_ends_change_nothing(tmp_path: Path) -> None:
    for name, text in BUNDLE.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read_source(bundle_of(tmp_path)) == SOURCE


def test_the_order_of_the_fields_of_a_step_does_not_matter() -> None:
    old = "    do: Wipe the table and the keys you will press. Let them dry.\n"
    why = "    why: Your hands and your things will touch them.\n"
    bundle = changed(("parts/place.yaml", old + why, why + old))
    assert read_source(bundle) == SOURCE
