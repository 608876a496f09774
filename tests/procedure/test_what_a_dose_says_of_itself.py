"""The fields that hold for a whole dose, and the time that is held against a limit."""

from __future__ import annotations

import pytest

from tests.procedure.bundles import only
from tests.procedure.shipped import SOURCE

DOSE, START = "dose.yaml", "parts/start.yaml"
SINCE = "since: {bag: warming}"


def test_the_shipped_dose_says_what_went_in_and_where_the_person_is() -> None:
    assert SOURCE.so_far == (
        "No medicine has gone in yet.",
        "By the clock {given} of {volume} went in.",
        "By the pump {given} of {volume} went in.",
    )
    assert SOURCE.where == ("I am at {address}.", "Say where you are.")


@pytest.mark.parametrize(
    ("old", "new", "row"),
    [
        (
            "  none: No medicine has gone in yet.\n",
            "",
            "field so_far.none: expected this field; found nothing.",
        ),
        (
            "  known: I am at {address}.",
            "  known: I am at {adress}.",
            "field where.known: expected a known placeholder; found {adress}. "
            'Did you mean "address"?',
        ),
        (
            "given: {infusion: {not: not-begun}}",
            "given: {infusion: {not: begun}}",
            "field given.infusion.not: expected one of not-begun, flowing, ended, stopped-early; "
            'found "begun". Did you mean "not-begun"?',
        ),
    ],
)
def test_a_wrong_field_of_the_dose_is_refused_at_its_line(old: str, new: str, row: str) -> None:
    at = new.strip() or "some: By the clock"
    assert only((DOSE, old, new), at=at) == row


@pytest.mark.parametrize(
    ("old", "new", "row"),
    [
        (
            SINCE,
            "since: bag",
            "field steps[1].within.since: "
            "expected due, or one fact with the value that it was set to; "
            'found "bag".',
        ),
        (
            SINCE,
            "since: {bag: warming, pump: paused}",
            "field steps[1].within.since: "
            "expected due, or one fact with the value that it was set to; "
            "found a group of fields.",
        ),
        (
            SINCE,
            "since: {bag: melting}",
            "field steps[1].within.since.bag: "
            "expected one of cold, warming, warm, out-too-long; "
            'found "melting".',
        ),
        (
            "time: out_at_most",
            "time: out_at_least",
            "field steps[1].within.time: expected one of batteries_every, dry_time, "
            "infusion_time, out_at_most, rub_time, scrub_time, tubing_hours, warm_up, wash_time, "
            'window; found "out_at_least". Did you mean "out_at_most"?',
        ),
        (
            ", late: {bag: out-too-long}",
            "",
            "field steps[1].within.late: expected this field; found nothing.",
        ),
    ],
)
def test_a_wrong_limit_of_time_is_refused_at_its_line(old: str, new: str, row: str) -> None:
    assert only((START, old, new), at="within:") == row
