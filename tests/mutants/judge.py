"""Judges a mutant: by which rule or check it is rejected, if by any.

Owns the order in which a proof's checks are made, the cheap ones first, so that most mutants need
no search. Every check is the proof's own. It must never change a procedure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple, cast

from coach.errors import EngineError, FileProblems
from coach.nodes import Problems
from coach.procedure.compose import fits
from coach.procedure.model import Act, Mishap, Procedure, Question, Source, Step, Stop
from coach.procedure.read import _check_whole
from coach.proof.answered import check_troubles
from coach.proof.explore import Broken, Explorer, search_of
from coach.proof.family import Family, family_of, kinds_of
from coach.proof.finding import Finding
from coach.proof.hoped import check_hoped
from coach.proof.rules import Event, Rule, read_rules
from coach.proof.slips import SlipSearch
from coach.proof.story import Teller
from coach.proof.structure import (
    Seen,
    check_cases,
    check_ends,
    check_reached,
    check_values,
    seen_in,
)
from coach.proof.watch import Watch, told_key
from coach.proof.written import check_files
from tests.mutants.harmless import reason
from tests.mutants.operators import Mutant
from tests.mutants.tries import Tries

Kinds = tuple[Mapping[str, str], ...]

SURVIVED = ""
"""The verdict on a mutant that no rule or check rejects."""
HELD = "(what was needed holds all the same)"
"""The verdict on a mutant without a need that nevertheless is met whenever the step is done."""

REFUSED = {"recheck.reading": "recheck-of-what-does-not-pass"}
"""Names for what the reading of the files refuses, by the field; else it is a need unmet."""


class Rejected(Exception):
    """A rule or check does not hold; its name is the only argument."""


class Unsearched(NamedTuple):
    """What of a search is known before it: enough for the checks that look at no state."""

    family: Family
    procedure: Procedure
    watch: Watch


class Judge:
    """Knows the rules and the kinds of order sheet by which mutants are judged."""

    def __init__(self, source: Source, rules: Path) -> None:
        """Judge mutants of *source*, whose rules are in the folder *rules*."""
        self.source = source
        self.rules = rules
        self.kinds = telling_kinds(source)

    def verdict(self, mutant: Mutant) -> str:
        """Return the name of the rule or check that rejects *mutant*, or SURVIVED.

        It is looked at for all telling kinds: by the files alone, by some runs, by every state.
        """
        try:
            rules = self._read(mutant.source)
            family = family_of(mutant.source, self.kinds)
            _look(family, rules, mutant)
            explorer = search_of(family, (*rules, *_removed(self.source, mutant.source)))
            _search(explorer)
            _reject(_findings(explorer))
        except Rejected as rejected:
            return str(rejected)
        except EngineError:
            return "no-provider"
        if len(explorer.watch.rules) > len(rules) and not _unmet(explorer):
            return HELD
        return reason(self.source, mutant, explorer)

    def falls(self, mutant: Mutant) -> str:
        """Return which rule falls to one false tick in *mutant* and not in the right source.

        Of those whose breaking can hurt, in the kind of order sheet that asks for most of what was
        changed. Nothing, if none does, or if no look was changed.
        """
        touched = [one for one in _conditional(self.source) if one.id in mutant.touches]
        if not any(isinstance(one, Step) and _is_look(one) for one in touched):
            return ""
        kind = max(self.kinds, key=lambda kind: sum(fits(one.when, kind) for one in touched))
        known = self._fallen(self.source, kind)
        fallen = sorted(self._fallen(mutant.source, kind) - known)
        return f"falls-to-one-tick: {fallen[0]}" if fallen else SURVIVED

    def _fallen(self, source: Source, kind: Mapping[str, str]) -> frozenset[str]:
        """Return the rules that one false tick breaks, of those whose breaking can hurt."""
        rules = [rule for rule in read_rules(self.rules, source) if rule.hurts]
        search = SlipSearch(family_of(source, [kind]), rules)
        search.run(1)
        return frozenset(rules[place].id for place in search.broken)

    def _read(self, source: Source) -> tuple[Rule, ...]:
        """Return the rules for *source*. Raises Rejected for what the reading itself refuses."""
        problems = Problems()
        _check_whole(source, problems)
        if problems.rows:
            raise Rejected(REFUSED.get(problems.rows[0].field, "no-provider"))
        stops = [s.ask for s in source.steps + source.responses if isinstance(s.ask, Stop)]
        if not all(stop.call for stop in stops):
            raise Rejected("stop-without-a-call")
        try:
            return read_rules(self.rules, source)
        except FileProblems as refused:
            raise Rejected("names-a-missing-step") from refused


def _is_look(step: Step) -> bool:
    """Tell whether an honest person finds out by *step* what is so."""
    return isinstance(step.ask, Question | Act) and bool(step.ask.sees)


def _look(family: Family, rules: tuple[Rule, ...], mutant: Mutant) -> None:
    """Look at *mutant* before it is searched. Raises Rejected for what shows then."""
    _reject(check_hoped(family))
    watch = Watch(family, rules)
    # The chart of a search takes longer to draw than all that is looked at here.
    unsearched = cast("Explorer", Unsearched(family, family.procedure, watch))
    _reject(check_files(unsearched))
    _reject(check_values(unsearched, _everything(family)))
    for rule in Tries(family, watch, mutant).broken():
        raise Rejected(rule)


def _removed(right: Source, source: Source) -> tuple[Rule, ...]:
    """Return for the one step of *source* that lacks a need the rule that would stand for it."""
    changed = [
        (old, new)
        for old, new in zip(right.steps, source.steps, strict=False)
        if old.id == new.id and old.needs & ~new.needs
    ]
    return tuple(
        Rule(
            id=HELD, number=0, says="", source="", hurts=False, form="always", where=new.where,
            when={}, event=Event(tried=frozenset({new.id})), unless=old.needs,
        )
        for old, new in changed[:1]
    )  # fmt: skip


def _unmet(explorer: Explorer) -> bool:
    """Tell whether the rule that stands for a removed need is broken."""
    last = len(explorer.watch.rules) - 1
    return any(b.rule == last and b.kinds & b.node.kinds for b in explorer.broken)


def _reject(findings: Iterable[Finding]) -> None:
    for finding in findings:
        raise Rejected(finding.name)


def _everything(family: Family) -> Seen:
    """Return what would be seen if all could happen: what is then never set is so in any case."""
    procedure = family.procedure
    steps = frozenset(step.id for step in procedure.steps + procedure.responses)
    return Seen({told_key(mishap): -1 for mishap in procedure.mishaps}, -1, steps)


def _search(explorer: Explorer) -> None:
    """Run *explorer* to its end. Raises Rejected for the first rule that is broken."""
    rules = explorer.watch.rules
    explorer.broken = FirstBroken(rules)
    explorer.run()
    for broken in explorer.broken:
        if broken.kinds & broken.node.kinds and rules[broken.rule].id != HELD:
            raise Rejected(rules[broken.rule].id)


class FirstBroken(list[Broken]):
    """Takes in what breaks a rule, and stops the search at the first that counts."""

    def __init__(self, rules: tuple[Rule, ...]) -> None:
        """Name broken rules by *rules*."""
        super().__init__()
        self.rules = rules

    def append(self, broken: Broken) -> None:
        """Take in *broken*. Raises Rejected if it counts already."""
        super().append(broken)
        name = self.rules[broken.rule].id
        if broken.kinds & broken.node.kinds and name != HELD:
            raise Rejected(name)


def _findings(explorer: Explorer) -> Iterator[Finding]:
    """Yield what the states that were searched show."""
    seen, teller = seen_in(explorer), Teller(explorer, frozenset())
    yield from check_reached(explorer, seen)
    yield from check_values(explorer, seen)
    yield from check_cases(explorer, seen)
    yield from check_ends(explorer, teller)
    yield from check_troubles(explorer, teller)


def telling_kinds(source: Source) -> Kinds:
    """Return few kinds of order sheet in which any two answers occur together.

    Each step, response and mishap of *source* is asked for by one of them at least.
    """
    every = kinds_of(source)
    conditions = [one.when for one in _conditional(source)]
    todo = {pair for kind in every for pair in _pairs(kind)}
    chosen: list[Mapping[str, str]] = []
    while todo:
        best = max(every, key=lambda kind: len(todo & set(_pairs(kind))))
        chosen.append(best)
        todo -= set(_pairs(best))
    for when in conditions:
        if not any(fits(when, kind) for kind in chosen):
            chosen.append(next(kind for kind in every if fits(when, kind)))
    return tuple(chosen)


def _conditional(source: Source) -> tuple[Step | Mishap, ...]:
    return (*source.steps, *source.responses, *source.mishaps)


def _pairs(kind: Mapping[str, str]) -> Iterator[tuple[tuple[str, str], tuple[str, str]]]:
    items = sorted(kind.items())
    for place, one in enumerate(items):
        for other in items[place + 1 :]:
            yield one, other


def explored(source: Source, rules: Path, kinds: Kinds) -> Explorer:
    """Return the search of *source* for *kinds*, run to its end."""
    explorer = search_of(family_of(source, kinds), read_rules(rules, source))
    explorer.run()
    return explorer
