"""What is merged and shared in the searches changes nothing: a plain search finds the same."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace

from coach.engine import State, after_return, ended, start, step_to_do
from coach.procedure.compose import compose
from coach.procedure.files import bundle_of
from coach.procedure.model import Act, Hold, Procedure, Question, Source, Step, Stop
from coach.procedure.read import read_source
from coach.proof.explore import Explorer, search_of
from coach.proof.family import family_of, kinds_of
from coach.proof.rules import Event, Rule, read_rules
from coach.proof.tolerance import falls
from coach.proof.watch import LEFT, Check, Key, Watch, key_of, told_key
from tests.procedure.shipped import FOLDER, SOURCE
from tests.proof.drawn import Drawing, of_many_kinds
from tests.proof.plainly import moves_from, named, plainly
from tests.proof.small import Change, written
from tests.proof.test_false_ticks_are_counted import OPEN_AT_THE_END, SEEN

Fallen = dict[str, tuple[int, int]]
"""For each rule that falls, the fewest false ticks, and how many things happen from the first."""


@cache
def every_kind() -> Explorer:
    """Return the search of all that ships, for all kinds of order sheet at once."""
    explorer = search_of(family_of(SOURCE), read_rules(FOLDER / "rules", SOURCE))
    explorer.run()
    return explorer


@pytest.mark.parametrize("kind", [57, 139])
def test_each_kind_is_in_the_states_that_it_reaches_by_itself(kind: int) -> None:
    explorer = every_kind()
    chart = explorer.chart
    first = chart.encode(kind, chart.begin(kind))
    seen, waiting = {first}, [first]
    while waiting:
        place, code = waiting.pop()
        for key, after in (
            moves_from(chart.procedure, chart.decode(kind, place, code)) if place >= 0 else ()
        ):
            reached = chart.encode(kind, explorer.watch.marked(after, key))
            if reached not in seen:
                seen.add(reached)
                waiting.append(reached)
    mine = {
        (n.place, n.code) for nodes in explorer.nodes for n in nodes.values() if n.kinds >> kind & 1
    }
    assert mine == seen


# In 116 and 133 what a rule remembers matters again once something faded; in 1116 an emergency
# that is told during a call is gone on from.
@pytest.mark.parametrize("drawing", of_many_kinds((116, 133, 1116)))
def test_the_same_rules_are_broken_as_in_a_plain_search(drawing: Drawing) -> None:
    explorer = search_of(family_of(drawing.source), drawing.rules)
    explorer.run()
    for number, kind in enumerate(explorer.family.kinds):
        found = {b.rule for b in explorer.broken if b.kinds & b.node.kinds & 1 << number}
        plain = plainly(drawing.source, kind, drawing.rules)
        assert {named(drawing.rules[rule]) for rule in found} == plain.broken


def guarding(rule: Rule) -> tuple[Rule, ...]:
    """Return rules made of *rule* that guard what can happen whatever is asked for."""
    made: list[Rule] = []
    for n in range(3):
        for event in (
            Event(told=frozenset({f"mishap-{n}"})),
            Event(left=True),
            Event(finished=True),
        ):
            after = Event(done=frozenset({f"step-{n + 1}"}))
            for guarded, since in (
                (event, Event(done=frozenset({f"step-{n + 4}"}))),
                (
                    replace(event, done=frozenset({f"step-{n + 5}"})),
                    Event(told=frozenset({"mishap-0"})),
                ),
            ):
                made.append(
                    replace(
                        rule, id=f"guard-{len(made)}", form="only", event=guarded, after=after,
                        since=since, given=0, unless=0,
                    )
                )  # fmt: skip
    return tuple(made)


# In 73 and 103 a rule that guards what is told, or a return, matters though its step does not.
@pytest.mark.parametrize("drawing", of_many_kinds((73, 103)))
def test_what_is_told_and_a_return_are_guarded_as_in_a_plain_search(drawing: Drawing) -> None:
    rules = guarding(drawing.rules[0])
    kind = kinds_of(drawing.source)[0]
    explorer = search_of(family_of(drawing.source, [kind]), rules)
    explorer.run()
    found = {named(rules[b.rule]) for b in explorer.broken if b.kinds & b.node.kinds}
    assert found == plainly(drawing.source, kind, rules).broken


# In each of them what does not matter with the last false tick matters with the one before.
@pytest.mark.parametrize("drawing", of_many_kinds((14, 22, 92)))
def test_drawn_rules_fall_to_as_few_false_ticks_as_in_a_plain_search(drawing: Drawing) -> None:
    for kind in kinds_of(drawing.source)[:2]:
        found = falls(family_of(drawing.source, [kind]), drawing.rules, 2)
        mine = {drawing.rules[p].id: (found.ticks[p], len(run)) for p, run in found.runs.items()}
        plain = plainly_fallen(drawing.source, kind, drawing.rules)
        assert mine == {rule: fall for rule, fall in plain.items() if fall[0]}


CHANGES: tuple[tuple[Change, ...], ...] = (
    (),
    (SEEN, OPEN_AT_THE_END),
    (
        ("    sets: {clamp: open}\n", "    sets: {clamp: open}\n    sees: {joined: syringe}\n"),
        OPEN_AT_THE_END,
    ),
)


@pytest.mark.parametrize("changes", CHANGES)
def test_false_ticks_are_counted_as_by_a_plain_search(
    tmp_path: Path, changes: tuple[Change, ...]
) -> None:
    written(tmp_path, *changes)
    source = read_source(bundle_of(tmp_path))
    rules = read_rules(tmp_path / "rules", source)
    for kind in kinds_of(source):
        found = falls(family_of(source, [kind]), rules, 2)
        mine = {rules[p].id: (ticks, len(found.runs[p])) for p, ticks in found.ticks.items()}
        assert mine == plainly_fallen(source, kind, rules)
        assert mine


def plainly_fallen(source: Source, kind: Mapping[str, str], rules: tuple[Rule, ...]) -> Fallen:
    """Return how *rules* fall to up to two false ticks in a dose of one *kind*."""
    procedure = compose(source, kind)
    watch = Watch(family_of(source, [kind]), rules)
    first = start(procedure)
    fallen: Fallen = {}
    lengths = {(first, first.facts | watch.start): 0}
    before: set[tuple[State, int]] = set()
    for ticks in range(3):
        waiting = deque(sorted(lengths, key=lambda pair: lengths[pair]))
        reached = dict(lengths)
        while waiting:
            pair = waiting.popleft()
            for key, after in honest_moves(procedure, watch, *pair):
                length = reached[pair] + 1 if ticks else 0
                for check in checks_of(watch, procedure, key, pair[1], after):
                    note(fallen, rules[check.rule].id, ticks, length)
                if after not in reached and after not in before:
                    reached[after] = length
                    waiting.append(after)
        before |= reached.keys()
        lengths = {}
        for pair, so_far in reached.items():
            for checks, after in false_moves(procedure, watch, *pair):
                for check in checks:
                    note(fallen, rules[check.rule].id, ticks + 1, so_far + 1)
                if after not in before:
                    lengths[after] = min(so_far + 1, lengths.get(after, so_far + 1))
    return {rule: fall for rule, fall in fallen.items() if fall[0] <= 2}


def note(fallen: Fallen, rule: str, ticks: int, length: int) -> None:
    """Keep the fewest ticks and, of those, the shortest run."""
    fallen[rule] = min((ticks, length), fallen.get(rule, (ticks, length)))


def honest_moves(
    procedure: Procedure, watch: Watch, believed: State, true: int
) -> Iterator[tuple[Key, tuple[State, int]]]:
    """Yield what can happen without a lie, with what is believed and true after it."""
    if ended(procedure, believed):
        return
    step = step_to_do(procedure, believed)
    mishaps = {told_key(mishap): mishap for mishap in procedure.mishaps}
    for key, after in moves_from(procedure, believed):
        if key == LEFT:
            done = left(procedure, true)
        elif key in mishaps:
            done = mishaps[key].effect.on(true)
        elif not key[2] and true & seen(step):
            continue
        else:
            done = done_by(procedure, true, step, key)
        yield key, (after, watch.marked(State(done, 0), key).facts)


def false_moves(
    procedure: Procedure, watch: Watch, believed: State, true: int
) -> Iterator[tuple[tuple[Check, ...], tuple[State, int]]]:
    """Yield the two false ticks of the step to be done, with what they break at once."""
    if ended(procedure, believed):
        return
    step = step_to_do(procedure, believed)
    if not isinstance(step.ask, Act | Hold | Question):
        return
    key = key_of(step, 0)
    on = next(after for this, after in moves_from(procedure, believed) if this == key)
    yield at_the_end(watch, procedure, (on, true)), (on, true)
    if not true & seen(step):
        done = watch.marked(State(done_by(procedure, true, step, key), 0), key).facts
        broken = tuple(c for c in watch.marks[key].checks if c.kinds and not c.holds(true))
        yield broken, (believed, done)


def done_by(procedure: Procedure, true: int, step: Step, key: Key) -> int:
    """Return what is true after *step* was done; what is not so is not made so by a look."""
    outcome = next(o for n, o in enumerate(step.outcomes) if key_of(step, n) == key)
    if isinstance(step.ask, Stop):
        true = left(procedure, true)
    if key[2] and true & seen(step):
        looked = sum(mask for mask in procedure.source.table.masks.values() if mask & seen(step))
        return outcome.effect.on(true) & ~looked | true & looked
    return outcome.effect.on(true)


def left(procedure: Procedure, true: int) -> int:
    """Return what is true when the table was left and somebody came back."""
    return after_return(procedure, State(true, 0)).facts


def seen(step: Step) -> int:
    """Return the bits that must be absent for *step* to be done, or answered as hoped."""
    return step.ask.sees if isinstance(step.ask, Act | Question) else 0


def checks_of(
    watch: Watch, procedure: Procedure, key: Key, true: int, after: tuple[State, int]
) -> tuple[Check, ...]:
    """Return the checks that a move breaks."""
    broken = tuple(
        check for check in watch.marks[key].checks if check.kinds and not check.holds(true)
    )
    return broken + at_the_end(watch, procedure, after)


def at_the_end(watch: Watch, procedure: Procedure, after: tuple[State, int]) -> tuple[Check, ...]:
    """Return the checks of the end that are broken, if it is the end."""
    if after[0].place != len(procedure.steps):
        return ()
    return tuple(check for check in watch.finish if check.kinds and not check.holds(after[1]))
