"""Wrong changes to the shipped procedures, each found by the rule or check that is there for it."""

from __future__ import annotations

from fnmatch import fnmatchcase
from functools import cache

import pytest

from tests.mutants.equivalent import Harmless, harmless
from tests.mutants.judge import Judge
from tests.mutants.operators import Mutant, mutants
from tests.procedure.shipped import FOLDER, SOURCE

FAULTS = (
    # Scrubbing.
    ("left-out saline-before-scrub", "no-provider"),
    ("unheld tubing-scrub", "scrubs-are-timed"),
    ("need-removed saline-before-join connector", "scrubbed-before-joining"),
    ("sent-nowhere connector-touched connector", "scrubbed-before-joining"),
    # Drying.
    ("unheld saline-after-dry", "drying-is-timed"),
    ("set-changed tubing-scrub done connector=ready", "no-provider"),
    # Comparing.
    ("left-out label-volume-type", "no-provider"),
    ("compared-otherwise set-rate-type with volume", "rates-are-compared"),
    ("compared-otherwise label-strength-type at-most", "strength-is-compared"),
    # Filling the tubing off the person.
    ("left-out look-free", "no-provider"),
    ("need-removed fill tube-clamp", "filled-as-it-should-be"),
    # Resistance.
    ("response-dropped look-at-clamps", "names-a-missing-step"),
    ("set-dropped look-at-clamps yes line-looks", "never-set"),
    # Heparin.
    ("when-dropped heparin-syringe-join heparin", "no-provider"),
    ("left-out second-heparin-type", "no-provider"),
    # Clamps.
    ("left-out line-clamp-open", "no-provider"),
    ("left-out look-both-clamps", "names-a-missing-step"),
    # Caps.
    ("left-out tighten-cap", "no-provider"),
    ("when-dropped cover-end reuse", "kept-only-if-allowed"),
    ("need-removed saline-before-join saline-before", "saline-before-joined-bare"),
    # What does not last.
    ("fade-dropped hands clean", "nothing-stays-clean-when-left"),
)


@cache
def every_fault() -> dict[str, Mutant]:
    return {mutant.id: mutant for mutant in mutants(SOURCE)}


@cache
def judge() -> Judge:
    return Judge(SOURCE, FOLDER / "rules")


@pytest.mark.parametrize(("fault", "by"), FAULTS)
def test_a_seeded_fault_is_found_by_name(fault: str, by: str) -> None:
    assert judge().verdict(every_fault()[fault]) == by


def test_each_fault_has_a_name_of_its_own() -> None:
    assert len(every_fault()) == sum(1 for _ in mutants(SOURCE))


@pytest.mark.parametrize("recorded", harmless(), ids=lambda one: one.mutants)
def test_what_is_recorded_as_harmless_is_a_fault_that_there_is(recorded: Harmless) -> None:
    assert any(fnmatchcase(name, recorded.mutants) for name in every_fault())
    assert recorded.why.endswith(".")
