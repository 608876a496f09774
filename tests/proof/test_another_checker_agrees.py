"""SPIN finds as many states and moves as the search here, and breaks the same rules.

SPIN is an open model checker (G. J. Holzmann, The SPIN Model Checker, 2003); its figures are read
from what it prints. A model is one process with one place, which it is in before and after each
event; an event is atomic; so SPIN stores the states after events and nothing beside them.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import msgspec
import pytest

from coach.procedure.facts import Effect
from coach.procedure.model import Source
from coach.proof.explore import search_of
from coach.proof.family import family_of, kinds_of
from coach.proof.promela import promela, write_promela
from coach.proof.rules import Rule, read_rules
from tests.procedure.shipped import FOLDER, SOURCE
from tests.proof.drawn import Drawing, drawings
from tests.proof.plainly import named, plainly
from tests.proof.spin import Told, spin

RULES = read_rules(FOLDER / "rules", SOURCE)
KINDS = kinds_of(SOURCE)
TOLD = ("connector-touched", "saline-before-tip-touched", "end-touched")
"""Mishaps that are kept where every state is visited one by one."""


def searched(source: Source, kind: Mapping[str, str], rules: tuple[Rule, ...]) -> Told:
    """Return what the search here finds."""
    found = search_of(family_of(source, [kind]), rules)
    found.run()
    broken = {named(rules[b.rule]) for b in found.broken if b.kinds & b.node.kinds}
    return Told(sum(len(nodes) for nodes in found.nodes), found.moves, frozenset(broken))


def quieter(source: Source) -> Source:
    """Return *source* with few mishaps."""
    kept = tuple(mishap for mishap in source.mishaps if mishap.id in TOLD)
    return msgspec.structs.replace(source, mishaps=kept)


def needing_nothing(source: Source, *idents: str) -> Source:
    """Return *source* with steps that are done whatever is so."""
    steps = tuple(
        msgspec.structs.replace(s, needs=0, needs_named={}) if s.id in idents else s
        for s in source.steps
    )
    assert sum(ours != theirs for ours, theirs in zip(steps, source.steps, strict=True)) == len(
        idents
    )
    return msgspec.structs.replace(source, steps=steps)


def passed_over(source: Source, *idents: str) -> Source:
    """Return *source* with mishaps that change nothing."""
    mishaps = tuple(
        msgspec.structs.replace(m, effect=Effect(-1, 0)) if m.id in idents else m
        for m in source.mishaps
    )
    assert sum(ours != theirs for ours, theirs in zip(mishaps, source.mishaps, strict=True)) == len(
        idents
    )
    return msgspec.structs.replace(source, mishaps=mishaps)


@pytest.mark.parametrize("drawing", drawings(4))
def test_on_small_procedures_both_find_every_state(drawing: Drawing, tmp_path: Path) -> None:
    plain = plainly(drawing.source, {}, drawing.rules)
    assert spin(promela(drawing.source, {}, drawing.rules), tmp_path) == plain
    merged = spin(promela(drawing.source, {}, drawing.rules, merged=True), tmp_path)
    assert merged == searched(drawing.source, {}, drawing.rules)
    assert merged.broken == plain.broken
    assert merged.states < plain.states


def test_a_dose_with_few_mishaps_has_as_many_states_one_by_one(tmp_path: Path) -> None:
    source = quieter(SOURCE)
    plain = spin(promela(source, KINDS[-1], RULES), tmp_path)
    assert plain == plainly(source, KINDS[-1], RULES)
    assert plain.broken == frozenset()


@pytest.mark.parametrize("kind", [KINDS[-1]])
def test_a_whole_dose_has_as_many_states_as_the_search_here_visits(
    kind: Mapping[str, str], tmp_path: Path
) -> None:
    told = spin(promela(SOURCE, kind, RULES, merged=True), tmp_path)
    assert told == searched(SOURCE, kind, RULES)
    assert told.broken == frozenset()


# To have a model compiled takes most of the time, so faults that are alike stand in one.
@pytest.mark.parametrize(
    ("faulty", "rules"),
    [
        (
            needing_nothing(SOURCE, "saline-before-join", "fill", "start-pump"),
            {"dried-before-joining", "filled-only-after-a-look", "fit-to-start"},
        ),
        (
            passed_over(SOURCE, "connector-touched", "saline-before-tip-touched"),
            {"scrubbed-before-joining", "touched-tip-is-not-joined-saline-before"},
        ),
    ],
    ids=["needs", "mishaps"],
)
def test_faults_break_the_same_rules_in_both(
    faulty: Source, rules: set[str], tmp_path: Path
) -> None:
    source = quieter(faulty)
    told = spin(promela(source, KINDS[-1], RULES), tmp_path)
    assert told.broken == searched(source, KINDS[-1], RULES).broken
    assert {rule.replace("-", "_") for rule in rules} <= told.broken


def test_each_kind_has_a_file_that_names_it(tmp_path: Path) -> None:
    small = drawings(1)[0]
    (file,) = write_promela(small.source, small.rules, tmp_path / "models")
    assert file.name == "kind-001.pml"
    assert f"/* {SOURCE.title}" in file.read_text(encoding="utf-8")
