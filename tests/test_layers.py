"""Imports run downward only, and nothing heavy is loaded where it is not needed."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SCRIPTS = Path(sys.executable).parent


def run(*command: str) -> subprocess.CompletedProcess[str]:
    """Run *command* in the checkout and return what it said."""
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_imports_run_downward_only() -> None:
    told = run(str(SCRIPTS / "lint-imports"))
    assert told.returncode == 0, told.stdout + told.stderr


@pytest.mark.parametrize(
    ("module", "unwanted"),
    [
        ("coach", "yaml sqlite3 textual rich decimal argparse"),
        ("coach.cli", "yaml sqlite3 textual rich decimal"),
        ("coach.engine", "textual rich sqlite3"),
        ("coach.procedure.read", "textual rich sqlite3"),
        ("coach.orders.read", "textual rich sqlite3"),
        ("coach.journal.store", "textual rich yaml"),
        ("coach.sitting.desk", "textual rich"),
        ("coach.plain", "textual rich"),
        ("coach.records.export.handed", "textual rich icalendar"),
        (
            "coach.screens.app",  # what is loaded before the Today screen is there
            "hashlib icalendar coach.engine coach.orders.dosing coach.procedure.read "
            "coach.screens.contacts "
            "coach.screens.first coach.screens.follow coach.screens.word",
        ),
    ],
)
def test_a_layer_loads_nothing_that_it_does_not_use(module: str, unwanted: str) -> None:
    code = f"import sys, {module}; print([m for m in {unwanted.split()!r} if m in sys.modules])"
    told = run(sys.executable, "-c", code)
    assert told.stdout.strip() == "[]", told.stdout + told.stderr


def test_types_are_whole() -> None:
    told = run(sys.executable, "-m", "mypy")
    assert told.returncode == 0, told.stdout


@pytest.mark.parametrize("command", [["check"], ["format", "--check"]])
def test_the_style_is_kept(command: list[str]) -> None:
    told = run(str(SCRIPTS / "ruff"), *command, ".")
    assert told.returncode == 0, told.stdout


def python_files() -> list[Path]:
    """Return the files of the package."""
    return sorted((ROOT / "coach").rglob("*.py"))


def test_no_file_is_too_long_to_find_ones_way_in() -> None:
    long = {p.name: n for p in python_files() if (n := len(p.read_text().splitlines())) > 400}
    assert long == {}


def test_no_function_is_too_long_to_read() -> None:
    long = {
        f"{path.name}:{node.name}": length
        for path in python_files()
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (length := (node.end_lineno or 0) - node.lineno + 1) > 40
    }
    assert long == {}


def test_nothing_of_one_procedure_stands_in_the_program() -> None:
    from coach.procedure.files import bundle_of
    from coach.procedure.read import read_source

    source = read_source(bundle_of(ROOT / "procedures"))
    names = {step.id for step in (*source.steps, *source.responses)}
    names |= {mishap.id for mishap in source.mishaps}
    names |= {name for name in (f.name for f in source.table.facts) if "-" in name}
    found = {
        f"{path.name}: {node.value}"
        for path in python_files()
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Constant) and node.value in names
    }
    assert found == set()
