"""The table of facts: which there are, which values each may have, and their bits.

Owns the coding of a set of facts as one whole number: each value of each fact is one bit, and
exactly one bit of each fact is set. A condition is then a mask of the bits that must be absent,
an effect a mask to keep and bits to put, and both are a single operation on whole numbers.
It must never know a fact by name.
"""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

Wanted = Mapping[str, tuple[str, ...]]
"""A condition by name: for each fact, the values that it may have."""

Choices = Mapping[str, tuple[str, ...]]
"""A ``when`` condition by name: for each choice of an order sheet, the values that fit."""


class Where(msgspec.Struct, frozen=True):
    """A place in a procedure file."""

    file: str
    line: int

    def __str__(self) -> str:
        """Return it as a person would say it."""
        return f"{self.file}, line {self.line}"


class Start(msgspec.Struct, frozen=True):
    """A first value of a fact, for the order sheets that fit *when*."""

    when: Choices
    value: str


class Fact(msgspec.Struct, frozen=True):
    """One thing that is true of the table, the line or the person."""

    name: str
    about: str
    """In plain words, what it tells."""
    values: tuple[str, ...]
    starts: tuple[Start, ...]
    """The first that fits an order sheet counts; the last fits them all."""
    fades: Mapping[str, str]
    """What becomes of a value when the table was left and somebody comes back to it."""
    where: Where


class Effect(msgspec.Struct, frozen=True):
    """What a step does to the facts: ``facts & keeps | puts``."""

    keeps: int
    puts: int

    def on(self, facts: int) -> int:
        """Return *facts* after this effect."""
        return facts & self.keeps | self.puts


class FactTable(msgspec.Struct, frozen=True):
    """Every fact of a procedure and the bits of its values."""

    facts: tuple[Fact, ...]
    bits: Mapping[tuple[str, str], int]
    """The bit of each value of each fact."""
    masks: Mapping[str, int]
    """For each fact, the bits of all its values."""

    @classmethod
    def of(cls, facts: tuple[Fact, ...]) -> FactTable:
        """Give each value of *facts* its bit, in the order of the files."""
        bits: dict[tuple[str, str], int] = {}
        masks: dict[str, int] = {}
        for fact in facts:
            for value in fact.values:
                bits[fact.name, value] = 1 << len(bits)
                masks[fact.name] = masks.get(fact.name, 0) | bits[fact.name, value]
        return cls(facts, bits, masks)

    def forbids(self, wanted: Wanted) -> int:
        """Return the bits that must be absent for *wanted* to hold."""
        mask = 0
        for name, values in wanted.items():
            mask |= self.masks[name]
            for value in values:
                mask &= ~self.bits[name, value]
        return mask

    def wanted(self, forbids: int) -> dict[str, tuple[str, ...]]:
        """Return the condition that `forbids` made *forbids* of, by name."""
        return {
            fact.name: tuple(v for v in fact.values if not self.bits[fact.name, v] & forbids)
            for fact in self.facts
            if self.masks[fact.name] & forbids
        }

    def effect(self, sets: Mapping[str, str]) -> Effect:
        """Return the effect that gives each fact in *sets* its value."""
        keeps, puts = -1, 0
        for name, value in sets.items():
            keeps &= ~self.masks[name]
            puts |= self.bits[name, value]
        return Effect(keeps, puts)

    def value(self, facts: int, name: str) -> str:
        """Return the value of the fact *name* in *facts*."""
        return next(
            value for (fact, value), bit in self.bits.items() if fact == name and facts & bit
        )

    def named(self, facts: int) -> dict[str, str]:
        """Return *facts* as names and values."""
        return {name: value for (name, value), bit in self.bits.items() if facts & bit}
