"""One order sheet's own proof, made once and remembered by what it was made on.

Owns the file of proofs that held. It must never remember one that did not.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from contextlib import suppress
from pathlib import Path

from coach import __version__
from coach.errors import FileProblems, Problem
from coach.orders.sheet import OrderSheet
from coach.orders.values import sheet_choices
from coach.procedure.files import Bundle, bundle_of
from coach.procedure.read import read_source
from coach.proof.finding import Finding
from coach.proof.prove import RULES, check, kinds_of_sheet
from coach.proof.rules import read_rules

MOST = 50
"""How many proofs are remembered, the latest ones."""


def first_fault(bundle: Bundle, folder: Path, sheet: OrderSheet, memory: Path) -> Finding | None:
    """Return the first thing that does not hold for a dose of *sheet*; None if all does.

    The procedures are those in *bundle*, their rules those in *folder*. What held once is read
    from the file *memory*, and is proved anew where anything has changed. Raises FileProblems if
    procedures or rules cannot be read.
    """
    made_on = digest(bundle, folder, sheet)
    if made_on in _kept(memory):
        return None
    source = read_source(bundle)
    report = check(source, read_rules(folder / RULES, source), kinds_of_sheet(source, sheet))
    if report.findings:
        return report.findings[0]
    keep(memory, made_on)
    return None


def keep_for(folder: Path, sheet: OrderSheet, memory: Path) -> None:
    """Remember that the procedures in *folder* hold for *sheet*. Raises FileProblems."""
    keep(memory, digest(bundle_of(folder), folder, sheet))


def digest(bundle: Bundle, folder: Path, sheet: OrderSheet) -> str:
    """Return the SHA-256 of all that a proof for *sheet* rests on, the program's version too.

    Raises FileProblems if a rule cannot be read as text.
    """
    rules: dict[str, str] = {}
    for path in sorted((folder / RULES).glob("*.yaml")):
        try:
            rules[path.name] = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            name = f"procedures/{RULES}/{path.name}"
            row = Problem(name, 0, 0, "", "text in UTF-8 that can be read", "something else")
            raise FileProblems((row,)) from error
    made_on = (__version__, dict(bundle), rules, sheet_choices(sheet))
    return hashlib.sha256(json.dumps(made_on, sort_keys=True).encode()).hexdigest()


def keep(memory: Path, made_on: str) -> None:
    """Add *made_on* to the file *memory*, which only its owner can read.

    Where it cannot be written, the next dose is proved anew.
    """
    lines = [*(line for line in _kept(memory) if line != made_on), made_on][-MOST:]
    with suppress(OSError):
        memory.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=memory.parent, prefix=memory.name)  # for the owner only
        try:
            with os.fdopen(handle, "w", encoding="ascii") as file:
                file.writelines(f"{line}\n" for line in lines)
            Path(name).replace(memory)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise


def _kept(memory: Path) -> list[str]:
    try:
        return memory.read_text(encoding="ascii").split()
    except (OSError, UnicodeDecodeError):
        return []  # the first time, or damaged: nothing is remembered
