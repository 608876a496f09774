"""What is found for many kinds of order sheet at once is what is found for each of them alone."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import msgspec
import pytest

from coach.errors import ProofError
from coach.orders.values import CHOICES
from coach.procedure.files import bundle_of
from coach.procedure.read import read_source
from coach.proof.explore import Explorer, search_of
from coach.proof.family import family_of, kinds_of
from coach.proof.prove import check
from coach.proof.rules import read_rules
from coach.proof.slips import SlipSearch
from coach.proof.tolerance import Falls
from tests.procedure.shipped import FOLDER, SOURCE
from tests.proof.drawn import Drawing, of_many_kinds
from tests.proof.plainly import moves_from
from tests.proof.small import written

Fallen = dict[int, tuple[int, frozenset[int]]]
"""For each rule that falls, by its place, the fewest false ticks, and the kinds in which they do.

0 stands for a fall with honest ticks alone.
"""

# In 57, 310, 361 and 463 a value that a step puts is one with another for all that follows, and
# that other is the nominal one of some kinds; in 325 it becomes one with it on the way.
UNLIKE = of_many_kinds((57, 310, 325, 361, 463))


def searched(drawing: Drawing, *kinds: int) -> Explorer:
    """Return the honest search of *drawing* for *kinds*; for all of them if none are given."""
    every = kinds_of(drawing.source)
    chosen = [every[kind] for kind in kinds] or every
    explorer = search_of(family_of(drawing.source, chosen), drawing.rules)
    explorer.run()
    return explorer


def reached(explorer: Explorer, kind: int) -> set[tuple[int, int]]:
    """Return the place and code of all that *kind* reaches if it is moved alone."""
    chart = explorer.chart
    first = chart.encode(kind, chart.begin(kind))
    seen, waiting = {first}, [first]
    while waiting:
        place, code = waiting.pop()
        if place < 0:
            continue
        for key, after in moves_from(chart.procedure, chart.decode(kind, place, code)):
            state = chart.encode(kind, explorer.watch.marked(after, key))
            if state not in seen:
                seen.add(state)
                waiting.append(state)
    return seen


def fallen(drawing: Drawing, kinds: tuple[int, ...]) -> Fallen:
    """Return how the rules of *drawing* fall to up to one false tick in any of *kinds*."""
    every = kinds_of(drawing.source)
    search = SlipSearch(family_of(drawing.source, [every[k] for k in kinds]), drawing.rules)
    search.run(1)
    return {
        rule: (slip.ticks, frozenset(k for n, k in enumerate(kinds) if slip.kinds >> n & 1))
        for rule, slip in search.broken.items()
    }


def together(alone: list[Fallen]) -> Fallen:
    """Put together what was found for some kinds, one by one."""
    found: Fallen = {}
    for one in alone:
        for rule, (ticks, kinds) in one.items():
            fewest, others = found.get(rule, (ticks, frozenset()))
            if ticks <= fewest:
                found[rule] = ticks, kinds | others if ticks == fewest else kinds
    return found


@pytest.mark.parametrize("drawing", UNLIKE)
def test_each_kind_is_in_the_states_that_it_reaches_alone(drawing: Drawing) -> None:
    explorer = searched(drawing)
    nodes = [node for nodes in explorer.nodes for node in nodes.values()]
    for kind in range(len(explorer.family.kinds)):
        mine = {(node.place, node.code) for node in nodes if node.kinds >> kind & 1}
        assert mine == reached(explorer, kind)


@pytest.mark.parametrize("drawing", UNLIKE)
def test_the_same_rules_are_broken_in_each_kind_alone(drawing: Drawing) -> None:
    every = range(len(kinds_of(drawing.source)))
    both = searched(drawing).broken
    for kind in every:
        mine = {b.rule for b in both if b.kinds & b.node.kinds & 1 << kind}
        alone = {b.rule for b in searched(drawing, kind).broken if b.kinds & b.node.kinds}
        assert mine == alone


@pytest.mark.parametrize("drawing", UNLIKE[:3])
def test_false_ticks_do_in_any_kinds_what_they_do_in_each_alone(drawing: Drawing) -> None:
    every = tuple(range(len(kinds_of(drawing.source))))
    alone = [fallen(drawing, (kind,)) for kind in every]
    for kinds in (every, *combinations(every, 2)):
        assert fallen(drawing, kinds) == together([alone[kind] for kind in kinds])


def test_tubing_that_is_kept_or_not_breaks_no_rule_of_the_end_by_honest_ticks() -> None:
    rules = [rule for rule in read_rules(FOLDER / "rules", SOURCE) if rule.event.finished]
    # What puts the end of new tubing in the bin in one kind, and keeps it in the other.
    kept = tuple(mishap for mishap in SOURCE.mishaps if mishap.id == "end-touched")
    source = msgspec.structs.replace(SOURCE, mishaps=kept)
    first = kinds_of(source)[0]
    kinds = [dict(first) | {"reuse": reuse} for reuse in CHOICES["reuse"]]
    search = SlipSearch(family_of(source, kinds), rules)
    search.run(0)
    assert rules
    assert kept
    assert not search.broken


def test_a_fall_to_no_false_tick_is_refused_where_honest_ticks_break_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path)
    source = read_source(bundle_of(tmp_path))
    rules = read_rules(tmp_path / "rules", source)
    wrong = Falls(ticks={0: 0, 1: 1}, runs={}, states=0, moves=0)
    monkeypatch.setattr("coach.proof.prove.falls", lambda *_: wrong)
    with pytest.raises(ProofError, match=rf"disagree on {rules[0].id}\."):
        check(source, rules, kinds_of(source), slips=1)
