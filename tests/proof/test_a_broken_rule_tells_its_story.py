"""A rule that breaks comes with the shortest run to it, told as a person would live it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from coach.procedure.files import Bundle
from coach.procedure.read import read_source
from coach.proof.family import kinds_of
from coach.proof.finding import Finding
from coach.proof.lists import WordLists, read_words
from coach.proof.prove import check
from coach.proof.rules import read_rules
from tests.procedure.bundles import changed, line_of
from tests.procedure.shipped import FOLDER
from tests.proof import small

SHEET: Mapping[str, str] = {
    "heparin": "ordered",
    "clamp": "present",
    "connector": "negative",
    "storage": "room",
    "reuse": "not-allowed",
    "tubing": "new",
    "batteries": "not-due",
    "last": "finished",
}
"""The kind of order sheet that a fault is looked for with."""


@cache
def lists() -> WordLists:
    """Return the lists that the shipped words are held against."""
    return read_words(FOLDER)


def found(bundle: Bundle) -> dict[str, Finding]:
    """Return what does not hold in *bundle* for one kind of order sheet, by name."""
    source = read_source(bundle)
    kind = next(k for k in kinds_of(source) if all(SHEET.get(n, v) == v for n, v in k.items()))
    report = check(source, read_rules(FOLDER / "rules", source), [kind], lists())
    return {finding.name: finding for finding in report.findings}


def test_a_story_is_told_step_by_step(tmp_path: Path) -> None:
    report = small.checked(tmp_path, ("    needs: {connector: ready}\n", ""))
    (finding,) = report.findings
    assert finding.story == (
        "You wash your hands, until the time is over.",
        "You scrub the connector, until the time is over.",
        "You say: The connector touched something.",
        "You join the syringe.",
        "Not one of these was done before it, or it was undone since: “Scrub the connector”.",
    )


def test_a_story_tells_of_the_table_that_was_left(tmp_path: Path) -> None:
    change = ("needs: {hands: clean, joined: nothing}", "needs: {joined: nothing}")
    (finding,) = small.checked(tmp_path, change).findings
    assert finding.story == (
        "You wash your hands, until the time is over.",
        "The phone rings. You leave the table and come back after three minutes.",
        "You scrub the connector, until the time is over.",
        "At that moment this is so: hands is unclean.",
    )


def test_what_breaks_with_some_sheets_alone_says_with_which(tmp_path: Path) -> None:
    change = ("always: {attempt: scrub}", "always: {attempt: look}")
    (finding,) = small.checked(tmp_path, change).findings
    assert finding.name == "clean-when-scrubbed"
    assert finding.sheets == "clamp present"


def test_a_fault_in_the_shipped_steps_is_told_in_a_few_sentences() -> None:
    needs = "needs: {hands: clean, <syringe>: bare, connector: ready, joined: nothing}"
    change = "parts/flush.yaml", needs, needs.replace("connector: ready, ", "")
    bundle = changed(change)
    finding = found(bundle)["dried-before-joining"]
    assert finding.where is not None
    assert finding.where.file == f"procedures/{change[0]}"
    assert finding.where.line == line_of(bundle, change[0], "id: <syringe>-join")
    first, *_, last, missing = finding.story
    assert first.startswith("You do the first ")
    assert last == "You join the syringe."
    assert "“Let the connector dry”" in missing
    assert len(finding.story) < 15
