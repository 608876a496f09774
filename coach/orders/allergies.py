"""What an order sheet asks for although its own list of allergies names it.

Owns the finding of a name among allergies, which are in a person's own words. It may find too
much, which costs a question; it must never let one pass because of the way it is written.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import msgspec

from coach.orders.sheet import OrderSheet

_SHORTEST = 5
"""Letters of a word that is looked for: shorter ones stand in too many names."""
_HEPARINS = "parin"
"""What the names of all heparins end in (from memory)."""


class Refused(msgspec.Struct, frozen=True):
    """One thing that is ordered and named by an allergy."""

    field: str
    expected: str
    found: str


def refused(sheet: OrderSheet) -> Iterator[Refused]:
    """Yield everything that *sheet* orders and that one of its allergies names."""
    product, medicine = sheet.scrub.product, sheet.medicine.name
    ordered = [
        ("medicine.name", "another medicine", medicine, _long_words(medicine)[:1] or [medicine]),
        ("scrub.product", "another product", product, _long_words(product)),
    ]
    if sheet.heparin.ordered:
        ordered.append(("heparin.ordered", "no heparin", "yes", [_HEPARINS]))
    for allergy in sheet.allergies:
        for field, wanted, found, names in ordered:
            if any(name.casefold() in allergy.casefold() for name in names):
                expected = f"{wanted}, as the person is allergic to it"
                yield Refused(field, expected, f'"{found}", with the allergy "{allergy}"')


def _long_words(name: str) -> list[str]:
    return [word for word in re.findall(r"\w+", name) if len(word) >= _SHORTEST]
