"""The fields of a file as data: which there are, which must be there, and what each looks like.

Owns the way from such a table to a JSON Schema (2020-12, which is what the names in a shape
mean). It must never know a field of one file, and never read one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import combinations

import msgspec

Shape = Mapping[str, object]
"""The JSON Schema of one value; a Group or another shape may stand inside it."""

DIALECT = "https://json-schema.org/draft/2020-12/schema"


class Only(msgspec.Struct, frozen=True):
    """A field that must be there where another says something, and must not be there otherwise."""

    field: str
    """The other field, in the same group."""
    says: str


class Group(msgspec.Struct, frozen=True):
    """A group of fields, in the order in which they are written."""

    fields: Mapping[str, Group | Shape]
    may: frozenset[str] = frozenset()
    """Those that may be left out."""
    only: Mapping[str, Only] = {}
    ways: tuple[tuple[str, ...], ...] = ()
    """Sets of fields, of which just one is written."""
    at_most: tuple[str, ...] = ()
    """Fields of which no two are written together."""

    @property
    def names(self) -> frozenset[str]:
        """Every field that may stand in the group."""
        return frozenset(self.fields)

    @property
    def must(self) -> tuple[str, ...]:
        """The fields that stand there in any case."""
        free = self.may.union(self.only, *self.ways)
        return tuple(name for name in self.fields if name not in free)


Says = Callable[[str], str]
"""What is said of a field, by its whole name, such as ``flush.barrel``; empty for nothing."""


def schema_of(group: Group, title: str, says: Says = lambda field: "") -> dict[str, object]:
    """Return the JSON Schema of a file that holds the fields of *group*."""
    return {"$schema": DIALECT, "title": title, **_group(group, "", says)}


def _group(group: Group, within: str, says: Says) -> dict[str, object]:
    schema: dict[str, object] = {
        "type": "object",
        "properties": {
            name: _field(held, f"{within}.{name}" if within else name, says)
            for name, held in group.fields.items()
        },
        "required": list(group.must),
        "additionalProperties": False,
    }
    conditions = [
        condition
        for name, only in group.only.items()
        for condition in _only(name, only, group.fields[only.field])
    ]
    conditions += [{"not": {"required": list(two)}} for two in combinations(group.at_most, 2)]
    if conditions:
        schema["allOf"] = conditions
    if group.ways:
        schema["oneOf"] = [_way(way, group.ways) for way in group.ways]
    return schema


def _field(held: Group | Shape, field: str, says: Says) -> object:
    about = says(field)
    value = _value(held, field, says)
    return {"description": about, **value} if about and isinstance(value, dict) else value


def _value(value: object, field: str, says: Says) -> object:
    if isinstance(value, Group):
        return _group(value, field, says)
    if isinstance(value, Mapping):
        return {name: _value(held, field, says) for name, held in value.items()}
    if isinstance(value, tuple):
        return [_value(held, field, says) for held in value]
    return value


def _only(name: str, only: Only, decides: Group | Shape) -> tuple[dict[str, object], ...]:
    words = decides["enum"] if isinstance(decides, Mapping) else ()
    assert isinstance(words, tuple)  # what decides is a choice of words
    others = [word for word in words if word != only.says]

    def where(says: list[str]) -> dict[str, object]:
        return {"properties": {only.field: {"enum": says}}, "required": [only.field]}

    return (
        {"if": where([only.says]), "then": {"required": [name]}},
        {"if": where(others), "then": {"properties": {name: False}}},
    )


def _way(way: tuple[str, ...], ways: tuple[tuple[str, ...], ...]) -> dict[str, object]:
    refused = {name: False for other in ways for name in other if name not in way}
    return {"required": list(way), "properties": refused}
