"""The run in which every step ends as hoped: it has to come to its end.

Owns the check that is made before any search, for each kind of order sheet. It must never answer
a step otherwise than as hoped.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.engine import STOPPED, State, after_outcome, ended, step_to_do
from coach.errors import EngineError
from coach.procedure.model import Procedure, Step
from coach.proof.family import Family
from coach.proof.finding import Finding
from coach.says import proof as words


def check_hoped(family: Family) -> Iterator[Finding]:
    """Yield where the run of a kind goes in circles, stops, or comes to a need that nothing meets.

    One finding for each step concerned.
    """
    named: set[str] = set()
    for kind in range(len(family.kinds)):
        for finding in _run(family.procedure, family.begin(kind)):
            if finding.says not in named:
                named.add(finding.says)
                yield finding


def _run(procedure: Procedure, state: State) -> Iterator[Finding]:
    seen: set[State] = set()
    while not ended(procedure, state):
        try:
            step = step_to_do(procedure, state)
        except EngineError:
            yield from (lacking(at, fact) for at, fact in unmet(procedure, state))
            return
        if state in seen:
            says = words.PROOF_ROUND.format(step=step.title)
            yield Finding("endless-detour", says, step.where)
            return
        seen.add(state)
        state = after_outcome(procedure, state, step, step.outcomes[0])
        if state.place == STOPPED:
            yield Finding("never-finished", words.PROOF_STOPS.format(step=step.title), step.where)
            return


def unmet(procedure: Procedure, state: State) -> Iterator[tuple[Step, str]]:
    """Yield the step that the engine cannot go back from in *state*, with each fact that it lacks.

    Nothing, if the engine knows what is to be done.
    """
    try:
        step_to_do(procedure, state)
    except EngineError as error:
        said, facts, steps = str(error), state.facts, procedure.steps
    else:
        return
    for place in range(state.place + 1):
        step = steps[place]
        if step.title not in said:
            continue
        for fact, (mask, providers) in zip(step.needs_named, procedure.ways[place], strict=True):
            if facts & step.only_if or not facts & mask & step.needs:
                continue
            if all(facts & steps[provider].only_if for provider in providers):
                yield step, fact


def lacking(step: Step, fact: str, story: tuple[str, ...] = ()) -> Finding:
    """Return that nothing makes ready what *step* needs of *fact*."""
    says = words.PROOF_NO_PROVIDER.format(title=step.title, fact=fact)
    return Finding("no-provider", says, step.where, story=story)
