"""What the files alone can show: stops that say nothing, emergencies, and rules on single steps.

Owns the checks for which no state has to be visited. It must never know a step, a fact or a rule
by name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coach.procedure.compose import fits
from coach.procedure.model import Hold, Mishap, Procedure, Reading, Step, Stop, Wait, Within
from coach.proof.explore import Explorer
from coach.proof.finding import Finding
from coach.proof.rules import Rule
from coach.says import proof as words


def check_files(explorer: Explorer) -> Iterator[Finding]:
    """Yield what is wrong with the stops and emergencies, and the rules that the files break."""
    procedure = explorer.procedure
    asked = [s for s in (*procedure.steps, *procedure.responses) if _asked(explorer, s)]
    for step in asked:
        if isinstance(step.ask, Stop) and not (step.ask.leave.strip() and step.ask.close.strip()):
            says = words.PROOF_SILENT.format(title=step.title)
            yield Finding("silent-stop", says, step.where)
    yield from _emergencies(explorer, procedure)
    by_id = {step.id: step for step in asked}
    for rule in explorer.watch.rules:
        if rule.form == "fades":
            yield from _lasting(procedure, rule)
        elif rule.form in ("timed", "compared"):
            steps = (by_id[name] for name in sorted(rule.event.done) if name in by_id)
            yield from _asked_otherwise(rule, steps)


def _asked(explorer: Explorer, step: Step) -> bool:
    return any(fits(step.when, kind) for kind in explorer.family.kinds)


def _emergencies(explorer: Explorer, procedure: Procedure) -> Iterator[Finding]:
    final = [mishap for mishap in procedure.mishaps if mishap.final]
    if not final:
        yield Finding("emergency-not-heard", words.PROOF_NO_EMERGENCY)
    for mishap in final:
        if mishap.at & explorer.family.facts:
            says = words.PROOF_NOT_HEARD.format(title=mishap.title)
            yield Finding("emergency-not-heard", says, mishap.where)
        first = next((r for r in procedure.responses if _is_called(explorer, mishap, r)), None)
        if first is None or not isinstance(first.ask, Stop):
            says = words.PROOF_UNANSWERED.format(title=mishap.title)
            yield Finding("trouble-without-a-stop", says, mishap.where)


def _is_called(explorer: Explorer, mishap: Mishap, response: Step) -> bool:
    puts, facts = mishap.effect.puts, explorer.family.facts
    touched = [f for f in explorer.family.fields if f & facts and f & response.only_if]
    return bool(touched) and all(puts & f and not puts & f & response.only_if for f in touched)


def _lasting(procedure: Procedure, rule: Rule) -> Iterator[Finding]:
    table, fades = procedure.source.table, procedure.fading
    for fact in table.facts:
        for value in fact.values:
            bit = table.bits[fact.name, value]
            if bit & rule.unless and (bit not in fades or fades[bit].puts & rule.unless):
                story = (words.PROOF_LASTS.format(fact=fact.name, value=value),)
                yield Finding(rule.id, rule.says, fact.where, story=story)


def _asked_otherwise(rule: Rule, steps: Iterable[Step]) -> Iterator[Finding]:
    how, value = rule.value
    for step in steps:
        ask = step.ask
        same = (
            (how == "hold" and isinstance(ask, Hold) and ask.time == value)
            or (how == "wait" and isinstance(ask, Wait) and ask.time == value)
            or (how == "within" and isinstance(ask, Within) and ask.time == value)
            or (isinstance(ask, Reading) and ask.check == how and ask.against == (value,))
        )
        if not same:
            story = (words.PROOF_ASKED.format(title=step.title, how=how, value=value),)
            yield Finding(rule.id, rule.says, step.where, story=story)
