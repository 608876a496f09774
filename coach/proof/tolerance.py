"""How many false ticks each rule survives, and what happens when it does not.

Owns the account of a search with false ticks, and its sharing among processor cores. It must never
make a move of its own.
"""

from __future__ import annotations

import multiprocessing
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import NamedTuple

import msgspec

from coach.proof.cone import bits_of
from coach.proof.family import Family
from coach.proof.rules import Rule
from coach.proof.slips import FINISH, SlipSearch
from coach.proof.watch import Key
from coach.says import proof as words

Runs = dict[int, tuple[Key, ...]]
"""For each rule, by its place, a run in which it is broken."""

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
    """What was found after some of the false ticks: how each rule falls, and in which kinds."""

    fallen: dict[int, tuple[int, int]]
    states: int
    moves: int


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
    _SHARED.append((SlipSearch(family, rules), tell))
    try:
        if cores == 1:
            return _together(most, [_part(most, 0, 1)], map)
        # A search is too big to be sent to another process; one that is forked off has it already.
        with ProcessPoolExecutor(cores, multiprocessing.get_context("fork")) as pool:
            parts = list(pool.map(_part, [most] * cores, range(cores), [cores] * cores))
            return _together(most, parts, pool.map)
    finally:
        _SHARED.clear()


_SHARED: list[tuple[SlipSearch, Callable[[int], None]]] = []
"""What a process that is forked off finds in its copy of the memory."""


def _part(most: int, among: int, parts: int) -> Part:
    search, tell = _SHARED[0]
    search.run(most, among, parts, (lambda _: None) if among else tell)
    fallen = {rule: (slip.ticks, slip.kinds) for rule, slip in search.broken.items()}
    return Part(fallen, search.states, search.moves)


def _shortest(most: int, kind: int, wanted: frozenset[int]) -> Runs:
    search, _ = _SHARED[0]
    search.shortest(kind, most, wanted)
    return {rule: search.broken[rule].keys for rule in wanted}


def _together(most: int, parts: list[Part], each: Callable[..., Iterable[Runs]]) -> Falls:
    """Put *parts* together, and have the shortest run of each rule that falls looked for."""
    fallen: dict[int, tuple[int, int]] = {}
    for rule, (ticks, kinds) in (item for part in parts for item in part.fallen.items()):
        fewest, known = fallen.get(rule, (ticks, 0))
        if ticks < fewest:
            fewest, known = ticks, 0
        fallen[rule] = fewest, known | (kinds if ticks == fewest else 0)
    jobs = list(_jobs(fallen, most))
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
) -> Iterator[tuple[int, int, frozenset[int]]]:
    """Yield few kinds in which all that fall can be seen to fall: to how many, and which."""
    for ticks in range(1, most + 1):
        left = {rule: kinds for rule, (fewest, kinds) in fallen.items() if fewest == ticks}
        while left:
            counts = Counter(kind for kinds in left.values() for kind in numbers(kinds))
            kind = counts.most_common(1)[0][0]
            chosen = frozenset(rule for rule, kinds in left.items() if kinds >> kind & 1)
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
