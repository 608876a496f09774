"""Judges a mutant: by which rule or check it is rejected, if by any.

Owns the order in which a proof's checks are made, the cheap ones first, so that most mutants need
no search. Every check is the proof's own. It must never change a procedure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from coach.engine import after_outcome, ended, finished, step_to_do
from coach.errors import EngineError, FileProblems
from coach.nodes import Problems
from coach.procedure.compose import fits
from coach.procedure.model import Mishap, Source, Step, Stop
from coach.procedure.read import _check_whole
from coach.proof.explore import Broken, Explorer, search_of
from coach.proof.family import Family, family_of, kinds_of
from coach.proof.finding import Finding
from coach.proof.hoped import check_hoped
from coach.proof.rules import Event, Rule, read_rules
from coach.proof.story import Teller
from coach.proof.structure import (
    Seen,
    check_cases,
    check_ends,
    check_reached,
    check_troubles,
    check_values,
    seen_in,
)
from coach.proof.watch import Watch, key_of, told_key
from coach.proof.written import check_files
from tests.mutants.operators import Mutant

Kinds = tuple[Mapping[str, str], ...]

SURVIVED = ""
"""The verdict on a mutant that no rule or check rejects."""
HELD = "(what was needed holds all the same)"
"""The verdict on a mutant without a need that nevertheless is met whenever the step is done."""


class Rejected(Exception):
    """A rule or check does not hold; its name is the only argument."""


class Judge:
    """Knows the rules and the kinds of order sheet by which mutants are judged."""

    def __init__(self, source: Source, rules: Path) -> None:
        """Judge mutants of *source*, whose rules are in the folder *rules*."""
        self.source = source
        self.rules = rules
        self.kinds = telling_kinds(source)
        explorer = search_of(family_of(source, self.kinds), read_rules(rules, source))
        self.known = {f.says for f in check_values(explorer, _everything(explorer.family))}
        """What the right source is found wanting in as well, which is no fault of a mutant's."""

    def verdict(self, mutant: Mutant) -> str:
        """Return the name of the rule or check that rejects *mutant*, or SURVIVED.

        It is looked at for one kind of order sheet that asks for what was changed, then for all
        telling kinds.
        """
        try:
            rules = self._read(mutant.source)
            explorer = self._unsearched(mutant.source, rules)
            _search(search_of(family_of(mutant.source, [self._first_kind(mutant)]), rules))
            explorer = search_of(explorer.family, (*rules, *_removed(self.source, mutant.source)))
            _search(explorer)
        except Rejected as rejected:
            return str(rejected)
        except EngineError:
            return "no-provider"
        for finding in _findings(explorer):
            if finding.says not in self.known:
                return finding.name
        return SURVIVED if len(explorer.watch.rules) == len(rules) or _unmet(explorer) else HELD

    def _first_kind(self, mutant: Mutant) -> Mapping[str, str]:
        """Return the telling kind that asks for most of what *mutant* changed."""
        touched = [one.when for one in _conditional(self.source) if one.id in mutant.touches]
        return max(self.kinds, key=lambda kind: sum(fits(when, kind) for when in touched))

    def _read(self, source: Source) -> tuple[Rule, ...]:
        """Return the rules for *source*. Raises Rejected for what the reading itself refuses."""
        problems = Problems()
        _check_whole(source, problems)
        if problems.rows:
            raise Rejected("no-provider")
        stops = [s.ask for s in source.steps + source.responses if isinstance(s.ask, Stop)]
        if not all(stop.call for stop in stops):
            raise Rejected("stop-without-a-call")
        try:
            return read_rules(self.rules, source)
        except FileProblems as refused:
            raise Rejected("names-a-missing-step") from refused

    def _unsearched(self, source: Source, rules: tuple[Rule, ...]) -> Explorer:
        """Return the search for all telling kinds, not yet run.

        Raises Rejected for what shows before it.
        """
        family = family_of(source, self.kinds)
        _reject(check_hoped(family))
        watch = Watch(family, rules)
        for kind in range(len(self.kinds)):
            _walk(family, watch, kind)
        explorer = search_of(family, rules)
        _reject(check_files(explorer))
        values = check_values(explorer, _everything(family))
        _reject(finding for finding in values if finding.says not in self.known)
        return explorer


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


def _walk(family: Family, watch: Watch, kind: int) -> None:
    """Follow the run of *kind* in which every step ends as hoped, which is known to end.

    Raises Rejected if it breaks a rule.
    """
    procedure, state = family.procedure, family.begin(kind)
    state = state._replace(facts=state.facts | watch.start)
    while not ended(procedure, state):
        step = step_to_do(procedure, state)
        key = key_of(step, 0)
        checks = [(check, state.facts) for check in watch.marks[key].checks]
        state = watch.marked(after_outcome(procedure, state, step, step.outcomes[0]), key)
        if finished(procedure, state):
            checks += [(check, state.facts) for check in watch.finish]
        for check, facts in checks:
            if check.kinds >> kind & 1 and not check.holds(facts):
                raise Rejected(watch.rules[check.rule].id)


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
