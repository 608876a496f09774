"""What is believed and what is true are kept apart, and the fewest false ticks are counted."""

from __future__ import annotations

from pathlib import Path

from coach.procedure.files import bundle_of
from coach.procedure.read import read_source
from coach.proof.family import family_of, kinds_of
from coach.proof.rules import read_rules
from coach.proof.slips import SlipSearch
from coach.proof.tolerance import Tolerance, falls, tolerances
from tests.procedure.shipped import FOLDER, SOURCE
from tests.proof.small import Change, written

SEEN: Change = (
    "      question: Is it open?\n",
    "      question: Is it open?\n      sees: {clamp: open}\n",
)
OPEN_AT_THE_END: Change = (
    "  - id: one-dose\n",
    """\
  - id: open-at-the-end
    number: 14
    says: The clamp is open at the end.
    source: "common practice, no source"
    when: {clamp: present}
    always: {finished: yes}
    facts: {clamp: open}
  - id: one-dose
""",
)

NOTHING_TO_SEE = {"scrubbed-before-joining", "a-scrub-for-each-joining"}
"""What falls to one false tick and can hurt: a scrub leaves nothing to be seen."""

FULLEST = {
    "batteries": "due",
    "clamp": "present",
    "connector": "positive",
    "heparin": "ordered",
    "last": "stopped",
    "reuse": "allowed",
    "storage": "refrigerator",
    "tubing": "new",
}
"""The choices of an order sheet that asks for the most steps."""


def survived(folder: Path, *changes: Change, most: int = 1) -> dict[str, Tolerance]:
    """Return what each rule of the small procedure survives."""
    written(folder, *changes)
    source = read_source(bundle_of(folder))
    rules = read_rules(folder / "rules", source)
    family = family_of(source, kinds_of(source))
    return {one.rule: one for one in tolerances(family, rules, falls(family, rules, most))}


def test_a_scrub_with_nothing_to_see_falls_to_one_false_tick(tmp_path: Path) -> None:
    found = survived(tmp_path)["scrubbed-before-joining"]
    assert found.ticks == 1
    assert found.story == (
        "You answer “Scrub the connector” and have not done it.",
        "Then comes “Join the syringe”.",
    )


def test_a_look_back_that_sees_the_clamp_makes_it_two(tmp_path: Path) -> None:
    changes = (SEEN, OPEN_AT_THE_END)
    assert survived(tmp_path / "one", *changes)["open-at-the-end"].ticks == 0
    assert survived(tmp_path / "two", *changes, most=2)["open-at-the-end"].ticks == 2


def test_what_can_hurt_takes_more_than_one_false_tick_but_for_a_scrub() -> None:
    # A rule that cannot hurt has no say in how the others fall, but makes for more states.
    rules = tuple(rule for rule in read_rules(FOLDER / "rules", SOURCE) if rule.hurts)
    kinds = [kind for kind in kinds_of(SOURCE) if FULLEST.items() <= kind.items()]
    assert len(kinds) == 1
    search = SlipSearch(family_of(SOURCE, kinds), rules)
    search.run(1)
    assert {rules[at].id for at in search.broken} == NOTHING_TO_SEE
