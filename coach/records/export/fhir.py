"""Dose records as a FHIR Bundle, for R5 or R4B.

Owns where each part of a record stands in the standard. It must never look anything up: what it
writes comes from the records and the order sheet alone.

Source: HL7 FHIR R5 (5.0.0) and R4B (4.3.0).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from coach.records.export.parts import parts_of
from coach.records.export.terms import (
    R5,
    Json,
    at,
    filled,
    quantity,
    resource,
    told,
    url_of,
)
from coach.records.model import DoseRecord, Span
from coach.says import export as words

_TEST_DATA = {
    "system": "http://terminology.hl7.org/CodeSystem/v3-ActReason",
    "code": "HTEST",
    "display": "test health data",
}
"""The label of what is invented. Source: FHIR R5 and R4B, security labels, test data."""


class Condition(msgspec.Struct, frozen=True):
    """A condition for a step to be done at all, in words."""

    of: str
    """What it is about."""
    says: str


class Step(msgspec.Struct, frozen=True):
    """A step of the procedure: its title, what is to be done, and on which conditions."""

    title: str
    do: str
    conditions: tuple[Condition, ...] = ()
    """All of them must hold."""


class Beside(msgspec.Struct, frozen=True):
    """What stands beside the records."""

    sheet: str
    """Names the order sheet across its changes."""
    title: str
    """Of the procedure."""
    steps: tuple[Step, ...]
    """What the procedure asks for by that sheet, in order."""
    pumps: Mapping[str, str]
    """The name of the pump card of each order sheet, by its SHA-256 in hex, as far as known."""
    invented: bool
    """Whether all of it is a demonstration."""


def bundle_of(records: Sequence[DoseRecord], beside: Beside, release: str = R5) -> bytes:
    """Return *records* and what is *beside* them as a FHIR Bundle in JSON.

    *release* is one of `RELEASES`.
    """
    plan = url_of("plan", beside.sheet)
    entries: dict[str, Json] = {plan: _plan(plan, beside)}
    for name in beside.pumps.values():
        entries[_pump_url(name)] = _pump(name, release)
    for record in records:
        person, order = url_of("person", record.person), _order_url(record)
        entries[person] = resource("Patient", person, name=[{"text": record.person}])
        if order not in entries:
            entries[order] = _order(record, order, person, release)
        dose = url_of("dose", record.id)
        pump = beside.pumps.get(record.sheet_hash, "") if record.flow else ""
        entries[dose] = _dose(record, dose, pump, release)
        entries.update(parts_of(record, dose, person, release))
    rows = [{"fullUrl": url, "resource": one} for url, one in entries.items()]
    meta = {"meta": {"security": [_TEST_DATA]}} if beside.invented else {}
    whole = {"resourceType": "Bundle", **meta, "type": "collection", "entry": rows}
    return msgspec.json.Encoder(decimal_format="number").encode(whole)


def _order_url(record: DoseRecord) -> str:
    amounts = (record.dose, record.strength, record.volume)
    numbers = (*amounts, record.rate, record.left_when_done)
    written = [f"{one.amount.normalize()} {one.unit}" for one in numbers]
    return url_of("order", record.sheet, record.sheet_hash, record.medicine, *written)


def _pump_url(name: str) -> str:
    return url_of("pump", name)


def _pump(name: str, release: str) -> Json:
    kind = {"type": "user-friendly-name"}  # value set device-nametype, in both releases
    if release == R5:
        return resource("Device", _pump_url(name), name=[{"value": name, **kind}])
    return resource("Device", _pump_url(name), deviceName=[{"name": name, **kind}])


def _plan(url: str, beside: Beside) -> Json:
    actions = [
        filled(
            title=one.title,
            description=one.do,
            condition=[_condition(each) for each in one.conditions],
        )
        for one in beside.steps
    ]
    return resource("PlanDefinition", url, title=beside.title, status="active", action=actions)


def _condition(one: Condition) -> Json:
    """Return *one* as it is said, for people: R4B asks for the language of each expression."""
    expression = {"description": one.of, "language": "text/plain", "expression": one.says}
    return {"kind": "applicability", "expression": expression}  # value set action-condition-kind


def medicine(name: str, release: str) -> Json:
    """Return the field that names the medicine."""
    if release == R5:
        return {"medication": {"concept": {"text": name}}}
    return {"medicationCodeableConcept": {"text": name}}


def _order(record: DoseRecord, url: str, person: str, release: str) -> Json:
    how = {
        "doseAndRate": [
            {"doseQuantity": quantity(record.dose), "rateQuantity": quantity(record.rate)}
        ]
    }
    return resource(
        "MedicationRequest",
        url,
        extension=[
            *told("sheet", record.sheet),
            *told("sheet-hash", record.sheet_hash),
            *told("strength", quantity(record.strength), "Quantity"),
            *told("volume", quantity(record.volume), "Quantity"),
            *told("left-when-done", quantity(record.left_when_done), "Quantity"),
        ],
        status="unknown",  # whether an order still holds is the agency's to say
        intent="order",
        subject={"reference": person},
        dosageInstruction=[how],
        **medicine(record.medicine, release),
    )


def _dose(record: DoseRecord, url: str, pump: str, release: str) -> Json:
    used = {"reference": _pump_url(pump)}
    order = {"reference": _order_url(record)}
    when = "occurence" if release == R5 else "effective"  # R5 spells it with one r
    period = (
        {f"{when}Period": span(record.flow)} if record.flow else {f"{when}DateTime": at(record.due)}
    )
    rate = {"rateQuantity": quantity(record.rate)} if record.flow or not record.given else {}
    return resource(
        "MedicationAdministration",
        url,
        extension=list(_beside(record)),
        identifier=[{"value": record.id}],
        status=record.status,
        statusReason=list(_why_not(record)),
        subject={"reference": url_of("person", record.person), "display": record.person},
        performer=list(_people(record, release)),
        request=order,
        device=[{"reference": used} if release == R5 else used] if pump else [],
        note=list(_notes(record)),
        dosage={**filled(dose=quantity(record.given)), **rate},
        **period,
        **medicine(record.medicine, release),
    )


def span(of: Span) -> Json:
    """Return *of* as a FHIR Period."""
    return filled(start=at(of.since), end=at(of.until))


def _beside(record: DoseRecord) -> Iterator[Json]:
    yield from told("sitting", record.sitting, "Integer")
    yield from told("chain", record.chain)
    yield from told("due", at(record.due), "DateTime")
    yield from told("window", span(record.window), "Period")
    yield from told("begun", at(record.begun), "DateTime")
    yield from told("ended", at(record.ended), "DateTime")
    for pause in record.pauses:
        yield from told("paused", span(pause), "Period")
    yield from told("left", quantity(record.left), "Quantity")
    yield from told("lot", record.lot)
    yield from told("discard", at(record.discard), "DateTime")
    yield from told("from-paper", record.from_paper, "Boolean")


def _why_not(record: DoseRecord) -> Iterator[Json]:
    """Yield why a dose was not given, or not to its end: what was written down, or the call."""
    if record.status not in ("not-done", "stopped"):
        return
    found = [why.words for why in record.reasons if why.kind == "not-done"]
    found += [call.title for call in record.calls if call.ended]
    found += [one.why for one in record.corrections if one.field == "given"]
    yield from ({"text": text} for text in found or [words.NO_REASON])


def _people(record: DoseRecord, release: str) -> Iterator[Json]:
    for what, who in (("gave", record.gave), ("pressed", record.pressed)):
        if who:
            actor = {"display": who}
            yield {
                "function": {"text": what},
                "actor": {"reference": actor} if release == R5 else actor,
            }


def _notes(record: DoseRecord) -> Iterator[Json]:
    for note in record.notes:
        yield {"time": at(note.at), "text": note.words}
    for why in record.reasons:
        yield {
            "extension": told("reason", why.kind),
            **filled(authorString=why.who),
            "time": at(why.at),
            "text": why.words,
        }
