"""Which card or response the shipped procedures give to each trouble, at some moments of a dose.

Owns the list, and that of what follows each answer where the pump is looked into or read. The rules
of the proof speak of what is done, not of which card is shown, so they cannot see one card in the
place of another.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coach.engine import (
    State,
    after_mishap,
    after_outcome,
    ended,
    possible,
    response_to_do,
    start,
    step_to_do,
)
from coach.errors import EngineError
from coach.procedure.compose import compose
from coach.procedure.model import Procedure, Source

SHEET = {
    "batteries": "not-due", "clamp": "present", "connector": "negative", "heparin": "ordered",
    "last": "finished", "reuse": "not-allowed", "storage": "refrigerator", "tubing": "new",
}  # fmt: skip
MOMENTS = {
    "nothing joined": "open-port",
    "syringe joined": "saline-before-push",
    "tubing joined": "start-pump",
    "running": "infuse",
    "over": "stop-pump",
    "read off": "read-left",
    "tubing off": "saline-after-pad",
}
"""The moments, and the step that comes next in each."""
ALWAYS = {
    "danger": "danger-stop", "reaction": "reaction-stop", "very-ill": "very-ill-stop",
    "line-broken": "broken-stop", "blood-seen": "blood-stop", "joint-leaks": "leaks-stop",
    "line-out": "line-out-stop", "pump-air": "air-stop", "resistance": "look-at-clamps",
    "pump-blocked": "blocked-pause", "pump-low": "low-battery", "pump-empty": "ran-out-stop",
    "pump-beeps": "beeps-body", "pump-warning": "warning-stop", "fever": "fever-stop",
    "unwell": "unwell-stop",
    "site-bad": "site-stop", "supply-missing": "missing-stop", "pump-bad": "pump-bad-stop",
    "bag-leaks": "bad-bag-stop", "bag-cloudy": "bad-bag-stop",
}  # fmt: skip
"""What follows each trouble, at any moment at which it can be told."""
BUT: Mapping[str, Mapping[str, str]] = {
    "fever": {
        "running": "fever-running-stop", "read off": "fever-running-stop",
        "over": "fever-running-stop",
    },
    "unwell": {
        "running": "unwell-running-stop", "read off": "unwell-running-stop",
        "over": "unwell-running-stop",
    },
    "site-bad": {
        "running": "site-running-stop", "read off": "site-running-stop",
        "over": "site-running-stop", "tubing off": "site-after-stop",
    },
    "supply-missing": {
        "running": "missing-running-stop", "read off": "missing-running-stop",
        "over": "missing-running-stop",
    },
    "pump-bad": {"tubing joined": "pump-bad-joined-stop"},
    "bag-leaks": {"nothing joined": "bad-bag-closed-stop", "running": "bad-bag-running-stop"},
    "bag-cloudy": {"nothing joined": "bad-bag-closed-stop", "running": "bad-bag-running-stop"},
}  # fmt: skip
"""What follows it at some moments instead."""
ANSWERS: Mapping[str, Mapping[str, str]] = {
    "beeps-body": {"no": "beeps-screen", "yes": "danger-stop"},
    "beeps-screen": {
        "blocked": "blocked-pause", "air": "air-stop", "low": "low-battery",
        "empty": "ran-out-stop", "other": "warning-stop",
    },
    "blocked-pause": {"done": "blocked-clamps"},
    "blocked-clamps": {"yes": "", "no": "blocked-bends"},
    "blocked-bends": {"yes": "", "no": "blocked-bag"},
    "blocked-bag": {
        "yes": "", "no": "blocked-air", "empty": "ran-out-stop", "loose": "blocked-again-stop",
    },
    "blocked-air": {"no": "blocked-again-stop", "yes": "air-stop"},
    "more-left": {"yes": "", "slip": "", "no": "left-stop"},
}  # fmt: skip
"""What follows each answer where the pump is looked into or read; nothing: the list goes on."""


def answered_otherwise(source: Source) -> Iterator[str]:
    """Yield the troubles of *source* that are answered by another response than they should be."""
    procedure = compose(source, SHEET)
    for moment, state in _moments(procedure):
        for mishap in possible(procedure, state):
            wanted = BUT.get(mishap.id, {}).get(moment, ALWAYS.get(mishap.id))
            after = after_mishap(procedure, state, mishap)
            if wanted not in (None, _response(procedure, after)) or _led_elsewhere(
                procedure, after
            ):
                yield mishap.id
        step = step_to_do(procedure, state)
        for outcome in step.outcomes:
            if _led_elsewhere(procedure, after_outcome(procedure, state, step, outcome)):
                yield step.id


def _led_elsewhere(procedure: Procedure, state: State) -> bool:
    """Tell whether an answer leads to another response than it should, from *state* on."""
    waiting, seen = [state], set[State]()
    while waiting:
        state = waiting.pop()
        step = response_to_do(procedure, state.facts)
        if step is None or step.id not in ANSWERS or state in seen:
            continue
        seen.add(state)
        for outcome in step.outcomes:
            after = after_outcome(procedure, state, step, outcome)
            if _response(procedure, after) != ANSWERS[step.id].get(outcome.name):
                return True
            waiting.append(after)
    return False


def _response(procedure: Procedure, state: State) -> str:
    found = response_to_do(procedure, state.facts)
    return found.id if found is not None else ""


def _moments(procedure: Procedure) -> Iterator[tuple[str, State]]:
    """Yield each moment with its state, in a dose where all goes as hoped, as far as it goes."""
    before = {step: moment for moment, step in MOMENTS.items()}
    state, seen = start(procedure), set[State]()
    while not ended(procedure, state) and state not in seen:
        seen.add(state)
        try:
            step = step_to_do(procedure, state)
        except EngineError:
            return
        if step.id in before:
            yield before.pop(step.id), state
        state = after_outcome(procedure, state, step, step.outcomes[0])
