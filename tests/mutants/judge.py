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
from coach.proof.chart import Chart
from coach.proof.explore import Broken, Explorer, search_of
from coach.proof.family import Family, family_of, kinds_of
from coach.proof.finding import Finding
from coach.proof.hoped import check_hoped
from coach.proof.rules import Rule, read_rules
from coach.proof.slips import SlipSearch
from coach.proof.story import Teller
from coach.proof.structure import Seen as Happened
from coach.proof.structure import (
    check_cases,
    check_ends,
    check_reached,
    check_values,
    seen_in,
)
from coach.proof.watch import Watch, told_key
from coach.proof.written import check_files
from tests.mutants.alike import Alike
from tests.mutants.called import answered_otherwise
from tests.mutants.counted import counted_otherwise
from tests.mutants.harmless import reason_by_build, reason_by_search
from tests.mutants.operators import Mutant
from tests.mutants.reuse import Again, search_again
from tests.mutants.same import Seen
from tests.mutants.tries import Tries

Kinds = tuple[Mapping[str, str], ...]

SURVIVED = ""
"""The verdict on a mutant that no rule or check rejects."""
SAME = "(the same to whoever follows it)"
"""The verdict on a mutant that nothing that can happen tells apart from the right source."""
HELD = "(what was needed holds all the same)"
"""The verdict on a mutant without a need that nevertheless is met whenever the step is done."""

COUNTED = "times-count-otherwise"
"""The verdict on a mutant that a test of its own rejects: the proof follows no clock."""
ANSWERED = "trouble-with-another-card"
"""The verdict on a mutant that a test of its own rejects: no rule speaks of which card is shown."""

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

    def __init__(self, source: Source, rules: Path, seen: Seen | None = None) -> None:
        """Judge mutants of *source*, whose rules are in the folder *rules*.

        With *seen*, what was seen of the right source, most is known before a search.
        """
        self.source = source
        self.rules = rules
        self.seen = seen
        self.right_rules = read_rules(rules, source)
        self.kinds = telling_kinds(source)
        self.alike = Alike(seen.explorer) if seen is not None else None
        self._known: dict[tuple[str, ...], frozenset[str]] = {}
        """For each kind, the rules that fall to one false tick in the right source."""

    def verdict(self, mutant: Mutant) -> str:
        """Return which rule or check rejects *mutant*, or why it is harmless, or SURVIVED.

        It is looked at for all telling kinds: by the files alone, by some runs, by every state.
        """
        if self.seen is not None and self.seen.same(mutant):
            return SAME
        try:
            rules = self._read(mutant.source)
            family = family_of(mutant.source, self.kinds)
            _look(family, rules, mutant)
            built = reason_by_build(self.source, mutant)
            if built:
                return built
            explorer = self._searched(mutant, family, rules)
        except Rejected as rejected:
            return str(rejected)
        except EngineError:
            return "no-provider"
        if isinstance(explorer, Again) and _held(self.source, mutant, explorer):
            return HELD
        if self.alike is not None and self.alike.same(mutant, explorer):
            return SAME
        return reason_by_search(self.source, mutant, explorer)

    def _searched(self, mutant: Mutant, family: Family, rules: tuple[Rule, ...]) -> Explorer:
        """Return the search of *mutant*, run to its end. Raises Rejected, or EngineError."""
        explorer = search_of(family, rules)
        if self.seen is not None:
            explorer = search_again(self.seen, mutant, explorer)
        _search(explorer)
        _reject(_findings(explorer))
        return explorer

    def falls(self, mutant: Mutant) -> str:
        """Return which rule falls to one false tick in *mutant* and not in the right source.

        Of those whose breaking can hurt, in the kind of order sheet that asks for most of what was
        changed. Nothing, if none does, or if no look was changed.
        """
        touched = [one for one in _conditional(self.source) if one.id in mutant.touches]
        if not any(isinstance(one, Step) and _is_look(one) for one in touched):
            return ""
        kind = max(self.kinds, key=lambda kind: sum(fits(one.when, kind) for one in touched))
        answers = tuple(kind.values())
        if answers not in self._known:
            self._known[answers] = self._fallen(self.source, kind)
        fallen = sorted(self._fallen(mutant.source, kind) - self._known[answers])
        return f"falls-to-one-tick: {fallen[0]}" if fallen else SURVIVED

    def _fallen(self, source: Source, kind: Mapping[str, str]) -> frozenset[str]:
        """Return the rules that one false tick breaks, of those whose breaking can hurt."""
        rules = [rule for rule in self._read(source) if rule.hurts]
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
        rules = self._rules(source)
        if any(counted_otherwise(source)):
            raise Rejected(COUNTED)
        if any(answered_otherwise(source)):
            raise Rejected(ANSWERED)
        return rules

    def _rules(self, source: Source) -> tuple[Rule, ...]:
        """Return the rules as they speak of *source*. Raises Rejected if a name is missing."""
        if _names_in(source) == _names_in(self.source):
            return self.right_rules
        try:
            return read_rules(self.rules, source)
        except FileProblems as refused:
            raise Rejected("names-a-missing-step") from refused


def _names_in(source: Source) -> tuple[object, ...]:
    """Return all by which rules name what they speak of."""
    steps = tuple(step.id for step in source.steps + source.responses)
    return steps, tuple(mishap.id for mishap in source.mishaps), source.table.bits


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


def _held(right: Source, mutant: Mutant, explorer: Explorer) -> bool:
    """Tell whether a need was removed that is met all the same whenever its step is done.

    What *explorer* found has to keep apart all that the right source does.
    """
    pairs = zip(right.steps, mutant.source.steps, strict=False)
    lost = {new.id: old.needs & ~new.needs for old, new in pairs if old.id == new.id}
    lost = {name: unless for name, unless in lost.items() if unless}
    return bool(lost) and not any(
        explorer.chart.decode(kind, node.place, node.code).facts & lost[key[1]]
        for nodes in explorer.nodes
        for node in nodes.values()
        for kinds, key, _ in node.edges
        if key[0] == "step" and key[1] in lost
        for kind in range(len(explorer.family.kinds))
        if (kinds & node.kinds) >> kind & 1
    )


def _reject(findings: Iterable[Finding]) -> None:
    for finding in findings:
        raise Rejected(finding.name)


def _everything(family: Family) -> Happened:
    """Return what would be seen if all could happen: what is then never set is so in any case."""
    procedure = family.procedure
    steps = frozenset(step.id for step in procedure.steps + procedure.responses)
    return Happened({told_key(mishap): -1 for mishap in procedure.mishaps}, -1, steps)


def _search(explorer: Explorer) -> None:
    """Run *explorer* to its end. Raises Rejected for the first rule that is broken."""
    rules = explorer.watch.rules
    explorer.broken = FirstBroken(rules)
    explorer.run()
    for broken in explorer.broken:
        if broken.kinds & broken.node.kinds:
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
        if broken.kinds & broken.node.kinds:
            raise Rejected(self.rules[broken.rule].id)


def _findings(explorer: Explorer) -> Iterator[Finding]:
    """Yield what the states that were searched show."""
    seen, teller = seen_in(explorer), Teller(explorer, frozenset())
    yield from check_reached(explorer, seen)
    yield from check_values(explorer, seen)
    yield from check_cases(explorer, seen)
    yield from check_ends(explorer, teller)
    # In all other states what follows is heard as it is in the right source.
    yield from check_troubles(explorer.news() if isinstance(explorer, Again) else explorer, teller)


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
    """Return the search of *source* for *kinds*, run to its end.

    What a rule remembers is kept apart also where it does not matter: it may for a mutant.
    """
    merged = search_of(family_of(source, kinds), read_rules(rules, source))
    chart = Chart(merged.family, merged.chart.lenses, merged.chart.live, merged.watch)
    explorer = Explorer(chart, merged.places, merged.watch)
    explorer.run()
    return explorer
