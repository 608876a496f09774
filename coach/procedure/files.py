"""The files of a procedure as nodes: which are read, in which order, with parameters filled in.

Owns the fragments. A part that is used several times is written once with ``<parameters>``;
each use gives them values. It must never read a meaning into a node.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import msgspec

from coach.errors import FileProblems, Problem
from coach.nodes import Bad, Fields, Node, Problems, nearest, one_of, read_bytes, text
from coach.procedure import form

_PARAMETER = re.compile(r"<([a-z_]+)>")

ROOTS = ("dose.yaml", "facts.yaml", "picture.yaml")
"""The files that everything rests on."""


class Part(msgspec.Struct, frozen=True):
    """One use of a part file, its parameters filled in."""

    title: str
    when: Node | None
    """The condition of the whole use."""
    lists: Mapping[str, Node]
    """What it holds under ``facts``, ``steps``, ``responses``, ``spoilings``, ``troubles``."""


class Files(msgspec.Struct, frozen=True):
    """Every file of a procedure, as nodes."""

    dose: Fields
    facts: Node
    picture: Node
    parts: tuple[Part, ...]


Bundle = Mapping[str, str]
"""The text of each file of a procedure, by its path within the folder."""


def bundle_of(folder: Path) -> Bundle:
    """Return the procedure files in *folder*: what one dose needs, and can be kept with it.

    Raises FileProblems for all of those that cannot be read as text.
    """
    found: dict[str, str] = {}
    problems = Problems()
    for path in sorted((*folder.glob("*.yaml"), *folder.glob("p*/*.yaml"))):
        name = path.relative_to(folder).as_posix()
        try:
            found[name] = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            expected = "text in UTF-8 that can be read"
            problems.add(Problem(f"procedures/{name}", 0, 0, "", expected, "something else"))
    problems.raise_if_any()
    return found


def read_one(bundle: Bundle, name: str) -> Node:
    """Return the root node of the file *name* in *bundle*. Raises FileProblems."""
    if name not in bundle:
        problem = Problem(f"procedures/{name}", 0, 0, "", "this file", "no file of that name")
        raise FileProblems((problem,))
    # A lone surrogate, from a damaged record, is left for the reader to refuse.
    return read_bytes(bundle[name].encode(errors="surrogatepass"), f"procedures/{name}")


def read_files(bundle: Bundle, problems: Problems) -> Files:
    """Return the files in *bundle* as nodes; what is wrong is kept in *problems*.

    Raises FileProblems if a file that everything rests on cannot be read.
    """
    reader = _Reader(bundle, problems)
    reader.check_roots()
    dose = Fields(reader.file("dose.yaml"), form.DOSE_FILE.names, problems)
    check_schema(dose)
    facts = Fields(reader.file("facts.yaml"), form.FACTS_FILE.names, problems)
    check_schema(facts)
    picture = Fields(reader.file("picture.yaml"), form.PICTURE_FILE.names, problems)
    check_schema(picture)
    uses: list[Node] = dose.required("parts", _list, [])
    parts = tuple(part for use in uses for part in reader.part(use))
    return Files(dose, _child(facts, "facts", {}), _child(picture, "line", []), parts)


def check_schema(fields: Fields) -> None:
    """Check the schema version, of which there is one so far."""
    fields.required("schema", one_of("1"), "1")


def _list(node: Node) -> list[Node]:
    if not isinstance(node.value, list):
        raise Bad(node.problem("a list"))
    return node.value


def _child(fields: Fields, name: str, stand_in: dict[str, Node] | list[Node]) -> Node:
    return fields.required(name, lambda node: node, Node(fields.node.file, 0, 0, name, stand_in))


class _Reader:
    def __init__(self, bundle: Bundle, problems: Problems) -> None:
        self.bundle = bundle
        self.problems = problems
        self.read: dict[str, Node] = {}

    def check_roots(self) -> None:
        """Read the files that everything rests on. Raises FileProblems for all of them."""
        unread = Problems()
        for name in ROOTS:
            try:
                self.file(name)
            except FileProblems as error:
                for problem in error.problems:
                    unread.add(problem)
        unread.raise_if_any()

    def file(self, name: str) -> Node:
        if name not in self.read:
            self.read[name] = read_one(self.bundle, name)
        return self.read[name]

    def part(self, use: Node) -> tuple[Part, ...]:
        fields = Fields(use, form.USE.names, self.problems)
        name = fields.required("part", text, "")
        given: dict[str, str] = fields.optional("with", self._words, {})
        if not name:
            return ()
        try:
            root = self.file(f"parts/{name}.yaml")
        except FileProblems as error:
            for problem in error.problems:
                self.problems.add(problem)
            return ()
        raw = Fields(root, form.PART_FILE.names, self.problems)
        check_schema(raw)
        listed: tuple[str, ...] = raw.optional("takes", _names, ())
        takes = frozenset(listed)
        self._check_parameters(use, takes, given)
        # One that is missing was told of above; its own name stands in, so that reading goes on.
        stand_ins = {name: name.replace("_", "-") for name in takes}
        if takes or "<" in self.bundle[f"parts/{name}.yaml"]:
            root = self._fill(root, {**stand_ins, **given})
        filled = Fields(root, form.PART_FILE.names, self.problems)
        title = filled.required("title", text, "")
        lists = {
            section: filled.child(section)
            for section in ("facts", "steps", "responses", "spoilings", "troubles")
            if section in filled
        }
        when = fields.child("when") if "when" in fields else None
        return (Part(title, when, lists),)

    def _words(self, node: Node) -> dict[str, str]:
        if not isinstance(node.value, dict):
            raise Bad(node.problem("a group of parameters"))
        found = {name: name for name in node.value}
        for name, child in node.value.items():
            with self.problems.caught():
                found[name] = text(child)
        return found

    def _check_parameters(self, use: Node, takes: frozenset[str], given: Mapping[str, str]) -> None:
        for name in sorted(takes - given.keys()):
            self.problems.add(use.problem(f"a value for <{name}> under with", "none"))
        for name in sorted(given.keys() - takes):
            hint = nearest(name, takes)
            self.problems.add(use.problem("a parameter that the part takes", f'"{name}"', hint))

    def _fill(self, node: Node, given: Mapping[str, str]) -> Node:
        value: dict[str, Node] | list[Node] | str
        if isinstance(node.value, dict):
            value = {}
            for key, child in node.value.items():
                name = self._filled(child, key, given)
                if name in value:
                    self.problems.add(child.problem("each field once", f'"{name}" a second time'))
                value[name] = self._fill(child, given)
        elif isinstance(node.value, list):
            value = [self._fill(child, given) for child in node.value]
        else:
            value = self._filled(node, node.value, given)
        return Node(node.file, node.line, node.column, node.field, value)

    def _filled(self, node: Node, written: str, given: Mapping[str, str]) -> str:
        if "<" not in written:
            return written

        def replace(found: re.Match[str]) -> str:
            name = found.group(1)
            if name not in given:
                hint = nearest(name, given)
                expected = "a parameter that this part takes"
                self.problems.add(node.problem(expected, f"<{name}>", hint))
            return given.get(name, "")

        return _PARAMETER.sub(replace, written)


def _names(node: Node) -> tuple[str, ...]:
    return tuple(text(child) for child in _list(node))
