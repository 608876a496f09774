"""The JSON Schemas of the procedure files take what the readers take, and see what they can.

By the jsonschema library. Whether a name is one that there is needs the other files, so it is the
readers' alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from coach.errors import FileProblems
from coach.procedure.read import needed_keys, read_pump_card, read_source
from coach.procedure.schema import KINDS, procedure_schemas
from coach.procedure.teaching import read_teaching
from coach.proof.lists import read_words
from coach.proof.rules import read_rules
from coach.shapes import Group
from tests.editor import as_edited, checker, marked
from tests.person import PROCEDURES
from tests.procedure.bundles import said_of
from tests.procedure.shipped import BUNDLE

SOURCE = read_source(BUNDLE)
SCHEMAS = procedure_schemas()
FILES = {
    path.relative_to(PROCEDURES).as_posix(): kind
    for kind, (where, _) in KINDS.items()
    for path in sorted(PROCEDURES.glob(where))
}
Place = tuple[str | int, ...]


@cache
def checker_of(kind: str) -> Draft202012Validator:
    """Return what checks files of one *kind* as an editor does."""
    return checker(SCHEMAS[kind])


def text_of(name: str) -> str:
    """Return the text of a shipped file."""
    return (PROCEDURES / name).read_text(encoding="utf-8")


@cache
def value_of(name: str) -> object:
    """Return what an editor makes of a shipped file."""
    return as_edited(text_of(name))


def as_text(value: object) -> str:
    """Return the text of a file with this *value*."""
    return yaml.dump(value, Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True)


def groups_in(shape: object, value: object, place: Place = ()) -> Iterator[tuple[Group, Place]]:
    """Return the groups of fields that *value* holds, each with the way to it."""
    if isinstance(shape, Group):
        if isinstance(value, dict):
            yield shape, place
            for name, held in value.items():
                yield from groups_in(shape.fields.get(name), held, (*place, name))
    elif isinstance(shape, Mapping):
        for other in shape.get("anyOf", ()):
            yield from groups_in(other, value, place)
        if isinstance(value, list):
            for number, held in enumerate(value):
                yield from groups_in(shape.get("items"), held, (*place, number))
        elif isinstance(value, dict):
            for name, held in value.items():
                yield from groups_in(shape.get("additionalProperties"), held, (*place, name))


def first_places() -> Iterator[tuple[str, Place, Group, tuple[str, ...]]]:
    """Return a place of each group, and of each of its fields, that the shipped files have."""
    seen = set[tuple[int, str]]()
    for name, kind in FILES.items():
        value = value_of(name)
        for group, place in groups_in(KINDS[kind][1], value):
            written = at(value, place)
            assert isinstance(written, dict)
            new = tuple(field for field in written if (id(group), field) not in seen)
            if new:
                seen |= {(id(group), field) for field in new}
                yield name, place, group, new


def at(value: object, place: Place) -> object:
    """Return what stands at *place* in *value*."""
    for step in place:
        if isinstance(step, int):
            assert isinstance(value, list)
            value = value[step]
        else:
            assert isinstance(value, dict)
            value = value[step]
    return value


def refused(name: str, text: str, folder: Path) -> bool:
    """Tell whether the readers refuse the file *name* where it says *text*."""
    try:
        if name.startswith("pump_cards/"):
            read_pump_card({**BUNDLE, name: text}, "demo", needed_keys(SOURCE))
        elif name == "teaching.yaml":
            read_teaching({**BUNDLE, name: text})
        elif name.startswith("rules/"):
            path = folder / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
            read_rules(path.parent, SOURCE)
        elif name.startswith("words/"):
            (folder / "words").mkdir(exist_ok=True)
            for other in (PROCEDURES / "words").iterdir():
                (folder / "words" / other.name).write_bytes(other.read_bytes())
            (folder / name).write_text(text, encoding="utf-8")
            read_words(folder)
        else:
            return said_of({**BUNDLE, name: text}) != ()
    except FileProblems:
        return True
    return False


@pytest.mark.parametrize("name", FILES)
def test_every_shipped_file_is_marked_nowhere(name: str) -> None:
    assert marked(checker_of(FILES[name]), text_of(name)) == set()


def test_every_shipped_file_of_a_procedure_has_a_schema() -> None:
    shipped = {path.relative_to(PROCEDURES).as_posix() for path in PROCEDURES.rglob("*.yaml")}
    assert {name for name in shipped if not name.startswith("demo/")} == set(FILES)


PLACES = tuple(first_places())
FIRST = {[id(group) for _, _, group, _ in PLACES].index(id(one)) for _, _, one, _ in PLACES}
"""The first place of each group: what is unknown in one place is so in all of them."""


def with_field(whole: object, place: Place, field: str, value: object) -> object:
    """Return the file *whole* with one field changed, or taken out if that is None."""
    assert isinstance(whole, dict | list)
    copy: Any = whole.copy()
    if place:
        step, *rest = place
        copy[step] = with_field(copy[step], tuple(rest), field, value)
        return copy
    copy[field] = value
    if value is None:
        del copy[field]
    return copy


@pytest.mark.parametrize(
    ("name", "place", "group", "fields"),
    PLACES,
    ids=[f"{name}-{'.'.join(map(str, place))}" for name, place, _, _ in PLACES],
)
def test_an_editor_marks_what_is_missing_unknown_or_no_such_thing_where_the_readers_do(
    name: str, place: Place, group: Group, fields: tuple[str, ...], tmp_path: Path
) -> None:
    checks, whole = checker_of(FILES[name]), value_of(name)
    held = at(whole, place)
    assert isinstance(held, dict)
    without = [(field, None) for field in fields]
    wrong = [
        (field, "?" if isinstance(held[field], list | dict) else {"zzz": "?"}) for field in fields
    ]
    unknown = [("zzz", "x")] if PLACES.index((name, place, group, fields)) in FIRST else []
    for field, value in (*without, *wrong, *unknown):
        changed = with_field(whole, place, field, value)
        told = not checks.is_valid(changed)
        assert told or value is not None or field not in group.must, field
        assert told or field != "zzz"
        assert not told or refused(name, as_text(changed), tmp_path), (field, value)


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("parts/place.yaml", "needs: {place: cleared}", "needs: cleared"),
        ("parts/place.yaml", "needs: {place: cleared}", "needs: {place: {nor: unclean}}"),
        ("parts/place.yaml", "needs: {place: cleared}", "needs: {place: []}"),
        ("parts/place.yaml", "needs: {place: cleared}", "when: {hepairn: ordered}"),
        ("parts/place.yaml", "needs: {place: cleared}", "hands: full"),
        ("parts/place.yaml", "needs: {place: cleared}", "hold: medicine"),
        ("parts/place.yaml", "needs: {place: cleared}", "pace: 8"),
        ("parts/place.yaml", "needs: {place: cleared}", "uses: {pad: two}"),
        ("parts/place.yaml", "needs: {place: cleared}", "hold: wash_time\n    pace: 8 s"),
        ("parts/place.yaml", "    title: Clear the table\n", ""),
        ("parts/place.yaml", "steps:\n", "steps:\n  - nothing\n"),
        ("parts/place.yaml", "schema: 1\n", "schema: 2\n"),
        ("dose.yaml", "idle: 10 min", "idle: 10"),
        ("dose.yaml", "within: batteries_every", "within: medicine"),
        ("facts.yaml", "values: [well, unwell,", "values: [well, well, unwell,"),
    ],
)
def test_what_an_editor_can_see_is_refused_by_both(
    name: str, old: str, new: str, tmp_path: Path
) -> None:
    text = text_of(name)
    assert old in text
    text = text.replace(old, new, 1)
    assert refused(name, text, tmp_path)
    assert marked(checker_of(FILES[name]), text) != set()
