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
from msgspec.structs import replace

from coach.errors import CoachError
from coach.orders.quantities import Quantity
from coach.records.export.fhir import Beside, Condition, Step, bundle_of
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
from coach.says import export as words

START = datetime(2024, 1, 1, tzinfo=UTC)
BESIDE = Beside(
    sheet="sheet",
    title="A dose",
    steps=(
        Step("Wash", "Wash your hands."),
        Step("Scrub", "Scrub the tip.", (Condition("Now:", "tip is wet"),)),
    ),
    pumps={"ab" * 32: "demo"},
    invented=True,
)


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
            left_when_done=self.amount("mL"),
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
    return records, bundle_of(records, BESIDE, release)


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
    seen = set()
    for _, one in inside(whole):
        if isinstance(one.get("reference"), str):
            seen.add("reference")
            assert one["reference"] in names
        if "start" in one and "end" in one:
            seen.add("period")
            assert datetime.fromisoformat(one["start"]) <= datetime.fromisoformat(one["end"])
        if one.get("resourceType") == "MedicationAdministration":
            seen.add("dosage")  # mad-1: a dosage has a dose or a rate
            assert "dose" in one["dosage"] or "rateQuantity" in one["dosage"]
    assert seen == {"reference", "period", "dosage"}


def doses_in(raw: bytes) -> list[dict[str, Any]]:
    """Return the doses of a Bundle."""
    rows = [one["resource"] for one in json.loads(raw)["entry"]]
    return [one for one in rows if one["resourceType"] == "MedicationAdministration"]


@pytest.mark.parametrize("release", RELEASES)
@pytest.mark.parametrize("status", STATUSES)
def test_a_dose_stands_as_the_standard_calls_it(status: str, release: str) -> None:
    why = (Why(START, "late", "Slept.", ""), Why(START, "not-done", "The power was out.", "R. V."))
    told = replace(Dice(7).record(1), status=status, reasons=why, calls=())
    [dose] = doses_in(bundle_of([told], BESIDE, release))
    assert dose["status"] == status
    reasons = [one["text"] for one in dose.get("statusReason", ())]
    assert reasons == (["The power was out."] if status in ("not-done", "stopped") else [])


def test_a_dose_that_was_never_begun_says_when_it_was_due_and_that_nobody_told_why() -> None:
    nothing = Quantity(Decimal(0), "mL")
    never = replace(Dice(7).record(1), status="not-done", flow=None, given=nothing)
    never = replace(never, reasons=(), calls=())
    [dose] = doses_in(bundle_of([never], BESIDE))
    assert datetime.fromisoformat(dose["occurenceDateTime"]) == never.due
    assert dose["statusReason"] == [{"text": words.NO_REASON}]
    assert dose["dosage"]["dose"]["value"] == 0
    stop = CallMade(START, "d", "The bag leaks", "nurse", "I called.", True, "", "", False)
    [dose] = doses_in(bundle_of([replace(never, calls=(stop,))], BESIDE))
    assert dose["statusReason"] == [{"text": "The bag leaks"}]


@pytest.mark.parametrize("release", RELEASES)
def test_all_of_a_dose_that_was_entered_in_error_is_so(release: str) -> None:
    wrong = replace(Dice(7).record(1), status="entered-in-error")
    whole = [one["resource"] for one in json.loads(bundle_of([wrong], BESIDE, release))["entry"]]
    of_dose = [one for one in whole if "partOf" in one]
    assert {one["resourceType"] for one in of_dose} >= {"Observation", "Communication"}
    assert {one["status"] for one in of_dose} == {"entered-in-error"}


def test_a_call_that_nobody_has_answered_is_not_said_to_be_made() -> None:
    waits = CallMade(START, "d", "Air in the line", "nurse", "", False, "", "", False)
    made = replace(waits, says="I called the nurse.")
    raw = bundle_of([replace(Dice(7).record(1), status="on-hold", calls=(waits, made))], BESIDE)
    rows = [one["resource"] for one in json.loads(raw)["entry"]]
    assert [one["status"] for one in rows if one["resourceType"] == "Communication"] == [
        "unknown",
        "completed",
    ]


def test_the_steps_stand_in_their_order_and_a_pump_only_where_it_is_known() -> None:
    known = replace(Dice(7).record(1), sheet_hash="ab" * 32, flow=Span(START, None))
    unknown = replace(known, id="sheet.2", sheet_hash="ef" * 32)
    whole = [one["resource"] for one in json.loads(bundle_of([known, unknown], BESIDE))["entry"]]
    [plan] = [one for one in whole if one["resourceType"] == "PlanDefinition"]
    assert plan["action"] == [
        {"title": "Wash", "description": "Wash your hands."},
        {
            "title": "Scrub",
            "description": "Scrub the tip.",
            "condition": [
                {
                    "kind": "applicability",
                    "expression": {
                        "description": "Now:",
                        "language": "text/plain",
                        "expression": "tip is wet",
                    },
                }
            ],
        },
    ]
    doses = [one for one in whole if one["resourceType"] == "MedicationAdministration"]
    assert ["device" in one for one in doses] == [True, False]


def test_what_is_invented_is_labelled_as_test_data() -> None:
    assert json.loads(bundle_of([], BESIDE))["meta"]["security"][0]["code"] == "HTEST"
    assert "meta" not in json.loads(bundle_of([], replace(BESIDE, invented=False)))


def test_the_same_records_make_the_same_bytes() -> None:
    assert written(5, R5)[1] == written(5, R5)[1]


@pytest.mark.parametrize("raw", [b"", b"[]", b'{"entry": [{}]}', b'{"entry": 1}'])
def test_another_file_is_refused(raw: bytes) -> None:
    with pytest.raises(CoachError, match="no export of the coach"):
        read_bundle(raw)
