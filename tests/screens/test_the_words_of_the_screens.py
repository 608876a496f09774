"""Every word of the screens stands in their catalogue, and each is used."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from coach import words

PACKAGE = Path(words.__file__).parent
SCREENS = PACKAGE / "screens"


def test_every_word_is_used() -> None:
    text = "\n".join(path.read_text() for path in PACKAGE.rglob("*.py"))
    unused = [n for n in vars(words) if n.isupper() and not re.search(rf"words\.{n}\b", text)]
    assert unused == []


def test_no_sentence_stands_outside_the_catalogue() -> None:
    found = []
    for path in SCREENS.rglob("*.py"):
        if path.name == "pictures.py":
            continue
        tree = ast.parse(path.read_text())
        told = {
            id(node.value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        }
        found += [
            f"{path.name}: {node.value}"
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in told
            and " " in node.value.strip(" ═")
        ]
    assert found == []
