"""The shortest run to something that does not hold, told as a person would live it.

Owns the looking for it in the states that were searched, and the telling. The run is gone through
again by the engine, so that nothing is told that the coach would not ask for. It must never judge.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from coach.engine import (
    State,
    after_mishap,
    after_outcome,
    after_return,
    response_to_do,
    step_to_do,
)
from coach.procedure.facts import Where
from coach.procedure.model import (
    Hold,
    Mishap,
    Outcome,
    Question,
    Reading,
    Recheck,
    Step,
    Stop,
    Wait,
    Within,
)
from coach.proof.cone import lowest
from coach.proof.explore import Explorer
from coach.proof.page import Node
from coach.proof.rules import NOTHING, Event, Rule
from coach.proof.watch import LEFT, Key, happens
from coach.says import proof as words

LEAST_LEFT_OUT = 3
"""Fewer ordinary steps on end than this are told one by one."""
TOLD_BEFORE = 1
"""How many things before the last are told, however ordinary."""
MOST_NAMED = 3
"""How many steps are named of those that were not done."""

Way = tuple["Node | None", Key, int]
"""The state before, what happened in it, and how many things happened up to here."""


class Happened(msgspec.Struct, frozen=True):
    """One thing that happened in a run."""

    key: Key
    before: State
    after: State
    step: Step | None = None
    """The step that was done; None where something else happened."""
    outcome: Outcome | None = None
    mishap: Mishap | None = None
    ordinary: bool = False
    """Whether it is a step of the list that ended as hoped."""

    @property
    def where(self) -> Where | None:
        """The place in the files of the step or the mishap."""
        told = self.step or self.mishap
        return told.where if told else None


class Teller:
    """Finds and tells runs through the states of one search."""

    def __init__(self, explorer: Explorer, actions: frozenset[str]) -> None:
        """Tell of *explorer*, which has run; *actions* are the words that an action begins with."""
        self.explorer = explorer
        self.family = explorer.family
        self.actions = actions
        self._ways: dict[int, dict[Node, Way]] = {}

    def steps_to(self, kind: int, node: Node) -> int:
        """Return how many things happen, at the least, before a dose of *kind* is in *node*."""
        return self._from_start(kind)[node][2]

    def run(self, kind: int, node: Node, *then: Key) -> tuple[Happened, ...]:
        """Return the shortest run of a dose of *kind* to *node*, and what happens *then*."""
        ways, keys = self._from_start(kind), list(reversed(then))
        here: Node | None = node
        while here is not None:
            here, key, _ = ways[here]
            keys.append(key)
        return self._again(kind, keys[-2::-1])

    def _from_start(self, kind: int) -> dict[Node, Way]:
        """Return for each state that a dose of *kind* reaches the shortest way to it."""
        known = self._ways.get(kind)
        if known is not None:
            return known
        bit, first = 1 << kind, self.explorer.starts[kind]
        ways: dict[Node, Way] = {first: (None, LEFT, 0)}
        front = [first]
        while front:
            later: list[Node] = []
            for node in front:
                length = ways[node][2] + 1
                for kinds, key, target in node.edges:
                    if kinds & bit and target not in ways:
                        ways[target] = node, key, length
                        later.append(target)
            front = later
        self._ways[kind] = ways
        return ways

    def _again(self, kind: int, keys: list[Key]) -> tuple[Happened, ...]:
        """Go through *keys* with the engine."""
        found: list[Happened] = []
        state = self.explorer.chart.begin(kind)
        for key in keys:
            found.append(self._happened(state, key))
            state = found[-1].after
        return tuple(found)

    def _happened(self, state: State, key: Key) -> Happened:
        procedure = self.family.procedure
        if key == LEFT:
            return Happened(key, state, self._marked(after_return(procedure, state), key))
        if key[0] == "told":
            mishap = next(m for m in procedure.mishaps if m.id == key[1])
            after = self._marked(after_mishap(procedure, state, mishap), key)
            return Happened(key, state, after, mishap=mishap)
        step = step_to_do(procedure, state)
        hoped = step.outcomes[0]
        outcome = next((o for o in step.outcomes if o.name == key[2]), hoped)
        after = self._marked(after_outcome(procedure, state, step, outcome), key)
        ordinary = outcome is hoped and step.id in procedure.index
        return Happened(key, state, after, step, outcome, None, ordinary)

    def _marked(self, state: State, key: Key) -> State:
        return self.explorer.watch.marked(state, key)

    def told(self, run: tuple[Happened, ...], rule: Rule | None = None) -> tuple[str, ...]:
        """Return *run* as sentences, with what the *rule* that it breaks speaks of."""
        kept = self._kept(run, rule)
        sentences: list[str] = []
        left_out: list[Happened] = []
        for place, happened in enumerate(run):
            if place not in kept:
                left_out.append(happened)
                continue
            sentences += self._run_of_steps(left_out, first=len(left_out) == place)
            left_out = []
            sentences.append(self.sentence(happened))
        sentences += self._run_of_steps(left_out, first=len(left_out) == len(run))
        return (*sentences, *self._why(run, rule))

    def _kept(self, run: tuple[Happened, ...], rule: Rule | None) -> set[int]:
        """Return the places of what is told one by one."""
        kept = {place for place, happened in enumerate(run) if not happened.ordinary}
        kept |= {place + 1 for place in kept}
        kept |= set(range(max(0, len(run) - 1 - TOLD_BEFORE), len(run)))
        for event in (rule.after, rule.since) if rule else ():
            last = [place for place, h in enumerate(run[:-1]) if happens(event, h.key)][-1:]
            kept |= set(last)
        return kept

    def _run_of_steps(self, steps: list[Happened], first: bool) -> list[str]:
        if len(steps) < LEAST_LEFT_OUT:
            return [self.sentence(happened) for happened in steps]
        return [(words.STORY_FIRST if first else words.STORY_STEPS).format(number=len(steps))]

    def sentence(self, happened: Happened) -> str:
        """Return what happened as one plain sentence."""
        step, outcome = happened.step, happened.outcome
        if happened.mishap is not None:
            return words.STORY_TOLD.format(says=happened.mishap.title)
        if step is None or outcome is None:
            return words.STORY_LEFT
        hoped = outcome is step.outcomes[0]
        if isinstance(step.ask, Stop):
            return words.STORY_CALL.format(title=step.title, says=outcome.says)
        does = self._does(step)
        if isinstance(step.ask, Question):
            return words.STORY_ANSWER.format(does=does, says=outcome.says)
        if isinstance(step.ask, Reading):
            return (words.STORY_AGREES if hoped else words.STORY_DIFFERS).format(does=does)
        if isinstance(step.ask, Recheck | Within):
            return (words.STORY_IN_TIME if hoped else words.STORY_LATE).format(does=does)
        if isinstance(step.ask, Hold | Wait):
            return words.STORY_TIMED.format(does=does)
        return words.STORY_DONE.format(does=does)

    def _does(self, step: Step) -> str:
        first, _, rest = step.title.partition(" ")
        if first.lower() in self.actions:
            return words.STORY_DOES.format(title=f"{first.lower()} {rest}".rstrip())
        return words.STORY_DOES_STEP.format(title=step.title)

    def _why(self, run: tuple[Happened, ...], rule: Rule | None) -> Iterator[str]:
        """Yield what was not so at the end of *run*, in the words of the files."""
        if rule is None or not run:
            return
        last = run[-1]
        facts = (last.after if rule.event.finished else last.before).facts
        table = self.family.procedure.source.table
        wrong = facts & rule.unless
        for (name, value), bit in table.bits.items():
            if wrong & bit:
                yield words.STORY_FACT.format(fact=name, value=value)
        if rule.form == "only" and rule.after != NOTHING and not wrong:
            yield words.STORY_MISSING.format(steps=self._named(rule.after))

    def _named(self, event: Event) -> str:
        procedure = self.family.procedure
        ids = event.done | event.tried
        titles = [s.title for s in (*procedure.steps, *procedure.responses) if s.id in ids]
        titles += [m.title for m in procedure.mishaps if m.id in event.told]
        named = [words.STORY_NAMED.format(title=t) for t in dict.fromkeys(titles)]
        if len(named) > MOST_NAMED:
            named = [*named[:MOST_NAMED], words.STORY_OTHERS]
        return ", ".join(named)

    def to_do(self, kind: int, node: Node) -> Step | None:
        """Return what is to be done in *node*; None at the end of the list."""
        state = self.explorer.chart.decode(kind, node.place, node.code)
        if not 0 <= state.place < len(self.family.procedure.steps):
            return response_in(self.explorer, kind, node)
        return step_to_do(self.family.procedure, state)


def response_in(explorer: Explorer, kind: int, node: Node) -> Step | None:
    """Return the response that is asked for in *node* by a dose of *kind*; None where none is."""
    state = explorer.chart.decode(kind, node.place, node.code)
    return response_to_do(explorer.procedure, state.facts)


def sheets_of(explorer: Explorer, kinds: int) -> str:
    """Return which order sheets *kinds* are, by what they have in common; empty for every one."""
    family = explorer.family
    inside = [kind for n, kind in enumerate(family.kinds) if kinds >> n & 1]
    said = []
    for name in family.kinds[0] if len(inside) < len(family.kinds) else ():
        values = dict.fromkeys(kind[name] for kind in inside)
        if len(values) < len({kind[name] for kind in family.kinds}):
            said.append(words.STORY_CHOICE.format(name=name, values=words.STORY_OR.join(values)))
    return ", ".join(said)


def first_of(teller: Teller, found: list[tuple[int, Node]]) -> tuple[int, Node, int]:
    """Return a kind, the first state *found* for it, and all kinds that any was found for."""
    every = 0
    for kinds, _ in found:
        every |= kinds
    kind = lowest(every)
    inside = [node for kinds, node in found if kinds >> kind & 1]
    return kind, min(inside, key=lambda node: teller.steps_to(kind, node)), every
