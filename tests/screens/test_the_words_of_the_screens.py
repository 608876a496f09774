"""Every word of the screens stands in their catalogue, and each is used."""

from __future__ import annotations

import ast
from pathlib import Path

from coach.screens import words

SCREENS = Path(words.__file__).parent


def test_every_word_is_used() -> None:
    text = "\n".join(p.read_text() for p in SCREENS.rglob("*.py") if p.name != "words.py")
    unused = [name for name in vars(words) if name.isupper() and f"words.{name}" not in text]
    assert unused == []


def test_no_sentence_stands_outside_the_catalogue() -> None:
    found = []
    for path in SCREENS.rglob("*.py"):
        if path.name in ("words.py", "pictures.py"):
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
