"""What has to hold of every procedure, whatever its rules: nothing dead in it, nothing endless.

Owns the checks of a procedure's build over the states that were searched. It must never know a
step, a fact or a rule by name.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from coach.engine import after_mishap, after_outcome, ended, response_to_do, step_to_do
from coach.procedure.model import Wait, Within
from coach.proof.cone import lowest
from coach.proof.explore import Explorer
from coach.proof.finding import Finding
from coach.proof.hoped import lacking, unmet
from coach.proof.page import Node
from coach.proof.rules import NOTHING, Event, Rule
from coach.proof.story import Teller, first_of, response_in, sheets_of
from coach.proof.watch import LEFT, Key, Watch
from coach.says import proof as words


class Seen(msgspec.Struct, frozen=True):
    """What happened anywhere in a search."""

    done: dict[Key, int]
    """For all that happened, the kinds that it happened in."""
    finished: int
    """The kinds that came to the end of the list."""
    steps: frozenset[str]
    """The steps and responses that were asked for, by id."""


def seen_in(explorer: Explorer) -> Seen:
    """Return what happened anywhere in *explorer*, which has run."""
    done: dict[Key, int] = {}
    for nodes in explorer.nodes:
        for node in nodes.values():
            for kinds, key, _ in node.edges:
                known = done.get(key, 0)
                if kinds & ~known:
                    done[key] = known | kinds & node.kinds
    finished = 0
    for node in explorer.nodes[explorer.end].values():
        finished |= node.kinds
    steps = {key[1] for key in done if key[0] != "told" and key[1]}
    procedure = explorer.procedure
    steps |= _called(explorer, frozenset(r.id for r in procedure.responses) - steps)
    return Seen(done, finished, frozenset(steps))


def _called(explorer: Explorer, wanted: frozenset[str]) -> set[str]:
    """Return which of the responses *wanted* are asked for, though nothing that follows is kept.

    That is so for a call that only the end can follow, and for one whose answers change nothing.
    """
    found: set[str] = set()
    calls = wanted & explorer.chart.calls
    # What is told at one place mostly leads to one call, so each is looked at once, then again.
    for every in (False, True):
        if calls - found:
            found |= {_call_after(explorer, *told) for told in _into_calls(explorer, every)} & calls
    for nodes in explorer.nodes[:-1] if wanted - calls else ():
        for node in nodes.values():
            response = response_in(explorer, lowest(node.kinds), node) if node.kinds else None
            found |= {response.id} & wanted if response else set()
    return found


def _into_calls(explorer: Explorer, every: bool) -> Iterator[tuple[Node, int, Key]]:
    """Yield what leads to a call that only the end can follow: *every* case, or one a place."""
    for nodes in explorer.nodes[:-1]:
        known: set[Key] = set()
        for node in nodes.values():
            for kinds, key, target in node.edges:
                if target is explorer.call and kinds & node.kinds and key not in known:
                    yield node, lowest(kinds & node.kinds), key
                    known |= set() if every else {key}


def _call_after(explorer: Explorer, node: Node, kind: int, key: Key) -> str:
    """Return the id of the call that *key* leads to; nothing if it is itself the end."""
    procedure = explorer.procedure
    state = explorer.chart.decode(kind, node.place, node.code)
    if key[0] == "told":
        mishap = next(m for m in procedure.mishaps if m.id == key[1])
        facts = after_mishap(procedure, state, mishap).facts
    else:
        step = step_to_do(procedure, state)
        outcome = next((o for o in step.outcomes if o.name == key[2]), step.outcomes[0])
        if outcome.ends:
            return ""
        facts = after_outcome(procedure, state, step, outcome).facts
    response = response_to_do(procedure, facts)
    return response.id if response is not None else ""


# What is searched for in the states


def check_ends(explorer: Explorer, teller: Teller) -> Iterator[Finding]:
    """Yield where a dose cannot come to an end by doing what is asked, and the rules it breaks.

    An emergency ends a dose everywhere, so nothing that is told counts as a way out.
    """
    stuck = _stuck(explorer)
    rules = [rule for rule in explorer.watch.rules if rule.form == "ends"]
    for rule in (None, *rules):
        nearest = _nearest(explorer, teller, stuck, rule)
        if nearest is None:
            continue
        kind, node, kinds = nearest
        step = teller.to_do(kind, node)
        run = teller.run(kind, node)
        yield Finding(
            name=rule.id if rule else "endless-detour",
            says=rule.says if rule else words.PROOF_ENDLESS.format(step=step.title if step else ""),
            where=step.where if step else None,
            sheets=sheets_of(explorer, kinds),
            story=(*teller.told(run), words.STORY_ENDLESS),
        )


def _stuck(explorer: Explorer) -> dict[Node, int]:
    """Return the states from which no end can be reached, and the kinds in them."""
    out: dict[Node, int] = {explorer.call: explorer.call.kinds}
    stuck: dict[Node, int] = {}
    for place in range(explorer.end, -1, -1):
        waiting = list(reversed(explorer.nodes[place].values()))
        if place == explorer.end:
            for node in waiting:
                out[node] = _ended(explorer, node)
        moved = True
        while moved:
            moved = False
            for node in waiting:
                before = out.get(node, 0)
                after = _way_out(node, before, out)
                if after != before:
                    out[node], moved = after, True
            waiting = [node for node in waiting if node.kinds & ~out.get(node, 0)]
        stuck.update((node, node.kinds & ~out.get(node, 0)) for node in waiting)
    return stuck


def _ended(explorer: Explorer, node: Node) -> int:
    """Return the kinds for which the dose is over in *node*, at the end of the list."""
    found, kinds = 0, node.kinds
    while kinds:
        kind = lowest(kinds)
        kinds ^= 1 << kind
        state = explorer.chart.decode(kind, node.place, node.code)
        if response_to_do(explorer.procedure, state.facts) is None:
            found |= 1 << kind
    return found


def _way_out(node: Node, known: int, out: dict[Node, int]) -> int:
    for kinds, key, target in reversed(node.edges):
        if not node.kinds & ~known:
            break
        if key[0] != "told" and key != LEFT:
            # Only a call and the end can follow the last state of all.
            ends = kinds if target.place < 0 else out.get(target, 0)
            known |= kinds & ends & node.kinds
    return known


def _nearest(
    explorer: Explorer, teller: Teller, stuck: dict[Node, int], rule: Rule | None
) -> tuple[int, Node, int] | None:
    """Return the first of *stuck* that *rule* speaks of, a kind in it, and all kinds in any."""
    found: list[tuple[int, Node]] = []
    for node, bad in stuck.items():
        kinds = bad & (explorer.family.fitting(rule.when) if rule else -1)
        if kinds and _is_so(explorer, node, lowest(kinds), rule.unless if rule else 0):
            found.append((kinds, node))
    return first_of(teller, found) if found else None


def _is_so(explorer: Explorer, node: Node, kind: int, unless: int) -> bool:
    return not explorer.chart.decode(kind, node.place, node.code).facts & unless


def check_reached(explorer: Explorer, seen: Seen) -> Iterator[Finding]:
    """Yield the steps that are never asked for, and the mishaps that can never be told."""
    for step in (*explorer.procedure.steps, *explorer.procedure.responses):
        if step.id not in seen.steps:
            says = words.PROOF_UNREACHED.format(title=step.title, id=step.id)
            yield Finding("unreachable-step", says, step.where)
    for mishap in explorer.procedure.mishaps:
        if ("told", mishap.id, "") not in seen.done:
            says = words.PROOF_UNTOLD.format(title=mishap.title)
            yield Finding("never-told", says, mishap.where)


def check_values(explorer: Explorer, seen: Seen) -> Iterator[Finding]:
    """Yield the values of facts that nothing ever sets, and those that nothing tells apart."""
    table = explorer.family.procedure.source.table
    ever = _ever_set(explorer, seen)
    masks = tuple(_asked_for(explorer))
    for fact in table.facts:
        signs: dict[tuple[tuple[bool, bool], ...], str] = {}
        for value in fact.values:
            bit = table.bits[fact.name, value]
            if not bit & ever:
                says = words.PROOF_NEVER_SET.format(fact=fact.name, value=value)
                yield Finding("never-set", says, fact.where)
            faded = table.bits[fact.name, fact.fades.get(value, value)]
            asked = (mask for mask in masks if mask & table.masks[fact.name])
            sign = tuple((bool(bit & mask), bool(faded & mask)) for mask in asked)
            other = signs.setdefault(sign, value)
            if other != value:
                says = words.PROOF_NEVER_ASKED.format(fact=fact.name, value=value, other=other)
                yield Finding("never-asked", says, fact.where)


def _ever_set(explorer: Explorer, seen: Seen) -> int:
    procedure = explorer.procedure
    ever = 0
    for first in explorer.family.starts:
        ever |= first
    for step in (*procedure.steps, *procedure.responses):
        if step.id in seen.steps:
            for outcome in step.outcomes:
                ever |= outcome.effect.puts
    for mishap in procedure.mishaps:
        if ("told", mishap.id, "") in seen.done:
            ever |= mishap.effect.puts
    for _ in procedure.fading:
        for bit, effect in procedure.fading.items():
            if bit & ever:
                ever |= effect.puts
    return ever


def _asked_for(explorer: Explorer) -> Iterator[int]:
    """Yield every mask that anything holds the facts against."""
    procedure, source = explorer.procedure, explorer.procedure.source
    table = source.table
    yield source.given
    for step in (*procedure.steps, *procedure.responses):
        yield from (step.needs, step.only_if)
        if isinstance(step.ask, Wait):
            yield step.ask.runs_while
        if isinstance(step.ask, Within) and step.ask.since in table.bits:
            yield table.bits[step.ask.since]
    yield from (mishap.at for mishap in procedure.mishaps)
    yield from (look.unless for drawn in source.picture for look in drawn.looks)
    yield from (table.forbids(asked.left) for asked in source.circumstances)
    yield from (rule.unless for rule in explorer.watch.rules)


def check_cases(explorer: Explorer, seen: Seen) -> Iterator[Finding]:
    """Yield the rules that can never fail, since what they guard never happens."""
    for rule in explorer.watch.rules:
        if not _has_case(explorer, seen, rule):
            says = words.PROOF_NO_CASE.format(says=rule.says)
            yield Finding("rule-without-a-case", f"{rule.id}: {says}", rule.where)


def _has_case(explorer: Explorer, seen: Seen, rule: Rule) -> bool:
    kinds = explorer.family.fitting(rule.when)
    if rule.form in ("only", "always") or (rule.form == "never" and rule.after != NOTHING):
        asks = rule.form != "always" or bool(rule.unless)
        before = rule.form != "never" or bool(_kinds_of(explorer.watch, seen, rule.after) & kinds)
        return asks and before and bool(_kinds_of(explorer.watch, seen, rule.event) & kinds)
    if rule.form == "never":
        # It is kept from some order sheets: that it is done by the others shows that it could be.
        return bool(kinds) and bool(_kinds_of(explorer.watch, seen, rule.event))
    if rule.form == "ends":
        return any(
            node.kinds & kinds and _is_so(explorer, node, lowest(node.kinds & kinds), rule.unless)
            for nodes in explorer.nodes[:-1]
            for node in nodes.values()
        )
    return rule.form != "fades" or bool(rule.unless)


def _kinds_of(watch: Watch, seen: Seen, event: Event) -> int:
    found = seen.finished if event.finished else 0
    for key in watch.cases(event):
        found |= seen.done.get(key, 0)
    return found


def no_provider(explorer: Explorer, teller: Teller) -> Iterator[Finding]:
    """Yield the needs that nothing can meet, where a search came upon one and had to end."""
    named: set[tuple[str, str]] = set()
    procedure = explorer.procedure
    for node in (node for nodes in explorer.nodes for node in nodes.values()):
        if not node.kinds or node is explorer.call:
            continue
        kind = lowest(node.kinds)
        state = explorer.chart.decode(kind, node.place, node.code)
        if ended(procedure, state):
            continue
        for step, fact in unmet(procedure, state):
            if (step.id, fact) not in named:
                named.add((step.id, fact))
                yield lacking(step, fact, teller.told(teller.run(kind, node)))
