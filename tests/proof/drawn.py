"""Draws small procedures, with everything in them that a procedure can have."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from itertools import count, islice, product

from msgspec.structs import replace

from coach.engine import after_outcome, ended, start, way_ahead
from coach.orders.values import CHOICES
from coach.procedure.compose import compose
from coach.procedure.facts import Choices, Fact, FactTable, Start, Where
from coach.procedure.model import Act, Ask, Mishap, Outcome, Source, Step, Stop
from coach.proof.rules import Event, Rule
from tests.procedure.shipped import SOURCE

HERE = Where("drawn", 1)
CALL = Stop("nurse", "", "", "", "", "")
VALUES = ("first", "second", "third")
WHENS: tuple[Choices, ...] = ({"heparin": ("ordered",)}, {"clamp": ("none",)})
"""Conditions that part the order sheets into four kinds."""
KINDS: tuple[Mapping[str, str], ...] = tuple(
    {"heparin": heparin, "clamp": clamp}
    for heparin, clamp in product(CHOICES["heparin"], CHOICES["clamp"])
)
NO_CHOICES: Mapping[str, str] = {}


def drawings(how_many: int, size: int = 7) -> tuple[Drawing, ...]:
    """Draw small procedures whose list, if each step ends as hoped, comes to its end."""
    drawn = (Drawing(number, size) for number in count())
    return tuple(islice((d for d in drawn if comes_to_an_end(d.source)), how_many))


def of_many_kinds(numbers: Iterable[int], size: int = 9) -> tuple[Drawing, ...]:
    """Draw the small procedures of *numbers* that ask the order sheet, if each kind ends."""
    drawn = (Drawing(number, size).parted() for number in numbers)
    return tuple(d for d in drawn if all(comes_to_an_end(d.source, kind) for kind in KINDS))


def comes_to_an_end(source: Source, kind: Mapping[str, str] = NO_CHOICES) -> bool:
    """Tell whether no detour of *source* is without end for *kind*."""
    procedure = compose(source, kind)
    state = start(procedure)
    for step in tuple(way_ahead(procedure, state)):
        state = after_outcome(procedure, state, step, step.outcomes[0])
    return ended(procedure, state)


class Drawing:
    """One small procedure with its rules, the same for the same number."""

    def __init__(self, number: int, size: int) -> None:
        """Draw the facts, *size* steps, the responses, the mishaps and the rules."""
        self.chance = random.Random(number)
        self.names = [f"thing-{n}" for n in range(4)]
        facts = [self.fact(name) for name in self.names]
        facts.append(Fact("alarm", "", ("none", "low", "high"), (Start({}, "none"),), {}, HERE))
        self.table = FactTable.of(tuple(facts))
        steps: list[Step] = []
        for n in range(size):
            steps.append(self.step(f"step-{n}", steps))
        self.source = replace(
            SOURCE, table=self.table, steps=tuple(steps), picture=(), circumstances=(), given=0,
            responses=(self.response("high"), self.response("low")),
            mishaps=tuple(self.mishap(n) for n in range(3)),
        )  # fmt: skip
        self.rules = tuple(self.rule(n, size) for n in range(6))

    def parted(self) -> Drawing:
        """Let the kinds of order sheet begin unlike and pass over unlike steps.

        Some steps see what is so, and rules look at it. A step that others may need is asked for
        in every kind.
        """
        facts = tuple(
            replace(f, starts=(self.starting(), *f.starts)) if f.name in self.names else f
            for f in self.table.facts
        )
        self.table = FactTable.of(facts)
        needed = {name for step in self.source.steps for name in step.needs_named}
        steps = tuple(self.unlike(step, needed) for step in self.source.steps)
        mishaps = tuple(
            replace(m, when=self.chance.choice((NO_CHOICES, *WHENS))) for m in self.source.mishaps
        )
        self.source = replace(self.source, table=self.table, steps=steps, mishaps=mishaps)
        events = (Event(finished=True), *(Event(done=frozenset({s.id})) for s in steps))
        self.rules += tuple(self.looking(n, event) for n, event in enumerate(events))
        return self

    def unlike(self, step: Step, needed: set[str]) -> Step:
        """Return *step* passed over in some kinds, if nothing that it sets is *needed*."""
        if step.only_if or not needed & step.outcomes[0].sets.keys():
            when = self.chance.choice((NO_CHOICES, *WHENS))
            step = replace(step, only_if=step.only_if or self.condition(), when=when)
        sees = self.condition() if self.chance.random() < 0.3 else 0
        return replace(step, ask=Act(sees=sees))

    def starting(self) -> Start:
        """Draw a first value that only some kinds begin with."""
        return Start(self.chance.choice(WHENS), self.chance.choice(VALUES))

    def looking(self, number: int, event: Event) -> Rule:
        """Draw a rule that looks at what is so when *event* happens, and keeps nothing in mind."""
        return Rule(
            f"look-{number}", 1, "", "", hurts=False, form="always", where=HERE, when={},
            event=event, given=self.condition(), unless=self.condition(),
        )  # fmt: skip

    def fact(self, name: str) -> Fact:
        """Draw a fact, of which something may fade."""
        fades = self.chance.choice(({}, {"second": "first"}, {"third": "second"}))
        return Fact(name, "", VALUES, (Start({}, "first"),), fades, HERE)

    def some(self, most: int) -> dict[str, str]:
        """Draw values for up to *most* facts."""
        chosen = self.chance.sample(self.names, self.chance.randint(1, most))
        return {name: self.chance.choice(VALUES) for name in chosen}

    def condition(self) -> int:
        """Draw a condition: that one fact has one of two values."""
        name = self.chance.choice(self.names)
        return self.table.forbids({name: tuple(self.chance.sample(VALUES, 2))})

    def outcome(self, name: str, sets: dict[str, str], *, ends: bool = False) -> Outcome:
        """Return an ending that *sets* some facts."""
        return Outcome(name, "", self.table.effect(sets), sets, ends)

    def step(self, ident: str, earlier: list[Step]) -> Step:
        """Draw a step that needs what *earlier* ones set that are always asked for."""
        providers = [step for step in earlier if not step.only_if]
        needs: dict[str, tuple[str, ...]] = {}
        for provider in self.chance.sample(providers, min(2, len(providers))):
            needs |= {name: (value,) for name, value in provider.outcomes[0].sets.items()}
        outcomes = [self.outcome("done", self.some(2))]
        if self.chance.random() < 0.6:
            ends = self.chance.random() < 0.2
            sets = {} if ends else {**self.some(1), "alarm": self.chance.choice(("none", "low"))}
            outcomes.append(self.outcome("other", sets, ends=ends))
        only_if = self.condition() if self.chance.random() < 0.3 else 0
        return self.made(ident, needs, only_if, tuple(outcomes), Act())

    def response(self, alarm: str) -> Step:
        """Draw what is asked when the alarm is *alarm*."""
        end = self.outcome("end", {}, ends=True)
        on = self.outcome("go-on", {**self.some(1), "alarm": "none"})
        outcomes: tuple[Outcome, ...] = (on, end)
        ask: Ask = self.chance.choice((CALL, Act()))
        if self.chance.random() < 0.3:
            ask, outcomes = CALL, (on,)
        only_if = self.table.forbids({"alarm": (alarm,)})
        return self.made(f"answer-{alarm}", {}, only_if, outcomes, ask)

    def made(
        self,
        ident: str,
        needs: dict[str, tuple[str, ...]],
        only_if: int,
        outcomes: tuple[Outcome, ...],
        ask: Ask,
    ) -> Step:
        """Return the step of these parts."""
        return replace(
            SOURCE.steps[0], id=ident, when={}, only_if=only_if, needs=self.table.forbids(needs),
            needs_named=needs, outcomes=outcomes, ask=ask,
        )  # fmt: skip

    def mishap(self, number: int) -> Mishap:
        """Draw something that can happen, an emergency if it is as urgent as can be."""
        alarm = self.chance.choice(("none", "low", "high"))
        effect = self.table.effect({**self.some(1), "alarm": alarm})
        at = self.condition()
        ident = f"mishap-{number}"
        return Mishap(ident, "trouble", "", "", HERE, {}, at, effect, alarm == "high", "")

    def rule(self, number: int, size: int) -> Rule:
        """Draw a rule, which may well be broken."""
        form = self.chance.choice(("only", "never", "always"))
        first, second = (
            Event(done=frozenset({f"step-{n}"})) for n in self.chance.sample(range(size), 2)
        )
        told = Event(told=frozenset({"mishap-0"}), left=self.chance.random() < 0.5)
        rule = Rule(
            f"rule-{number}", 1, "", "", hurts=False, form=form, where=HERE, when={}, event=first
        )
        if form == "always":
            return replace(rule, unless=self.condition())
        after, since = (second, told) if form == "only" else (told, second)
        return replace(rule, after=after, since=since)
