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
from coach.proof.family import Family
from coach.proof.rules import Rule
from coach.proof.slips import FINISH, SlipSearch, believed
from coach.proof.watch import Key, Watch
from coach.says import proof as words

GROUPS = 2
"""Of rules that are searched together: one for each core."""

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
    """What was found for some of the rules: to how many each of them falls, and how."""

    ticks: dict[int, int]
    runs: dict[int, tuple[Key, ...]]
    states: int
    moves: int


class Shared(NamedTuple):
    """What every part of the search begins with."""

    family: Family
    rules: tuple[Rule, ...]
    engine: Explorer
    most: int
    tell: Callable[[int], None]


def falls(
    family: Family,
    rules: Iterable[Rule],
    most: int,
    cores: int = 1,
    tell: Callable[[int], None] = lambda _: None,
    engine: Explorer | None = None,
) -> Falls:
    """Return how the rules fall to up to *most* false ticks, searched on so many *cores*.

    From time to time *tell* how many of 100 parts are done. *engine* is a search of all that the
    coach can believe, if one is at hand that has run and kept what changes nothing.
    """
    shared = Shared(family, tuple(rules), engine or believed(family), most, tell)
    _SHARED.append(shared)
    try:
        groups = in_groups(family, shared.rules)
        if cores == 1:
            return _together([_part(group) for group in groups])
        # A search is too big to be sent to another process; one that is forked off has it already.
        with ProcessPoolExecutor(cores, multiprocessing.get_context("fork")) as pool:
            return _together(list(pool.map(_part, groups)))
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
    family, rules, engine, most, tell = _SHARED[0]
    search = SlipSearch(family, [rules[place] for place in group], engine)
    says: Callable[[int], None] = (lambda _: None) if group.start else tell
    # To find the shortest runs takes about half as long as to find what falls.
    search.run(most, lambda part: says(part * 2 // 3))
    fallen, states, moves = search.broken, search.states, search.moves
    runs: dict[int, tuple[Key, ...]] = {}
    for ticks in range(1, most + 1):
        chosen = {rule: slip.kinds for rule, slip in fallen.items() if slip.ticks == ticks}
        few, wanted = _few(chosen.values()), frozenset(chosen)
        search.shortest(few, ticks, wanted, lambda part: says((200 + part) // 3))
        runs.update({group[rule]: search.broken[rule].keys for rule in chosen})
    falls = {group[rule]: slip.ticks for rule, slip in fallen.items()}
    return Part(falls, runs, states, moves)


def _few(kinds: Iterable[int]) -> int:
    """Return few kinds of which each of *kinds* holds one."""
    left, found = list(kinds), 0
    while left:
        counts = Counter(bit for one in left for bit in bits_of(one))
        found |= counts.most_common(1)[0][0]
        left = [one for one in left if not one & found]
    return found


def _together(parts: list[Part]) -> Falls:
    """Put what was found for all groups of rules together."""
    return Falls(
        ticks={rule: ticks for part in parts for rule, ticks in part.ticks.items()},
        runs={rule: keys for part in parts for rule, keys in part.runs.items()},
        states=sum(part.states for part in parts),
        moves=sum(part.moves for part in parts),
    )


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
