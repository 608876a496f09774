"""What happened within a dose, as FHIR resources of their own.

Owns flushes and locks (Procedure), looks, typed numbers and troubles (Observation), calls
(Communication), corrections and the chain of events (Provenance). What belongs to a dose that was
entered in error is marked so as well. It must never look anything up.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from coach.orders.quantities import Quantity
from coach.records.book import IN_ERROR
from coach.records.export.terms import R5, URN, Json, at, filled, quantity, resource, told, url_of
from coach.records.model import CallMade, Changed, DoseRecord, Look, Push, Told, Typed

LEFT = "Left in the bag"


def parts_of(
    record: DoseRecord, dose: str, person: str, release: str
) -> Iterator[tuple[str, Json]]:
    """Yield the parts of *record*, each with its name, tied to *dose* and *person*."""
    tie = {"partOf": [{"reference": dose}], "subject": {"reference": person}}
    wrong = {"status": record.status} if record.status == IN_ERROR else {}
    groups = (
        ("push", [_push(one, release) for one in record.pushes]),
        ("look", [_look(one) for one in record.looks]),
        ("typed", [_typed(one) for one in record.typed]),
        ("told", [_told(one) for one in record.told]),
        ("call", [_call(one, release) for one in record.calls]),
    )
    for kind, rows in groups:
        for number, (name, fields) in enumerate(rows):
            url = url_of(kind, record.id, number)
            yield url, resource(name, url, **{**fields, **tie, **wrong})
    for number, changed in enumerate(record.corrections):
        url = url_of("change", record.id, number)
        yield url, resource("Provenance", url, target=[{"reference": dose}], **_changed(changed))
    if record.chain:
        url = url_of("chain", record.id)
        yield url, resource("Provenance", url, target=[{"reference": dose}], **_chain(record))


def _push(one: Push, release: str) -> tuple[str, Json]:
    when = "occurrenceDateTime" if release == R5 else "performedDateTime"
    return "Procedure", {
        "extension": [
            *told("volume", quantity(one.volume), "Quantity"),
            *told("units", quantity(one.units), "Quantity"),
        ],
        "status": "completed",
        "code": {"text": one.kind},
        when: at(one.at),
    }


def _seen(kind: str, asks: str, moment: str, says: str, extension: list[Json]) -> Json:
    return {
        "extension": [*told("kind", kind), *extension],
        "status": "final",
        "code": {"text": asks},
        "effectiveDateTime": moment,
        "valueString": says,
    }


def _look(one: Look) -> tuple[str, Json]:
    beside = [
        *told("step", one.step),
        *told("hoped", one.hoped, "Boolean"),
        *told("of", one.of),
    ]
    return "Observation", _seen("look", one.asks, at(one.at), one.says, beside)


def _typed(one: Typed) -> tuple[str, Json]:
    beside = [
        *told("step", one.step),
        *told("agreed", one.agreed, "Boolean"),
        *told("discard", at(one.discard), "DateTime"),
    ]
    seen = _seen("typed", one.asks, at(one.at), one.typed, beside)
    if one.left_mL:
        left = quantity(Quantity(Decimal(one.left_mL), "mL"))
        seen["component"] = [{"code": {"text": LEFT}, "valueQuantity": left}]
    return "Observation", seen


def _told(one: Told) -> tuple[str, Json]:
    seen = _seen(one.kind, one.title, at(one.at), "", told("id", one.id))
    seen["note"] = [{"text": then} for then in one.then]
    return "Observation", seen


def _call(one: CallMade, release: str) -> tuple[str, Json]:
    said = [one.says, one.words]
    payload = [
        {"extension": told("part", part)}
        | ({"contentCodeableConcept": {"text": text}} if release == R5 else {"contentString": text})
        for part, text in zip(("says", "words"), said, strict=True)
        if text
    ]
    return "Communication", {
        "extension": [
            *told("step", one.step),
            *told("ended", one.ended, "Boolean"),
            *told("read-back", one.read_back, "Boolean"),
        ],
        "status": "completed" if one.says else "unknown",  # nobody has said yet that they called
        "topic": {"text": one.title},
        "sent": at(one.at),
        "recipient": [{"display": one.call}],
        "sender": filled(display=one.who),
        "payload": payload,
    }


def _changed(one: Changed) -> Json:
    return {
        "extension": [
            *told("field", one.field),
            *told("said", one.said),
            *told("says", one.says),
            *told("why", one.why),
            *told("who", one.who),
        ],
        "recorded": at(one.at),
        "agent": [{"who": {"display": one.who or "unknown"}}],
    }


def _chain(record: DoseRecord) -> Json:
    """Return who stands behind the events, and the hash that each of them went into."""
    who = record.gave or record.pressed or record.person
    what = {"identifier": {"system": URN + "sha-256", "value": record.chain}}
    return {
        "recorded": at(record.ended or record.begun or record.due),
        "agent": [{"who": {"display": who}}],
        "entity": [{"role": "source", "what": what}],  # value set provenance-entity-role
    }
