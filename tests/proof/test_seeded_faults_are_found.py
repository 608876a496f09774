"""Wrong changes to the shipped procedures, each found by the rule or check that is there for it."""

from __future__ import annotations

from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path

import pytest

from coach.says import proof as words
from tests.mutants.equivalent import Harmless, harmless
from tests.mutants.judge import Judge
from tests.mutants.operators import Mutant, mutants
from tests.procedure.shipped import FOLDER, SOURCE
from tests.proof.small import checked

FAULTS = (
    # Scrubbing.
    ("left-out saline-before-scrub", "no-provider"),
    ("unheld tubing-scrub", "scrubs-are-timed"),
    ("need-removed saline-before-join connector", "scrubbed-before-joining"),
    ("sent-nowhere connector-touched connector", "scrubbed-before-joining"),
    ("set-changed heparin-syringe-scrub done pad=near", "hands-looked-at-for-each-pad"),
    ("sent-elsewhere pad-dropped pad=near", "hands-looked-at-for-each-pad"),
    # Drying.
    ("unheld saline-after-dry", "drying-is-timed"),
    ("set-changed tubing-scrub done connector=ready", "no-provider"),
    ("since-changed tubing-dry pad", "times-count-otherwise"),
    # Comparing.
    ("left-out label-volume-type", "names-a-missing-step"),
    ("compared-otherwise set-rate-type with volume", "rates-are-compared"),
    ("compared-otherwise label-strength-type at-most", "strength-is-compared"),
    ("compared-otherwise read-left with heparin_volume", "left-is-compared"),
    ("compared-otherwise bag-time-again by label-strength-type", "recheck-of-what-does-not-pass"),
    ("shortened due-again to wash_time", "due-time-is-limited"),
    # Filling the tubing off the person.
    ("left-out look-free", "no-provider"),
    ("need-removed fill tube-clamp", "filled-as-it-should-be"),
    ("set-changed tighten-cap done end-seen=free", "free-end-looked-at-anew"),
    ("set-changed look-tubing no prime=not-yet", "filled-as-it-should-be"),
    ("need-removed shut-tube-clamp tubing", "shut-only-when-unclipped"),
    # Resistance.
    ("response-dropped look-at-clamps", "names-a-missing-step"),
    ("set-dropped look-at-clamps yes line-looks", "never-set"),
    ("response-dropped resists-again-stop", "names-a-missing-step"),
    ("set-changed look-again no line=retry", "pushed-once-more-only-if-all-is-open"),
    # Heparin.
    ("when-dropped heparin-syringe-join heparin", "no-provider"),
    ("left-out second-heparin-type", "names-a-missing-step"),
    ("when-dropped lay-heparin heparin", "heparin-not-even-laid-out"),
    # Clamps.
    ("left-out line-clamp-open", "names-a-missing-step"),
    ("left-out look-both-clamps", "names-a-missing-step"),
    ("left-out saline-before-shut-after", "shut-before-the-next-thing"),
    ("when-dropped line-clamp-shut connector", "not-shut-while-joined"),
    (
        "set-dropped look-before-parting no tube-clamp",
        "stopped-and-shut-anew-after-a-no-tube-clamp-shut",
    ),
    ("set-dropped look-before-parting no clamp", "line-shut-anew-after-a-no"),
    ("need-removed look-tube-clamp tube-clamp", "opened-before-they-are-looked-at"),
    # Caps.
    ("set-changed saline-after-look-air no saline-after=freed", "uncapped-once-saline-after"),
    ("left-out tighten-cap", "names-a-missing-step"),
    ("left-out look-cap", "names-a-missing-step"),
    ("when-dropped cover-end reuse", "kept-only-if-allowed"),
    ("need-removed saline-before-join saline-before", "saline-before-joined-bare"),
    # Hands.
    ("need-removed first-take-soap cleaning", "soap-only-where-there-is-some"),
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


def test_an_answer_after_which_the_same_is_asked_again_is_not_heard(tmp_path: Path) -> None:
    change = 'says: "No", sets: {clamp: shut}', 'says: "No", sets: {clamp: open}'
    named = {finding.name: finding for finding in checked(tmp_path, change).findings}
    assert named["unheard-answer"].story[-2:] == (
        "You look at the clamp. You answer: No.",
        words.STORY_UNANSWERED,
    )


def test_a_trouble_has_to_be_met_wherever_it_can_be_told(tmp_path: Path) -> None:
    change = "as_soon_as: {body: ill}", "as_soon_as: {body: ill, joined: syringe}"
    found = {finding.name for finding in checked(tmp_path, change).findings}
    assert "trouble-without-a-stop" in found
