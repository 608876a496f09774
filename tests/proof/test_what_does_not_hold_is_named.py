"""A fault in how a procedure is built is named for what it is."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from coach.procedure.files import bundle_of
from coach.procedure.model import Stop
from coach.procedure.read import read_source
from coach.proof.family import kinds_of
from coach.proof.finding import Finding
from coach.proof.prove import check
from coach.says import proof as words
from tests.proof.small import Change, checked, written

REST = """responses:
  - id: rest
    as_soon_as: {body: ill}
    title: Rest a while
    do: Rest a while.
    why: It may pass.
    sets: {hands: unclean}
"""
NEVER = """responses:
  - id: never
    as_soon_as: {body: well, joined: syringe, connector: ready}
    title: Take it off
    do: Take it off.
    why: It is not needed.
    sets: {joined: nothing}
"""


NEVER_SO = "as_soon_as: {body: ill, joined: syringe, connector: ready}"
"""The connector is never clean while something is on it."""


def found(folder: Path, *changes: Change) -> dict[str, Finding]:
    """Return what is found in the small procedure with each change made, by name."""
    return {finding.name: finding for finding in checked(folder, *changes).findings}


def test_the_small_procedure_holds_as_it_is(tmp_path: Path) -> None:
    report = checked(tmp_path)
    assert report.findings == ()
    assert (report.kinds, report.proved) == (2, 5)
    assert report.elsewhere == (("No dose is given twice.", "the journal"),)


def test_a_step_that_is_never_asked_for_is_named_with_its_line(tmp_path: Path) -> None:
    named = found(tmp_path, ("responses:\n", NEVER))
    assert set(named) == {"unreachable-step"}
    lines = (tmp_path / "parts/all.yaml").read_text(encoding="utf-8").splitlines()
    where = named["unreachable-step"].where
    assert where is not None
    assert lines[where.line - 1] == "  - id: never"


def test_a_detour_without_end_is_named_with_the_way_into_it(tmp_path: Path) -> None:
    named = found(tmp_path, ("responses:\n", REST))
    assert named["endless-detour"].says == words.PROOF_ENDLESS.format(step="Rest a while")
    assert named["endless-detour"].story == ("You say: I feel ill.", words.STORY_ENDLESS)
    assert named["an-end-can-be-reached"].says == "From every state an end can be reached."


def test_an_emergency_is_no_way_out_of_a_detour(tmp_path: Path) -> None:
    # From everywhere somebody could fall ill and be saved by that: it must not hide the detour.
    assert "endless-detour" in found(tmp_path, ("responses:\n", REST))


def test_steps_that_undo_each_other_are_an_endless_detour(tmp_path: Path) -> None:
    named = found(
        tmp_path,
        ("sets: {connector: ready}", "sets: {connector: ready, hands: unclean}"),
        ("needs: {connector: ready}", "needs: {connector: ready, hands: clean}"),
        ("sets: {hands: clean}", "sets: {hands: clean, connector: unclean}"),
    )
    assert named["endless-detour"].says == words.PROOF_ROUND.format(step="Wash your hands")


def test_a_trouble_that_nothing_follows_is_a_trouble_without_a_stop(tmp_path: Path) -> None:
    named = found(tmp_path, ("as_soon_as: {body: ill}", NEVER_SO))
    trouble = named["trouble-without-a-stop"]
    assert trouble.says == words.PROOF_UNANSWERED.format(title="I feel ill")
    assert trouble.story == ("You say: I feel ill.", words.STORY_UNANSWERED)


def test_a_rule_that_can_never_fail_has_no_case(tmp_path: Path) -> None:
    named = found(tmp_path, ("only: {step: join}", "only: {step: never}"), ("responses:\n", NEVER))
    assert named["rule-without-a-case"].says.startswith("scrubbed-before-joining: ")


def test_a_rule_about_facts_that_asks_for_none_has_no_case(tmp_path: Path) -> None:
    named = found(tmp_path, ("    facts: {hands: clean}\n", ""))
    assert named["rule-without-a-case"].says.startswith("clean-when-scrubbed: ")


def test_a_value_that_nothing_sets_is_named(tmp_path: Path) -> None:
    named = found(tmp_path, ("[well, ill, in-danger]", "[well, ill, in-danger, odd]"))
    assert named["never-set"].says == words.PROOF_NEVER_SET.format(fact="body", value="odd")


def test_a_value_that_nothing_asks_about_is_named(tmp_path: Path) -> None:
    named = found(
        tmp_path,
        ("values: [unclean, ready]", "values: [unclean, ready, in-use]"),
        ("joined: syringe, connector: unclean}", "joined: syringe, connector: in-use}"),
    )
    says = words.PROOF_NEVER_ASKED.format(fact="connector", value="in-use", other="unclean")
    assert named["never-asked"].says == says


def test_a_mishap_that_can_never_be_told_is_named(tmp_path: Path) -> None:
    named = found(tmp_path, ("at: {body: well}", "at: {joined: syringe, connector: ready}"))
    assert named["never-told"].says == words.PROOF_UNTOLD.format(title="I feel ill")


def test_a_need_that_only_a_mishap_takes_away_for_good_is_named(tmp_path: Path) -> None:
    named = found(
        tmp_path,
        ("needs: {connector: ready}", "needs: {connector: ready, clamp: shut}"),
        ("at: {connector: ready}\n    sets: {connector: unclean}",
         "at: {connector: ready}\n    sets: {clamp: open}"),
    )  # fmt: skip
    says = words.PROOF_NO_PROVIDER.format(title="Join the syringe", fact="clamp")
    assert named["no-provider"].says == says
    assert named["no-provider"].story[-1] == "You say: The connector touched something."


def test_a_need_that_one_kind_of_sheet_never_meets_is_named(tmp_path: Path) -> None:
    named = found(
        tmp_path,
        ("    sets: {clamp: open}\n", "    if: {clamp: open}\n    sets: {clamp: open}\n"),
    )
    says = words.PROOF_NO_PROVIDER.format(title="Look at the clamp", fact="clamp")
    assert named["no-provider"].says == says


def test_an_emergency_that_is_not_always_heard_is_named(tmp_path: Path) -> None:
    assert "emergency-not-heard" in found(tmp_path, ("at: {}, sets", "at: {joined: nothing}, sets"))


def test_a_procedure_with_no_emergency_is_named(tmp_path: Path) -> None:
    named = found(tmp_path, ("final: yes}", "final: no}"))
    assert named["emergency-not-heard"].says == words.PROOF_NO_EMERGENCY


def test_a_procedure_without_rules_does_not_count_as_proved(tmp_path: Path) -> None:
    written(tmp_path)
    source = read_source(bundle_of(tmp_path))
    assert [f.name for f in check(source, (), kinds_of(source)).findings] == ["no-rules"]


def test_a_stop_that_says_nothing_of_what_to_close_is_silent(tmp_path: Path) -> None:
    written(tmp_path)
    source = read_source(bundle_of(tmp_path))
    responses = tuple(
        msgspec.structs.replace(step, ask=msgspec.structs.replace(step.ask, close=""))
        if isinstance(step.ask, Stop)
        else step
        for step in source.responses
    )
    silent = msgspec.structs.replace(source, responses=responses)
    names = [f.name for f in check(silent, (), kinds_of(source)).findings]
    assert names.count("silent-stop") == 2


@pytest.mark.parametrize(
    ("change", "name"),
    [
        (("    hold: scrub_time", "    hold: wash_time"), "scrubs-are-timed"),
        ((", fades: {clean: unclean}", ""), "hands-fade"),
        (("{hands: clean, joined: nothing}", "{joined: nothing}"), "clean-when-scrubbed"),
        (("needs: {connector: ready}\n", "needs: {hands: clean}\n"), "scrubbed-before-joining"),
    ],
)  # fmt: skip
def test_a_fault_is_rejected_by_the_name_of_its_rule(
    tmp_path: Path, change: Change, name: str
) -> None:
    assert name in found(tmp_path, change)
