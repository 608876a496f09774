"""Reads which mutants are recorded as harmless, and why."""

from __future__ import annotations

from pathlib import Path

import msgspec

from coach.nodes import Fields, Node, Problems, list_of, read_file, text

FILE = Path(__file__).with_name("equivalent.yaml")


class Harmless(msgspec.Struct, frozen=True):
    """Mutants that hurt nobody, and the reason."""

    mutants: str
    """Their names; an asterisk stands for any letters."""
    why: str


def harmless() -> tuple[Harmless, ...]:
    """Return what is recorded. Raises FileProblems if the file is not as it should be."""
    problems = Problems()
    top = Fields(read_file(FILE, FILE.name), frozenset({"harmless"}), problems)

    def one(node: Node) -> Harmless:
        fields = Fields(node, frozenset({"mutants", "why"}), problems)
        return Harmless(fields.required("mutants", text, ""), fields.required("why", text, ""))

    found: tuple[Harmless, ...] = top.required("harmless", list_of(one, problems), ())
    problems.raise_if_any()
    return found
