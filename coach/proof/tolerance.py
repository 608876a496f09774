"""How many false ticks each rule survives, and what happens when it does not.

Owns the account of a search with false ticks, and its sharing among processor cores. It must never
make a move of its own.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor

import msgspec

from coach import words
from coach.proof.family import Family
from coach.proof.rules import Rule
from coach.proof.slips import FINISH, Slip, SlipSearch, Tick
from coach.proof.watch import Key

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


class Fall(msgspec.Struct, frozen=True):
    """How one rule falls."""

    rule: int
    ticks: int
    length: int
    """How many things happen from the first false tick on."""
    story: tuple[str, ...]


class Falls(msgspec.Struct, frozen=True):
    """What a search with false ticks found."""

    found: tuple[Fall, ...]
    states: int
    """The states that false ticks lead to, believed and true together."""
    moves: int


def falls(family: Family, rules: Iterable[Rule], most: int, cores: int = 1) -> Falls:
    """Return how the rules fall to up to *most* false ticks, searched on so many *cores*."""
    search = SlipSearch(family, rules)
    if cores == 1:
        return _searched(search, most, 0, 1)
    _SHARED.append(search)
    try:
        # A search is too big to be sent to another process; one that is forked off has it already.
        with ProcessPoolExecutor(cores, multiprocessing.get_context("fork")) as pool:
            parts = list(pool.map(_part, [most] * cores, range(cores), [cores] * cores))
    finally:
        _SHARED.clear()
    return Falls(
        found=tuple(fall for part in parts for fall in part.found),
        states=sum(part.states for part in parts),
        moves=sum(part.moves for part in parts),
    )


_SHARED: list[SlipSearch] = []
"""What a process that is forked off finds in its copy of the memory."""


def _part(most: int, among: int, parts: int) -> Falls:
    return _searched(_SHARED[0], most, among, parts)


def _searched(search: SlipSearch, most: int, among: int, parts: int) -> Falls:
    search.run(most, among, parts)
    titles = _titles(search.family)
    found = []
    for slip in search.broken.values():
        keys = _keys(slip)
        story = tuple(_story(keys, titles))
        found.append(Fall(slip.rule, slip.ticks, len(keys), story))
    return Falls(tuple(found), search.states, search.moves)


def tolerances(rules: Sequence[Rule], found: Iterable[Fall]) -> tuple[Tolerance, ...]:
    """Return what each of *rules* survives by what was *found*, its shortest fall told."""
    shortest: dict[int, Fall] = {}
    for fall in sorted(found, key=lambda fall: (fall.ticks, fall.length)):
        shortest.setdefault(fall.rule, fall)
    return tuple(
        Tolerance(
            rule=rule.id,
            number=rule.number,
            says=rule.says,
            hurts=rule.hurts,
            ticks=fall.ticks if fall else 0,
            story=fall.story if fall else (),
        )
        for place, rule in enumerate(rules)
        if rule.form in LOOKED_AT
        for fall in (shortest.get(place),)
    )


def _titles(family: Family) -> dict[str, str]:
    procedure = family.procedure
    steps = {step.id: step.title for step in (*procedure.steps, *procedure.responses)}
    return steps | {mishap.id: mishap.title for mishap in procedure.mishaps}


def _keys(slip: Slip) -> list[Key]:
    """Return what happened from the first false tick on, until the rule was broken."""
    keys: list[Key] = [slip.key]
    tick: Tick | None = slip.before
    while tick is not None and tick.number:
        keys.append(tick.key)
        tick = tick.before
    return keys[::-1]


def _story(keys: list[Key], titles: dict[str, str]) -> Iterator[str]:
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
