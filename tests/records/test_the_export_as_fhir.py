"""A FHIR Bundle holds the whole record, is right in both releases, and can be read back."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from fhir.resources.bundle import Bundle as BundleR5
from fhir.resources.R4B.bundle import Bundle as BundleR4B

from coach.errors import CoachError
from coach.orders.quantities import Quantity
from coach.orders.read import read_sheet
from coach.records.export.fhir import Step, bundle_of
from coach.records.export.fhir_read import read_bundle
from coach.records.export.terms import R4B, R5, RELEASES
from coach.records.model import (
    STATUSES,
    CallMade,
    Changed,
    DoseRecord,
    Look,
    Note,
    Push,
    Span,
    Told,
    Typed,
    Why,
)
from tests.person import DAILY

START = datetime(2024, 1, 1, tzinfo=UTC)
VALUE_SETS = {
    ("MedicationAdministration", "status"): set(STATUSES),  # medication-admin-status
    ("MedicationRequest", "status"): {"active", "on-hold", "ended", "stopped", "unknown"},
    ("MedicationRequest", "intent"): {"order", "original-order"},  # medicationrequest-intent
    ("Procedure", "status"): {"completed", "not-done", "stopped", "unknown"},  # event-status
    ("Communication", "status"): {"completed", "not-done", "stopped", "unknown"},  # event-status
    ("Observation", "status"): {"registered", "preliminary", "final"},  # observation-status
    ("PlanDefinition", "status"): {"draft", "active", "retired", "unknown"},  # publication-status
    ("Bundle", "type"): {"document", "collection"},  # bundle-type
}
"""Codes of the standard by field, as far as they can come up. From memory of R5 and R4B."""


class Dice:
    """Random parts of a record, the same for the same seed."""

    def __init__(self, seed: int) -> None:
        self.of = random.Random(seed)

    def at(self) -> datetime:
        return START + timedelta(
            seconds=self.of.randrange(10**8), microseconds=self.of.randrange(9)
        )

    def text(self) -> str:
        return self.of.choice(("A", "Æ ø", '"<&>', "=1+1", "two\nlines", "夜"))

    def maybe(self) -> str:
        return self.of.choice(("", self.text()))

    def yes(self) -> bool:
        return self.of.random() < 0.5

    def amount(self, unit: str) -> Quantity:
        return Quantity(Decimal(self.of.randrange(10**6)).scaleb(-self.of.randrange(5)), unit)

    def some(self, make: Any) -> tuple[Any, ...]:
        return tuple(make() for _ in range(self.of.randrange(3)))

    def left(self) -> str:
        return self.of.choice(("", "0", "7.50"))

    def span(self) -> Span:
        since = self.at()
        return Span(since, since + timedelta(minutes=9) if self.yes() else None)

    def parts(self) -> dict[str, Any]:
        at, text, maybe, yes = self.at, self.text, self.maybe, self.yes
        return {
            "pushes": self.some(
                lambda: Push(at(), "lock", self.amount("mL"), self.amount("units"))
            ),
            "looks": self.some(lambda: Look(at(), "a", text(), text(), yes(), "site")),
            "typed": self.some(lambda: Typed(at(), "b", text(), text(), yes(), self.left(), at())),
            "told": self.some(lambda: Told(at(), "trouble", "c", text(), (text(), text()))),
            "calls": self.some(
                lambda: CallMade(at(), "d", text(), "nurse", text(), yes(), maybe(), maybe(), yes())
            ),
            "notes": self.some(lambda: Note(at(), text())),
            "reasons": self.some(lambda: Why(at(), "late", text(), maybe())),
            "corrections": self.some(
                lambda: Changed(at(), "status", maybe(), text(), maybe(), text())
            ),
        }

    def record(self, number: int) -> DoseRecord:
        return DoseRecord(
            id=f"sheet.{number}",
            sitting=number,
            sheet="sheet",
            sheet_hash=self.of.choice(("", "ab" * 32)),
            chain=self.of.choice(("", "cd" * 32)),
            person="R. V.",
            status=self.of.choice(STATUSES),
            medicine=self.text(),
            dose=self.amount("mg"),
            strength=self.amount("mg/mL"),
            volume=self.amount("mL"),
            rate=self.amount("mL/h"),
            due=self.at(),
            window=self.span(),
            begun=self.at() if self.yes() else None,
            flow=self.span() if self.yes() else None,
            pauses=self.some(self.span),
            ended=self.at() if self.yes() else None,
            given=self.amount("mL") if self.yes() else None,
            left=self.amount("mL") if self.yes() else None,
            lot=self.maybe(),
            discard=self.at() if self.yes() else None,
            gave=self.maybe(),
            pressed=self.maybe(),
            from_paper=self.yes(),
            **self.parts(),
        )


def written(number: int, release: str) -> tuple[list[DoseRecord], bytes]:
    """Return random records, and the Bundle of them."""
    dice = Dice(7)
    records = [dice.record(n) for n in range(number)]
    steps = (Step("Wash", "Wash your hands."),)
    return records, bundle_of(records, read_sheet(DAILY), steps, release)


def inside(node: Any, kind: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every object with the kind of resource that it is in."""
    if isinstance(node, dict):
        kind = node.get("resourceType", kind)
        yield kind, node
    for below in (
        node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    ):
        yield from inside(below, kind)


@pytest.mark.parametrize("release", RELEASES)
def test_a_thousand_random_doses_are_read_back_as_they_were(release: str) -> None:
    records, raw = written(1000, release)
    assert list(read_bundle(raw)) == records


@pytest.mark.parametrize(("release", "model"), [(R5, BundleR5), (R4B, BundleR4B)])
def test_a_reference_library_takes_it(release: str, model: Any) -> None:
    _, raw = written(40, release)
    read = model.model_validate_json(raw)
    kinds = {one.resource.get_resource_type() for one in read.entry}
    assert kinds == {
        *("Patient", "Device", "PlanDefinition", "MedicationRequest", "Procedure", "Observation"),
        *("MedicationAdministration", "Communication", "Provenance"),
    }


@pytest.mark.parametrize("release", RELEASES)
def test_it_keeps_what_the_library_does_not_check(release: str) -> None:
    whole = json.loads(written(200, release)[1])
    names = [one["fullUrl"] for one in whole["entry"]]
    assert len(names) == len(set(names))
    checked = set()
    for kind, one in inside(whole):
        if isinstance(one.get("reference"), str):
            assert one["reference"] in names
        if "start" in one and "end" in one:
            assert one["start"] <= one["end"]
        if "dosage" in one:  # mad-1: a dosage has a dose or a rate
            assert "dose" in one["dosage"] or "rateQuantity" in one["dosage"]
        for field in ("status", "intent", "type") if "resourceType" in one else ():
            if field in one:
                assert one[field] in VALUE_SETS[kind, field]
                checked.add((kind, field))
    assert checked == set(VALUE_SETS)


def test_the_same_records_make_the_same_bytes() -> None:
    assert written(5, R5)[1] == written(5, R5)[1]


@pytest.mark.parametrize("raw", [b"", b"[]", b'{"entry": [{}]}', b'{"entry": 1}'])
def test_another_file_is_refused(raw: bytes) -> None:
    with pytest.raises(CoachError, match="no export of the coach"):
        read_bundle(raw)
