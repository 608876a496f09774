"""YAML as it was written: a tree of nodes that know their file, line and field.

Owns the reading of YAML text. Scalars stay text until a reader asks for a type, so ``12:30``,
``no``, ``010`` and ``2.50`` arrive as written (YAML 1.2 meaning is given by the field, never
guessed). Keys that stand twice, aliases, tags, second documents and hidden characters are
refused. It must never hold a fact about procedures or order sheets.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import msgspec
import yaml
from yaml.reader import ReaderError

from coach.clean import shown, unsafe_character
from coach.errors import FileProblems, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

T = TypeVar("T")

LARGEST_FILE = 1_000_000
"""Bytes. No sheet or procedure file comes near it; a larger one is a mistake."""

DEEPEST = 40
"""Levels of groups and lists within each other; readers that call themselves rest on it."""

MOST_PROBLEMS = 200
"""Rows. More than that is another kind of file, and is not listed to its end."""


class Node(msgspec.Struct, frozen=True, eq=False):
    """One value in a YAML file: a mapping, a list or the text of a scalar as written."""

    file: str
    line: int
    column: int
    field: str
    value: dict[str, Node] | list[Node] | str

    def problem(self, expected: str, found: str = "", hint: str = "") -> Problem:
        """Return a row about this node; *found* defaults to what stands there."""
        return Problem(
            self.file, self.line, self.column, self.field, expected, found or self.told, hint
        )

    @property
    def told(self) -> str:
        """What stands here, in words: the text in quotes, or its shape."""
        if isinstance(self.value, dict):
            return "a group of fields"
        if isinstance(self.value, list):
            return "a list"
        return f'"{shown(self.value)[:60]}"' if self.value else "nothing"


_FORM = (
    "Look at this line and the ones above it: a colon, a quote, a bracket or the spaces before a "
    "field may be wrong or missing."
)
_TAB = "Use spaces before a field."


class Bad(Exception):
    """Raised by a parser for one node; the reader collects it and goes on."""

    def __init__(self, problem: Problem) -> None:
        """Take the *problem* that was met."""
        self.problem = problem
        super().__init__(str(problem))


class Problems:
    """Collects problems, so that a person sees all of them at once."""

    def __init__(self) -> None:
        """Start with none."""
        self.rows: list[Problem] = []

    def add(self, problem: Problem) -> None:
        """Keep *problem*, once; past MOST_PROBLEMS nobody reads on, and none is kept."""
        if len(self.rows) < MOST_PROBLEMS and problem not in self.rows:
            self.rows.append(problem)

    @contextmanager
    def caught(self) -> Iterator[None]:
        """Keep the problem of a parser that gives up inside the block, and go on after it."""
        try:
            yield
        except Bad as bad:
            self.add(bad.problem)

    def raise_if_any(self) -> None:
        """Raise FileProblems if anything was kept."""
        if self.rows:
            raise FileProblems(tuple(self.rows))


def nearest(found: str, known: Iterable[str]) -> str:
    """Return a sentence that offers the *known* name nearest to *found*, or ``""``."""
    close = difflib.get_close_matches(found, sorted(known), n=1, cutoff=0.6)
    return f'Did you mean "{close[0]}"?' if close else ""


def read_file(path: Path, name: str = "") -> Node:
    """Return the root node of the YAML file at *path*, called *name* in messages.

    Raises FileProblems if it cannot be read or is not the YAML that is allowed here.
    """
    named = name or str(path)
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        problem = Problem(named, 0, 0, "", "a file that can be read", _reason(error))
        raise FileProblems((problem,)) from error
    return read_bytes(raw, named)


def read_bytes(raw: bytes, name: str) -> Node:
    """Return the root node of *raw* YAML in UTF-8, called *name* in messages.

    Raises FileProblems with every problem of form that was found.
    """
    if len(raw) > LARGEST_FILE:
        raise FileProblems((Problem(name, 0, 0, "", "at most 1 MB of text", "a larger file"),))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise FileProblems(
            (Problem(name, line, 0, "", "text in UTF-8", "bytes that are not"),)
        ) from error
    return _Builder(name).build(text)


def _reason(error: OSError) -> str:
    if isinstance(error, FileNotFoundError):
        return "no file of that name"
    if isinstance(error, IsADirectoryError):
        return "a folder"
    return (error.strerror or "an error").lower()


class _Open:
    """A mapping or list that is still being filled."""

    __slots__ = ("key", "node", "seen")

    def __init__(self, node: Node) -> None:
        self.node = node
        self.key: Node | None = None
        self.seen: dict[str, int] = {}


class _Builder:
    """Builds nodes from parser events with a stack of its own, so depth is no danger."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.problems = Problems()
        self.stack: list[_Open] = []
        self.root: Node | None = None
        self.documents = 0

    def build(self, text: str) -> Node:
        try:
            for event in yaml.parse(text, Loader=yaml.CSafeLoader):
                self._take(event)
        except ReaderError as error:
            self.problems.add(self._hidden_problem(text, error))
        except yaml.YAMLError as error:
            self.problems.add(self._form_problem(error))
        except Bad as too_deep:
            self.problems.add(too_deep.problem)
        if self.root is None and not self.problems.rows:
            self.problems.add(Problem(self.name, 0, 0, "", "fields with values", "an empty file"))
        self.problems.raise_if_any()
        assert self.root is not None
        return self.root

    def _hidden_problem(self, text: str, error: ReaderError) -> Problem:
        character = int(error.character)
        before = text[: text.find(chr(character))]
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        found = f"the hidden character U+{character:04X}"
        return Problem(self.name, line, column, "", "text that can be shown", found)

    def _form_problem(self, error: yaml.YAMLError) -> Problem:
        mark: yaml.Mark | None = getattr(error, "problem_mark", None)
        line, column = (mark.line + 1, mark.column + 1) if mark is not None else (0, 0)
        tab = "\\t" in str(getattr(error, "problem", "")) or "tab" in str(error)
        found = "a tab" if tab else "something that does not fit there"
        return Problem(
            self.name, line, column, "", "well-formed YAML", found, _TAB if tab else _FORM
        )

    def _take(self, event: yaml.Event) -> None:
        if isinstance(event, yaml.ScalarEvent):
            self._scalar(event)
        elif isinstance(event, yaml.MappingStartEvent):
            self._open(event, {})
        elif isinstance(event, yaml.SequenceStartEvent):
            self._open(event, [])
        elif isinstance(event, yaml.CollectionEndEvent):
            self.stack.pop()
        elif isinstance(event, yaml.AliasEvent):
            self._refuse(event, "the value written out", f"an alias, *{event.anchor}")
            self._place(self._node(event, ""))
        elif isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents == 2:
                self._refuse(event, "one document", "a second one, after ---")

    def _refuse(self, event: yaml.Event, expected: str, found: str) -> None:
        self.problems.add(self._node(event, "").problem(expected, found))

    def _node(self, event: yaml.Event, value: dict[str, Node] | list[Node] | str) -> Node:
        mark = event.start_mark
        assert mark is not None  # the parser marks every event; the stubs allow for none
        return Node(self.name, mark.line + 1, mark.column + 1, self._field(), value)

    def _field(self) -> str:
        if not self.stack:
            return ""
        top = self.stack[-1]
        if isinstance(top.node.value, list):
            return f"{top.node.field}[{len(top.node.value) + 1}]"
        if top.key is None:
            return top.node.field
        key = str(top.key.value)
        return f"{top.node.field}.{key}" if top.node.field else key

    def _check_form(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent) -> None:
        if event.anchor:
            self._refuse(event, "no anchor", f"&{event.anchor}")
        if event.tag is not None and event.tag != "!":
            self._refuse(event, "no tag", f'"{shown(event.tag)}"')

    def _scalar(self, event: yaml.ScalarEvent) -> None:
        self._check_form(event)
        hidden = unsafe_character(event.value)
        if hidden:
            self._refuse(event, "text that can be shown", f"the hidden character {hidden}")
        self._place(self._node(event, shown(event.value)))

    def _open(self, event: yaml.CollectionStartEvent, value: dict[str, Node] | list[Node]) -> None:
        self._check_form(event)
        node = self._node(event, value)
        if len(self.stack) == DEEPEST:
            raise Bad(node.problem(f"at most {DEEPEST} levels", "more of them within each other"))
        self._place(node)
        self.stack.append(_Open(node))

    def _place(self, node: Node) -> None:
        if not self.stack:
            self.root = self.root or node
            return
        top = self.stack[-1]
        if isinstance(top.node.value, list):
            top.node.value.append(node)
        elif top.key is None:
            self._key(top, node)
        elif isinstance(top.node.value, dict):
            top.node.value.setdefault(str(top.key.value), node)
            top.key = None

    def _key(self, top: _Open, node: Node) -> None:
        if not isinstance(node.value, str):
            self.problems.add(node.problem("a name before the colon"))
            node = Node(node.file, node.line, node.column, node.field, "?")
        name = str(node.value)
        if name in top.seen:
            field = f"{top.node.field}.{name}" if top.node.field else name
            row = Problem(
                self.name,
                node.line,
                node.column,
                field,
                "each field once",
                f'"{name}" a second time, first on line {top.seen[name]}',
            )
            self.problems.add(row)
        top.seen.setdefault(name, node.line)
        top.key = node


def text(node: Node) -> str:
    """Return the scalar of *node*, not empty, white space folded. Raises Bad."""
    if not isinstance(node.value, str) or not node.value.strip():
        raise Bad(node.problem("some text"))
    return " ".join(node.value.split())


def boolean(node: Node) -> bool:
    """Return True for ``yes``, False for ``no``; no other word is taken. Raises Bad."""
    return one_of("yes", "no")(node) == "yes"


def whole(node: Node) -> int:
    """Return a whole number, 0 or more, written with digits alone. Raises Bad."""
    written = node.value
    if not isinstance(written, str) or not written.isascii() or not written.isdigit():
        raise Bad(node.problem("a whole number"))
    if len(written) > 9 or (len(written) > 1 and written.startswith("0")):
        raise Bad(node.problem("a whole number without zeros before it"))
    return int(written)


def one_of(*allowed: str) -> Callable[[Node], str]:
    """Return a parser for exactly the *allowed* words; its error offers the nearest."""

    def parse(node: Node) -> str:
        if isinstance(node.value, str) and node.value in allowed:
            return node.value
        hint = nearest(node.value, allowed) if isinstance(node.value, str) else ""
        raise Bad(node.problem("one of " + ", ".join(allowed), hint=hint))

    return parse


def list_of(parse: Callable[[Node], T], problems: Problems) -> Callable[[Node], tuple[T, ...]]:
    """Return a parser for a list of what *parse* reads; each bad item is kept in *problems*."""

    def parse_all(node: Node) -> tuple[T, ...]:
        if not isinstance(node.value, list):
            raise Bad(node.problem("a list"))
        items: list[T] = []
        for child in node.value:
            with problems.caught():
                items.append(parse(child))
        return tuple(items)

    return parse_all


class Fields:
    """The fields of one mapping, read by name; unknown ones are refused with the nearest name."""

    def __init__(self, node: Node, known: frozenset[str], problems: Problems) -> None:
        """Open *node*; *known* holds every field name that may stand in it."""
        self.node = node
        self.problems = problems
        self._children: dict[str, Node] = {}
        if not isinstance(node.value, dict):
            problems.add(node.problem("a group of fields"))
            return
        self._children = node.value
        for name, child in self._children.items():
            if name not in known and len(problems.rows) < MOST_PROBLEMS:
                listed = "one of the fields " + ", ".join(sorted(known))
                row = child.problem(listed, f'"{name}"', nearest(name, known))
                problems.add(row)

    def __contains__(self, name: str) -> bool:
        """Tell whether the field *name* was written."""
        return name in self._children

    def child(self, name: str) -> Node:
        """Return the node of a field that is present."""
        return self._children[name]

    def required(self, name: str, parse: Callable[[Node], T], stand_in: T) -> T:
        """Return the parsed field; a missing or bad one is kept and *stand_in* returned."""
        if name not in self._children:
            if isinstance(self.node.value, dict):
                field = f"{self.node.field}.{name}" if self.node.field else name
                node = self.node
                row = Problem(node.file, node.line, node.column, field, "this field", "nothing")
                self.problems.add(row)
            return stand_in
        return self.optional(name, parse, stand_in)

    def optional(self, name: str, parse: Callable[[Node], T], default: T) -> T:
        """Return the parsed field, or *default* if it is absent; a bad one is kept."""
        if name in self._children:
            try:
                return parse(self._children[name])
            except Bad as bad:
                self.problems.add(bad.problem)
        return default
