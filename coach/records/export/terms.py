"""Words that writing and reading a FHIR Bundle share.

Owns the names of extensions, references, quantities and times. It must never know a whole resource.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from coach.orders.quantities import Quantity

URN = "urn:kitchen-table-coach:"
"""What FHIR has no place for stands in extensions of this name: a name, no address of anybody."""
R5 = "R5"
R4B = "R4B"
RELEASES = (R5, R4B)
UCUM = "http://unitsofmeasure.org"
_CODES = {"mcg": "ug", "units": "[arb'U]", "day": "d", "days": "d"}
"""Where UCUM writes a unit otherwise."""
_SPACE = uuid.uuid5(uuid.NAMESPACE_URL, URN)

Json = dict[str, Any]


def url_of(kind: str, *parts: object) -> str:
    """Return a name for a resource that is the same in every export."""
    return f"urn:uuid:{uuid.uuid5(_SPACE, chr(0).join((kind, *map(str, parts))))}"


def resource(kind: str, url: str, **fields: Any) -> Json:
    """Return a resource under *url*, without those of *fields* that are empty."""
    return {"resourceType": kind, "id": url.rpartition(":")[2], **filled(**fields)}


def filled(**fields: Any) -> Json:
    """Return *fields* without the empty ones, as FHIR has no empty text or list."""
    return {name: value for name, value in fields.items() if value not in (None, "", [], {}, ())}


def at(moment: datetime | None) -> str:
    """Return *moment* as a FHIR dateTime; nothing for None."""
    return moment.isoformat() if moment else ""


def moment(text: str | None) -> datetime | None:
    """Return what `at` wrote."""
    return datetime.fromisoformat(text) if text else None


def must(text: str) -> datetime:
    """Return what `at` wrote of a moment that is always there."""
    return datetime.fromisoformat(text)


def quantity(of: Quantity | None) -> Json:
    """Return *of* with its unit in words and in UCUM; nothing for None."""
    if of is None:
        return {}
    code = "/".join(_CODES.get(part, part) for part in of.unit.split("/"))
    amount = Decimal(format(of.amount, "f"))
    return {"value": amount, "unit": of.unit, "system": UCUM, "code": code}


def read_quantity(of: Mapping[str, Any] | None) -> Quantity | None:
    """Return what `quantity` wrote."""
    return Quantity(Decimal(of["value"]), of["unit"]) if of else None


def told(name: str, value: Any, kind: str = "String") -> list[Json]:
    """Return an extension *name* with *value*, in a list; none where the value is empty."""
    if value in (None, "", {}):
        return []
    return [{"url": URN + name, f"value{kind}": value}]


def heard(of: Mapping[str, Any], name: str, kind: str = "String") -> Any:
    """Return the value of the first extension *name*, or None."""
    found = every(of, name, kind)
    return found[0] if found else None


def every(of: Mapping[str, Any], name: str, kind: str) -> list[Any]:
    """Return the values of every extension *name*, in order."""
    rows: Sequence[Mapping[str, Any]] = of.get("extension", ())
    return [one[f"value{kind}"] for one in rows if one["url"] == URN + name]
