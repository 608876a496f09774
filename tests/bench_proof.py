"""Times the proof: against SPIN's whole run, and on a procedure repeated 1 to 16 times.

Run it by itself on a machine that is idle: ``python -m tests.bench_proof``. A person reads the
figures; no test rests on them.
"""

from __future__ import annotations

import math
import tempfile
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from operator import itemgetter
from pathlib import Path
from typing import TypeVar

import msgspec

from coach.procedure.facts import Effect, Fact, FactTable, Start, Wanted, Where
from coach.procedure.model import Act, Mishap, Outcome, Source, Step
from coach.proof.explore import Explorer, search_of
from coach.proof.family import family_of, kinds_of
from coach.proof.promela import promela
from coach.proof.rules import Rule, read_rules
from tests.procedure.shipped import FOLDER, SOURCE
from tests.proof.spin import Told, spin

T = TypeVar("T")

HERE = Where("drawn", 1)

THINGS = 6
"""Things that the small procedure makes ready and uses."""

ROUNDS = 5
"""Of so many the quickest counts: what is slower was held up by something else."""

TIMES = (1, 2, 4, 8, 16)
"""How often the procedure is repeated."""


def timed(do: Callable[[], T]) -> tuple[T, float]:
    """Return what *do* returns, and the seconds that it took."""
    begun = time.perf_counter()
    done = do()
    return done, time.perf_counter() - begun


def searched(
    source: Source, rules: Iterable[Rule], kinds: Iterable[Mapping[str, str]] | None = None
) -> Explorer:
    """Search every state of *kinds*; of every kind if none are given."""
    found = search_of(family_of(source, kinds), rules)
    found.run()
    return found


def states_of(found: Explorer) -> int:
    """Return how many states were visited, each once for all kinds that are alike in it."""
    return sum(len(nodes) for nodes in found.nodes)


def against_spin(rules: tuple[Rule, ...]) -> None:
    """Print the seconds of a state for one kind in both, and their ratio."""
    for kind in (kinds_of(SOURCE)[0], kinds_of(SOURCE)[-1]):
        found, ours = timed(partial(searched, SOURCE, rules, [kind]))
        told, theirs = timed(partial(through_spin, kind, rules))
        print(" ".join(kind.values()))
        print(f"  here: {states_of(found):,} states, {ours:.2f} s")
        print(f"  SPIN: {told.states:,} states, {theirs:.2f} s (generate, compile, run)")
        ratio = theirs / told.states / (ours / states_of(found))
        print(f"  SPIN's seconds of a state to those here: {ratio:.2f}")
    found, ours = timed(partial(searched, SOURCE, rules))
    alone = sum(node.kinds.bit_count() for nodes in found.nodes for node in nodes.values())
    print(f"all {len(found.family.kinds)} kinds: {states_of(found):,} states, {ours:.2f} s")
    print(f"  one kind after another they would be {alone:,}: {alone / ours:,.0f} a second")
    print(f"  SPIN, by its last kind: {told.states / theirs:,.0f} a second")


def repeated(source: Source, times: int, *, apart: bool) -> Source:
    """Return the steps of *source* that many times in a row, each with facts of its own if *apart*.

    Else they are about the same facts, as when one person goes through it again and again.
    """
    table, mishaps, width = source.table, source.mishaps, 0
    if apart:
        width = len(table.bits)
        table = FactTable.of(
            tuple(
                msgspec.structs.replace(fact, name=named(fact.name, n, width))
                for n in range(times)
                for fact in table.facts
            )
        )
        mishaps = tuple(moved_mishap(m, n, width) for n in range(times) for m in mishaps)
    steps = tuple(moved_step(step, n, width) for n in range(times) for step in source.steps)
    return msgspec.structs.replace(source, table=table, steps=steps, mishaps=mishaps)


def named(fact: str, n: int, width: int) -> str:
    """Return the name of *fact* in the copy *n*, where each copy has facts *width* bits wide."""
    return f"{fact}-{n}" if width else fact


def moved(effect: Effect, by: int) -> Effect:
    """Return *effect* on the facts that stand *by* bits higher."""
    return Effect(~(~effect.keeps << by), effect.puts << by)


def moved_step(step: Step, n: int, width: int) -> Step:
    """Return *step* for the copy *n*."""
    (done,) = step.outcomes
    sets = {named(name, n, width): value for name, value in done.sets.items()}
    done = msgspec.structs.replace(done, effect=moved(done.effect, n * width), sets=sets)
    needs = {named(name, n, width): allowed for name, allowed in step.needs_named.items()}
    return msgspec.structs.replace(
        step,
        id=f"{step.id}-{n}",
        outcomes=(done,),
        needs=step.needs << n * width,
        needs_named=needs,
    )


def moved_mishap(mishap: Mishap, n: int, width: int) -> Mishap:
    """Return *mishap* for the copy *n*."""
    effect, at = moved(mishap.effect, n * width), mishap.at << n * width
    return msgspec.structs.replace(mishap, id=f"{mishap.id}-{n}", effect=effect, at=at)


def small() -> Source:
    """Return a small procedure: things are made ready with washed hands, and then used."""
    things = [f"thing-{n}" for n in range(THINGS)]
    no = (Start({}, "no"),)
    facts = [Fact("hands", "", ("no", "yes"), no, {"yes": "no"}, HERE)]
    facts += (Fact(thing, "", ("no", "ready", "used"), no, {}, HERE) for thing in things)
    table = FactTable.of(tuple(facts))

    def step(ident: str, needs: Wanted, sets: Mapping[str, str]) -> Step:
        done = Outcome("done", "", table.effect(sets), sets)
        return msgspec.structs.replace(
            SOURCE.steps[0], id=ident, when={}, only_if=0, needs=table.forbids(needs),
            needs_named=needs, outcomes=(done,), ask=Act(),
        )  # fmt: skip

    ready = [step(f"make-{t}", {"hands": ("yes",)}, {t: "ready"}) for t in things]
    used = [step(f"use-{t}", {"hands": ("yes",), t: ("ready",)}, {t: "used"}) for t in things]
    wash = step("wash", {}, {"hands": "yes"})
    away = step("away", dict.fromkeys(things, ("used",)), dict.fromkeys(("hands", *things), "no"))
    mishaps = tuple(
        Mishap(
            f"{t}-touched", "spoiled", "", "", HERE, {}, table.forbids({t: ("ready",)}),
            table.effect({t: "no"}), final=False, seen="",
        )
        for t in things
    )  # fmt: skip
    return msgspec.structs.replace(
        SOURCE, table=table, steps=(wash, *ready, *used, away),
        responses=(), mishaps=mishaps, picture=(), circumstances=(), given=0,
    )  # fmt: skip


def slope(points: Sequence[tuple[float, float]]) -> float:
    """Return the slope of the line that lies nearest to *points*, by least squares."""
    across = sum(x for x, _ in points) / len(points)
    up = sum(y for _, y in points) / len(points)
    spread = sum((x - across) ** 2 for x, _ in points)
    return sum((x - across) * (y - up) for x, y in points) / spread


def growth(*, apart: bool) -> None:
    """Print the seconds by the number of states, and the power with which they grow."""
    print("each time with facts of its own" if apart else "each time with the same facts")
    points = []
    for times in TIMES:
        source = repeated(small(), times, apart=apart)
        rounds = [timed(partial(searched, source, ())) for _ in range(ROUNDS)]
        found, seconds = min(rounds, key=itemgetter(1))
        points.append((math.log(states_of(found)), math.log(seconds)))
        print(f"  {times:2} times: {states_of(found):,} states, {seconds:.3f} s")
    print(f"  seconds grow as states to the power {slope(points):.2f}")


def through_spin(kind: Mapping[str, str], rules: tuple[Rule, ...]) -> Told:
    """Let SPIN search the same states: generate, compile and run."""
    with tempfile.TemporaryDirectory() as folder:
        return spin(promela(SOURCE, kind, rules, merged=True), Path(folder))


if __name__ == "__main__":
    growth(apart=False)
    growth(apart=True)
    against_spin(read_rules(FOLDER / "rules", SOURCE))
