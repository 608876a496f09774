"""A FHIR Bundle that the coach wrote, read back into dose records.

Owns the way back alone; what a field means is said where it is written. It must never guess what
another program may have meant.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from coach.errors import CoachError
from coach.orders.quantities import Quantity
from coach.records.export.terms import every, heard, moment, must, read_quantity
from coach.records.model import (
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

Row = Mapping[str, Any]


def read_bundle(raw: bytes) -> tuple[DoseRecord, ...]:
    """Return the records in the Bundle *raw*, of either release, each time with its offset.

    Raises CoachError if it is no Bundle that the coach wrote.
    """
    try:
        entries = json.loads(raw, parse_float=Decimal)["entry"]
        named = {one["fullUrl"]: one["resource"] for one in entries}
        parts: dict[str, list[Row]] = defaultdict(list)
        for one in named.values():
            for tie in (*one.get("partOf", ()), *one.get("target", ())):
                parts[tie["reference"]].append(one)
        return tuple(
            _record(one, named[one["request"]["reference"]], parts[url])
            for url, one in named.items()
            if one["resourceType"] == "MedicationAdministration"
        )
    except (ValueError, LookupError, TypeError, AttributeError, ArithmeticError) as error:
        raise CoachError(words.NO_EXPORT) from error


def _record(dose: Row, order: Row, parts: list[Row]) -> DoseRecord:
    people = {one["function"]["text"]: _name(one["actor"]) for one in dose.get("performer", ())}
    how = order["dosageInstruction"][0]["doseAndRate"][0]
    named = order.get("medicationCodeableConcept") or order["medication"]["concept"]
    flow = dose.get("occurencePeriod") or dose.get("effectivePeriod")
    return DoseRecord(
        id=dose["identifier"][0]["value"],
        sitting=heard(dose, "sitting", "Integer"),
        sheet=heard(order, "sheet"),
        sheet_hash=heard(order, "sheet-hash") or "",
        chain=heard(dose, "chain") or "",
        person=dose["subject"]["display"],
        status=dose["status"],
        medicine=named["text"],
        dose=_must(how["doseQuantity"]),
        strength=_must(heard(order, "strength", "Quantity")),
        volume=_must(heard(order, "volume", "Quantity")),
        rate=_must(how["rateQuantity"]),
        left_when_done=_must(heard(order, "left-when-done", "Quantity")),
        due=must(heard(dose, "due", "DateTime")),
        window=_span(heard(dose, "window", "Period")),
        begun=moment(heard(dose, "begun", "DateTime")),
        flow=_span(flow) if flow else None,
        pauses=tuple(_span(one) for one in every(dose, "paused", "Period")),
        ended=moment(heard(dose, "ended", "DateTime")),
        given=read_quantity(dose["dosage"].get("dose")),
        left=read_quantity(heard(dose, "left", "Quantity")),
        lot=heard(dose, "lot") or "",
        discard=moment(heard(dose, "discard", "DateTime")),
        gave=people.get("gave", ""),
        pressed=people.get("pressed", ""),
        from_paper=heard(dose, "from-paper", "Boolean"),
        **_within(dose, parts),
    )


def _within(dose: Row, parts: list[Row]) -> dict[str, Any]:
    """Return what happened within the dose, by the field of the record."""
    notes = dose.get("note", ())
    return {
        "pushes": tuple(_push(one) for one in _kind(parts, "Procedure")),
        "looks": tuple(_look(one) for one in _seen(parts, "look")),
        "typed": tuple(_typed(one) for one in _seen(parts, "typed")),
        "told": tuple(_told(one) for one in _seen(parts, "spoiled", "trouble")),
        "calls": tuple(_call(one) for one in _kind(parts, "Communication")),
        "notes": tuple(Note(must(n["time"]), n["text"]) for n in notes if not heard(n, "reason")),
        "reasons": tuple(_why(one) for one in notes if heard(one, "reason")),
        "corrections": tuple(
            _changed(one) for one in _kind(parts, "Provenance") if heard(one, "field")
        ),
    }


def _name(actor: Row) -> str:
    named: Row = actor.get("reference", actor)  # R5 has the reference one level further in
    return str(named["display"])


def _must(of: Row) -> Quantity:
    return Quantity(Decimal(of["value"]), of["unit"])


def _span(of: Row) -> Span:
    return Span(must(of["start"]), moment(of.get("end")))


def _kind(parts: list[Row], name: str) -> list[Row]:
    return [one for one in parts if one["resourceType"] == name]


def _seen(parts: list[Row], *kinds: str) -> list[Row]:
    return [one for one in _kind(parts, "Observation") if heard(one, "kind") in kinds]


def _push(of: Row) -> Push:
    when = of.get("occurrenceDateTime") or of["performedDateTime"]
    units = read_quantity(heard(of, "units", "Quantity"))
    return Push(must(when), of["code"]["text"], _must(heard(of, "volume", "Quantity")), units)


def _look(of: Row) -> Look:
    return Look(
        must(of["effectiveDateTime"]),
        heard(of, "step"),
        of["code"]["text"],
        of.get("valueString", ""),
        heard(of, "hoped", "Boolean"),
        heard(of, "of") or "",
    )


def _typed(of: Row) -> Typed:
    left = of.get("component")
    return Typed(
        must(of["effectiveDateTime"]),
        heard(of, "step"),
        of["code"]["text"],
        of.get("valueString", ""),
        heard(of, "agreed", "Boolean"),
        str(left[0]["valueQuantity"]["value"]) if left else "",
        moment(heard(of, "discard", "DateTime")),
    )


def _told(of: Row) -> Told:
    then = tuple(one["text"] for one in of.get("note", ()))
    kind = heard(of, "kind")
    return Told(must(of["effectiveDateTime"]), kind, heard(of, "id"), of["code"]["text"], then)


def _call(of: Row) -> CallMade:
    said = {heard(one, "part"): one for one in of.get("payload", ())}
    texts = {
        part: one.get("contentString") or one["contentCodeableConcept"]["text"]
        for part, one in said.items()
    }
    topic = of["topic"]["text"]
    return CallMade(
        must(of["sent"]),
        heard(of, "step"),
        topic,
        of["recipient"][0]["display"],
        texts.get("says", ""),
        heard(of, "ended", "Boolean"),
        texts.get("words", ""),
        of.get("sender", {}).get("display", ""),
        heard(of, "read-back", "Boolean"),
    )


def _why(of: Row) -> Why:
    return Why(must(of["time"]), heard(of, "reason"), of["text"], of.get("authorString", ""))


def _changed(of: Row) -> Changed:
    names = ("field", "said", "says", "who", "why")
    return Changed(must(of["recorded"]), *(heard(of, name) or "" for name in names))
