"""The lists of words that the texts are held against, read from the files of the procedures.

Owns the folder ``words``: common words, the glossary, the words that begin an action, and the
forms that are never written. Each list has its source beside it, and an agency may change it.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import msgspec

from coach.errors import FileProblems
from coach.nodes import Bad, Fields, Node, Problems, list_of, read_file, text
from coach.procedure import form
from coach.procedure.files import check_schema
from coach.shapes import Group


class Never(msgspec.Struct, frozen=True):
    """Forms that mean one thing and have been misread."""

    forms: tuple[str, ...]
    write: str
    """What to write instead."""
    source: str
    """The list that forbids them."""


class WordLists(msgspec.Struct, frozen=True):
    """What the words of a text are held against."""

    known: frozenset[str]
    """Words that everybody knows, and those of the glossary, in lower-case letters."""
    glossary: Mapping[str, str]
    """Words of the trade, as they are written, with what they mean."""
    moves: frozenset[str]
    """Words that begin an action which does something."""
    keeps: frozenset[str]
    """Words that begin an action which leaves something as it is."""
    never: tuple[Never, ...]

    def knows(self, word: str) -> bool:
        """Tell whether *word* is known, as it stands or without an s at its end.

        It comes in lower-case letters. A word joined by hyphens is known if each part of it is.
        """
        if word in self.known:
            return True
        return all(
            part in self.known or part.removesuffix("s") in self.known for part in word.split("-")
        )


def read_words(folder: Path) -> WordLists:
    """Return the word lists of the procedures in *folder*.

    Raises FileProblems with every problem in every one of the four files.
    """
    problems = Problems()
    return _read({name: _fields(folder, name, problems) for name in _FIELDS}, problems)


_FIELDS: Mapping[str, Group] = {
    "common": form.COMMON_FILE,
    "glossary": form.GLOSSARY_FILE,
    "actions": form.ACTIONS_FILE,
    "never": form.NEVER_FILE,
}
"""The fields of each file."""


def _fields(folder: Path, name: str, problems: Problems) -> Fields | None:
    try:
        root = read_file(folder / "words" / f"{name}.yaml", f"procedures/words/{name}.yaml")
    except FileProblems as error:
        for problem in error.problems:
            problems.add(problem)
        return None
    fields = Fields(root, _FIELDS[name].names, problems)
    check_schema(fields)
    return fields


def _read(files: Mapping[str, Fields | None], problems: Problems) -> WordLists:
    common: tuple[frozenset[str], ...] = ()
    glossary: Mapping[str, str] = {}
    moves, keeps = frozenset[str](), frozenset[str]()
    never: tuple[Never, ...] = ()
    if file := files["common"]:
        read_all = list_of(lambda node: _common(node, problems), problems)
        common = file.required("lists", read_all, ())
    if file := files["glossary"]:
        file.required("source", text, "")
        glossary = file.required("words", lambda node: _glossary(node, problems), {})
    if file := files["actions"]:
        file.required("source", text, "")
        moves = file.required("moves", lambda node: _words(node, problems), moves)
        keeps = file.required("keeps", lambda node: _words(node, problems), keeps)
    if file := files["never"]:
        never = file.required("never", list_of(lambda n: _never(n, problems), problems), ())
    problems.raise_if_any()
    known = frozenset(word.lower() for word in glossary).union(*common)
    return WordLists(known, glossary, moves, keeps, never)


def _common(node: Node, problems: Problems) -> frozenset[str]:
    fields = Fields(node, form.WORD_LIST.names, problems)
    fields.required("source", text, "")
    return fields.required("words", lambda child: _words(child, problems), frozenset[str]())


def _words(node: Node, problems: Problems) -> frozenset[str]:
    """Read words with white space between them; one that stands twice is a slip."""
    written = text(node).split()
    for word in sorted(set(written)):
        if word != word.lower():
            problems.add(node.problem("words in lower-case letters", f'"{word}"'))
        if written.count(word) > 1:
            problems.add(node.problem("each word once", f'"{word}" twice'))
    return frozenset(written)


def _glossary(node: Node, problems: Problems) -> Mapping[str, str]:
    if not isinstance(node.value, dict):
        raise Bad(node.problem("words with what they mean"))
    found: dict[str, str] = {}
    for word, child in node.value.items():
        with problems.caught():
            found[word] = text(child)
    return found


def _never(node: Node, problems: Problems) -> Never:
    fields = Fields(node, form.NEVER.names, problems)
    return Never(
        forms=fields.required("forms", list_of(text, problems), ()),
        write=fields.required("write", text, ""),
        source=fields.required("source", text, ""),
    )
