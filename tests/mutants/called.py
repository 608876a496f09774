"""Which card or response the shipped procedures give to each trouble, at some moments of a dose.

Owns the list. The rules of the proof speak of what is done, not of which card is shown, so they
cannot see one card in the place of another.
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
from coach.procedure.model import Mishap, Procedure, Source

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
    "tubing off": "saline-after-pad",
}
"""The moments, and the step that comes next in each."""
ALWAYS = {
    "danger": "danger-stop", "reaction": "reaction-stop", "very-ill": "very-ill-stop",
    "line-broken": "broken-stop", "blood-seen": "blood-stop", "joint-leaks": "leaks-stop",
    "line-out": "line-out-stop", "pump-air": "air-stop", "resistance": "look-at-clamps",
    "pump-blocked": "blocked-pause", "pump-low": "low-battery", "pump-empty": "ran-out-stop",
    "pump-warning": "warning-stop", "fever": "fever-stop", "unwell": "unwell-stop",
    "site-bad": "site-stop", "supply-missing": "missing-stop", "pump-bad": "pump-bad-stop",
    "bag-leaks": "bad-bag-stop", "bag-cloudy": "bad-bag-stop",
}  # fmt: skip
"""What follows each trouble, at any moment at which it can be told."""
BUT: Mapping[str, Mapping[str, str]] = {
    "fever": {"running": "fever-running-stop", "over": "fever-running-stop"},
    "unwell": {"running": "unwell-running-stop", "over": "unwell-running-stop"},
    "site-bad": {
        "running": "site-running-stop", "over": "site-running-stop",
        "tubing off": "site-after-stop",
    },
    "supply-missing": {"running": "missing-running-stop", "over": "missing-running-stop"},
    "pump-bad": {"tubing joined": "pump-bad-joined-stop"},
    "bag-leaks": {"nothing joined": "bad-bag-closed-stop", "running": "bad-bag-running-stop"},
    "bag-cloudy": {"nothing joined": "bad-bag-closed-stop", "running": "bad-bag-running-stop"},
}  # fmt: skip
"""What follows it at some moments instead."""


def answered_otherwise(source: Source) -> Iterator[str]:
    """Yield the troubles of *source* that are answered by another response than they should be."""
    procedure = compose(source, SHEET)
    for moment, state in _moments(procedure):
        for mishap in possible(procedure, state):
            wanted = BUT.get(mishap.id, {}).get(moment, ALWAYS.get(mishap.id))
            if wanted is not None and _answer(procedure, state, mishap) != wanted:
                yield mishap.id


def _answer(procedure: Procedure, state: State, mishap: Mishap) -> str:
    found = response_to_do(procedure, after_mishap(procedure, state, mishap).facts)
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
