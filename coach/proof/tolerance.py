"""How many false ticks each rule survives, and what happens when it does not.

Owns the account of a search with false ticks, and its sharing among processor cores. It must never
make a move of its own.
"""

from __future__ import annotations

import multiprocessing
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from itertools import pairwise
from typing import NamedTuple

import msgspec

from coach.proof.cone import bits_of
from coach.proof.explore import Explorer
from coach.proof.family import Family, family_of
from coach.proof.rules import Rule
from coach.proof.slips import FINISH, SlipSearch, believed
from coach.proof.watch import Key, Watch
from coach.says import proof as words

Runs = dict[int, tuple[Key, ...]]
"""For each rule, by its place, a run in which it is broken."""

GROUPS = 4
"""Of rules that are searched together: two for each core, so that none waits long for the other."""

LOOKED_AT = ("only", "never", "always")
"""The forms of rule that a false tick can break: they speak of what is done."""


class Tolerance(msgspec.Struct, frozen=True):
    """What one rule survives."""

    rule: str
    number: int
    says: str
    hurts: bool
    ticks: int
    """The fewest false ticks that break it; 0 if none were found that do."""
    story: tuple[str, ...]
    """The shortest run from a first false tick on, until the rule is broken."""


class Falls(msgspec.Struct, frozen=True):
    """What a search with false ticks found."""

    ticks: Mapping[int, int]
    """For each rule that falls, by its place, the fewest false ticks that break it."""
    runs: Mapping[int, tuple[Key, ...]]
    """For each of them the shortest run, from the first false tick on."""
    states: int
    """The states that false ticks lead to, believed and true together."""
    moves: int


class Part(NamedTuple):
    """What was found for some of the rules: how each of them falls, and in which kinds."""

    fallen: dict[int, tuple[int, int]]
    states: int
    moves: int


class Shared(NamedTuple):
    """What every part of the search begins with."""

    family: Family
    rules: tuple[Rule, ...]
    engine: Explorer
    most: int
    tell: Callable[[int], None]
    alone: dict[int, tuple[Family, Explorer]]
    """Some kinds by themselves, and all that the coach can believe in a dose of theirs."""


def falls(
    family: Family,
    rules: Iterable[Rule],
    most: int,
    cores: int = 1,
    tell: Callable[[int], None] = lambda _: None,
) -> Falls:
    """Return how the rules fall to up to *most* false ticks, searched on so many *cores*.

    From time to time *tell* how many of 100 parts are done.
    """
    shared = Shared(family, tuple(rules), believed(family), most, tell, {})
    _SHARED.append(shared)
    try:
        groups = in_groups(family, shared.rules)
        if cores == 1:
            return _together(most, groups, [_part(group) for group in groups], map)
        # A search is too big to be sent to another process; one that is forked off has it already.
        with ProcessPoolExecutor(cores, multiprocessing.get_context("fork")) as pool:
            return _together(most, groups, list(pool.map(_part, groups)), pool.map)
    finally:
        _SHARED.clear()


def in_groups(family: Family, rules: tuple[Rule, ...]) -> tuple[range, ...]:
    """Return the places of *rules* in a few groups, each to be searched by itself.

    What a rule keeps in mind never steers a move, so a search without it is exact for all others,
    and the states of small searches are fewer than those of one that keeps all in mind. Rules
    that stand near each other in the files mostly speak of the same things, so they stay together.
    """
    bits = sorted(Watch(family, rules).bits)
    cuts = [bits[len(bits) * number // GROUPS] for number in range(1, GROUPS)] if bits else []
    edges = [0, *cuts, len(rules)]
    return tuple(range(*edge) for edge in pairwise(edges) if edge[0] < edge[1])


_SHARED: list[Shared] = []
"""What a process that is forked off finds in its copy of the memory."""


def _part(group: range) -> Part:
    family, rules, engine, most, tell, _ = _SHARED[0]
    search = SlipSearch(family, [rules[place] for place in group], engine)
    search.run(most, (lambda _: None) if group.start else tell)
    fallen = {group[rule]: (slip.ticks, slip.kinds) for rule, slip in search.broken.items()}
    return Part(fallen, search.states, search.moves)


def _shortest(most: int, kind: int, wanted: tuple[int, ...]) -> Runs:
    """Return the shortest run in which each of the rules *wanted* falls in a dose of *kind*."""
    family, rules, known = _SHARED[0].family, _SHARED[0].rules, _SHARED[0].alone
    if kind not in known:
        alone = family_of(family.procedure.source, [family.kinds[kind]])
        known[kind] = alone, believed(alone)
    alone, engine = known[kind]
    search = SlipSearch(alone, [rules[place] for place in wanted], engine)
    search.shortest(0, most)
    return {rule: search.broken[place].keys for place, rule in enumerate(wanted)}


def _together(
    most: int, groups: tuple[range, ...], parts: list[Part], each: Callable[..., Iterable[Runs]]
) -> Falls:
    """Put the *parts* of all *groups* together, and have the shortest run of each fall found."""
    fallen = {rule: fall for part in parts for rule, fall in part.fallen.items()}
    jobs = [
        (ticks, kind, share)
        for ticks, kind, chosen in _jobs(fallen, most)
        for group in groups
        if (share := tuple(rule for rule in chosen if rule in group))
    ]
    runs: Runs = {}
    for found in each(_shortest, *zip(*jobs, strict=True)) if jobs else ():
        runs |= found
    return Falls(
        ticks={rule: ticks for rule, (ticks, _) in fallen.items()},
        runs=runs,
        states=sum(part.states for part in parts),
        moves=sum(part.moves for part in parts),
    )


def _jobs(
    fallen: dict[int, tuple[int, int]], most: int
) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Yield few kinds in which all that fall can be seen to fall: to how many, and which."""
    for ticks in range(1, most + 1):
        left = {rule: kinds for rule, (fewest, kinds) in fallen.items() if fewest == ticks}
        while left:
            counts = Counter(kind for kinds in left.values() for kind in numbers(kinds))
            kind = counts.most_common(1)[0][0]
            chosen = tuple(rule for rule, kinds in left.items() if kinds >> kind & 1)
            yield ticks, kind, chosen
            left = {rule: kinds for rule, kinds in left.items() if rule not in chosen}


def numbers(kinds: int) -> Iterator[int]:
    """Yield the number of each of *kinds*."""
    return (bit.bit_length() - 1 for bit in bits_of(kinds))


def tolerances(family: Family, rules: Sequence[Rule], found: Falls) -> tuple[Tolerance, ...]:
    """Return what each of *rules* survives in a dose of *family*, by what was *found*."""
    titles = _titles(family)
    return tuple(
        Tolerance(
            rule=rule.id,
            number=rule.number,
            says=rule.says,
            hurts=rule.hurts,
            ticks=found.ticks.get(place, 0),
            story=tuple(_story(found.runs.get(place, ()), titles)),
        )
        for place, rule in enumerate(rules)
        if rule.form in LOOKED_AT
    )


def _titles(family: Family) -> dict[str, str]:
    procedure = family.procedure
    steps = {step.id: step.title for step in (*procedure.steps, *procedure.responses)}
    return steps | {mishap.id: mishap.title for mishap in procedure.mishaps}


def _story(keys: tuple[Key, ...], titles: dict[str, str]) -> Iterator[str]:
    """Tell the false ticks and what was done last; what is done between as it comes is counted."""
    ordinary = 0
    for key in keys:
        if key[0] == "step" and not key[2] and key is not keys[-1]:
            ordinary += 1
            continue
        if ordinary:
            yield words.SLIP_AS_IT_COMES.format(number=ordinary)
            ordinary = 0
        yield _sentence(key, titles)


def _sentence(key: Key, titles: dict[str, str]) -> str:
    what, name, ending = key
    if key == FINISH:
        return words.SLIP_END
    frame = {
        "ticked": words.SLIP_TICKED,
        "unticked": words.SLIP_UNTICKED,
        "told": words.SLIP_TOLD,
        "left": words.SLIP_LEFT,
    }.get(what, words.SLIP_ANSWERED if ending else words.SLIP_DONE)
    return frame.format(title=titles.get(name, ""))
