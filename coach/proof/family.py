"""One procedure for every kind of order sheet at once.

Owns the kinds: every combination of the choices that the files ask about. Each choice becomes
bits beside the facts, each ``when`` a part of the condition that it stands beside, so that the
engine follows any kind through the same steps. It must never decide what a kind does; that is
the engine's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import product

import msgspec

from coach.engine import State, start
from coach.orders.values import CHOICES
from coach.procedure.compose import alarms_of, fading_of, fits, start_of, ways_of
from coach.procedure.facts import Choices
from coach.procedure.model import Procedure, Source, Step


class Family(msgspec.Struct, frozen=True):
    """A procedure for all kinds of order sheet, and the kinds."""

    procedure: Procedure
    """Its steps, responses and mishaps ask for choices as they ask for facts."""
    kinds: tuple[Mapping[str, str], ...]
    marks: tuple[int, ...]
    """For each kind, the bits of its choices."""
    starts: tuple[int, ...]
    """For each kind, its facts and choices at the beginning."""
    fields: tuple[int, ...]
    """For each fact and each choice, the bits of all its values; the facts stand first."""
    facts: int
    """The bits of all facts."""
    choices: int
    """The bits of all choices."""
    _fitting: dict[tuple[tuple[str, tuple[str, ...]], ...], int] = msgspec.field(
        default_factory=dict
    )

    def begin(self, kind: int) -> State:
        """Return the state of a dose of *kind* before its first event."""
        return start(msgspec.structs.replace(self.procedure, start=self.starts[kind]))

    def fitting(self, when: Choices) -> int:
        """Return the kinds that *when* fits, as bits."""
        asked = tuple(when.items())
        if asked not in self._fitting:
            numbers = (n for n, kind in enumerate(self.kinds) if fits(when, kind))
            self._fitting[asked] = sum(1 << n for n in numbers)
        return self._fitting[asked]


def kinds_of(source: Source) -> tuple[Mapping[str, str], ...]:
    """Return every combination of the choices that *source* asks about.

    A combination that the record can never decide on is left out, such as tubing that is kept
    where the order sheet does not let it be.
    """
    asked = sorted({name for when in _conditions(source) for name in when})
    answers = product(*(CHOICES[name] for name in asked))
    every = (dict(zip(asked, case, strict=True)) for case in answers)
    return tuple(kind for kind in every if _can_be(source, kind))


def _conditions(source: Source) -> Iterable[Choices]:
    for step in (*source.steps, *source.responses):
        yield step.when
    for mishap in source.mishaps:
        yield mishap.when
    for fact in source.table.facts:
        for first in fact.starts:
            yield first.when


def _can_be(source: Source, kind: Mapping[str, str]) -> bool:
    return all(
        asked.choice not in kind or kind[asked.choice] != asked.fresh or fits(asked.when, kind)
        for asked in source.circumstances
    )


def family_of(source: Source, kinds: Iterable[Mapping[str, str]] | None = None) -> Family:
    """Return *source* for all of *kinds*; for every kind that it asks about if none are given."""
    chosen = kinds_of(source) if kinds is None else tuple(kinds)
    bits = _bits_beyond(source, chosen)
    masks = {name: 0 for name, _ in bits}
    for (name, _), bit in bits.items():
        masks[name] |= bit
    marks = tuple(sum(bits[item] for item in kind.items()) for kind in chosen)
    firsts = zip(chosen, marks, strict=True)
    return Family(
        procedure=_asking(source, bits, masks),
        kinds=chosen,
        marks=marks,
        starts=tuple(start_of(source, kind) | mark for kind, mark in firsts),
        fields=(*source.table.masks.values(), *masks.values()),
        facts=sum(source.table.masks.values()),
        choices=sum(masks.values()),
    )


def _asking(
    source: Source, bits: Mapping[tuple[str, str], int], masks: Mapping[str, int]
) -> Procedure:
    """Return *source* as one procedure that asks for choices as it asks for facts."""

    def asked(step: Step) -> Step:
        when = _forbids(step.when, bits, masks)
        return msgspec.structs.replace(step, only_if=step.only_if | when)

    steps = tuple(asked(step) for step in source.steps)
    return Procedure(
        source=source,
        choices={},
        start=0,
        steps=steps,
        responses=tuple(asked(step) for step in source.responses),
        alarms=alarms_of(source.table, source.responses),
        mishaps=tuple(
            msgspec.structs.replace(m, at=m.at | _forbids(m.when, bits, masks))
            for m in source.mishaps
        ),
        ways=ways_of(source.table, steps),
        fading=(fading := fading_of(source.table)),
        passing=sum(fading),
        index={step.id: place for place, step in enumerate(steps)},
        counts={},
    )


def _bits_beyond(
    source: Source, kinds: tuple[Mapping[str, str], ...]
) -> dict[tuple[str, str], int]:
    """Give each answer that occurs in *kinds* a bit above those of the facts."""
    answers = dict.fromkeys(item for kind in kinds for item in sorted(kind.items()))
    return {answer: 1 << len(source.table.bits) + i for i, answer in enumerate(sorted(answers))}


def _forbids(when: Choices, bits: Mapping[tuple[str, str], int], masks: Mapping[str, int]) -> int:
    """Return the bits that must be absent for *when* to fit."""
    mask = 0
    for name, values in when.items():
        mask |= masks[name]
        for value in values:
            mask &= ~bits.get((name, value), 0)
    return mask
