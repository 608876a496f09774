"""Conditions, effects and words as they are written: names checked against what is known.

Owns the reading of ``needs``, ``sets``, ``if``, ``at``, ``when`` and placeholders. Conditions
are data: a fact and the values that it may have, never code.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

import msgspec

from coach.nodes import Bad, Node, Problems, nearest, text
from coach.orders.values import CHOICES, VALUE_NAMES
from coach.procedure.facts import Choices, FactTable, Wanted

PROGRESS_NAMES = frozenset(
    {
        "now", "due", "given", "left_to_give", "so_far", "where", "close_line", "typed", "started",
        "next_due", "looks_like",
    }
)  # fmt: skip
"""Placeholders that the sitting fills in as the dose goes on."""

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


class Names(msgspec.Struct, frozen=True):
    """What a procedure file may speak of."""

    table: FactTable
    values: Mapping[str, tuple[str, ...]]
    """The values of each fact."""
    supplies: frozenset[str]
    problems: Problems

    def wanted(self, node: Node) -> Wanted:
        """Read a condition on facts: a value, a list of values, or ``{not: value}``."""
        return self._condition(node, self.values, "a fact")

    def choices(self, node: Node) -> Choices:
        """Read a condition on the choices of an order sheet."""
        return self._condition(node, CHOICES, "a choice of the order sheet")

    def forbids(self, node: Node) -> int:
        """Read a condition on facts as the bits that must be absent."""
        return self.table.forbids(self.wanted(node))

    def sets(self, node: Node) -> Mapping[str, str]:
        """Read an effect: each fact with its new value."""
        found: dict[str, str] = {}
        for name, child in _group(node).items():
            with self.problems.caught():
                found[name] = _one(child, self._known(child, name, self.values, "a fact"))
        return found

    def words(self, node: Node) -> str:
        """Read a text that a person sees, its placeholders checked. Raises Bad."""
        written = text(node)
        for found in _PLACEHOLDER.finditer(written):
            name = found.group(1)
            if not self._placeholder_known(name):
                known = VALUE_NAMES | PROGRESS_NAMES | {f"count_{s}" for s in self.supplies}
                hint = nearest(name, known)
                self.problems.add(node.problem("a known placeholder", f"{{{name}}}", hint))
        if "{" in _PLACEHOLDER.sub("", written) or "}" in _PLACEHOLDER.sub("", written):
            raise Bad(node.problem("each { closed by a }"))
        return written

    def _placeholder_known(self, name: str) -> bool:
        if name.startswith("count_"):
            return name.removeprefix("count_") in self.supplies
        return name in VALUE_NAMES or name in PROGRESS_NAMES

    def _condition(
        self, node: Node, known: Mapping[str, tuple[str, ...]], kind: str
    ) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for name, child in _group(node).items():
            with self.problems.caught():
                found[name] = _some(child, self._known(child, name, known, kind))
        return found

    def _known(
        self, node: Node, name: str, known: Mapping[str, tuple[str, ...]], kind: str
    ) -> tuple[str, ...]:
        if name not in known:
            raise Bad(node.problem(kind, f'"{name}"', nearest(name, known)))
        return known[name]


def _group(node: Node) -> dict[str, Node]:
    if not isinstance(node.value, dict):
        raise Bad(node.problem("names with values"))
    return node.value


def _one(node: Node, allowed: tuple[str, ...]) -> str:
    if isinstance(node.value, str) and node.value in allowed:
        return node.value
    hint = nearest(node.value, allowed) if isinstance(node.value, str) else ""
    raise Bad(node.problem("one of " + ", ".join(allowed), hint=hint))


def _some(node: Node, allowed: tuple[str, ...]) -> tuple[str, ...]:
    if isinstance(node.value, dict):
        if set(node.value) != {"not"}:
            raise Bad(node.problem("a value, a list of values, or not: with one"))
        refused = _some(node.value["not"], allowed)
        found = tuple(value for value in allowed if value not in refused)
    elif isinstance(node.value, list):
        found = tuple(_one(child, allowed) for child in node.value)
    else:
        found = (_one(node, allowed),)
    if not found:
        raise Bad(node.problem("at least one value that is left", "none"))
    if len(set(found)) < len(found):
        raise Bad(node.problem("each value once", "one of them twice"))
    return found


def fill(template: str, values: Mapping[str, str]) -> str:
    """Return *template* with each placeholder replaced; the values are never read again.

    Where one has nothing to say, the words around it close up.
    """
    filled = _PLACEHOLDER.sub(lambda found: values[found.group(1)], template)
    return filled.replace("  ", " ").strip(" ")
