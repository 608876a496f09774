"""Every code of an export is in the value set that the standard binds it to.

HL7 FHIR R5 (5.0.0) and R4B (4.3.0), the value sets by their canonical URLs: from memory of
hl7.org/fhir, and held against the codes that fhir.resources 8.3 took over from the definitions
and does not check. HTEST is of HL7 v3 ActReason (security labels, test data: memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

import pytest
from fhir.resources.bundle import Bundle as BundleR5
from fhir.resources.R4B.bundle import Bundle as BundleR4B
from pydantic import BaseModel

from coach.records.export.terms import R4B, R5, UCUM
from tests.records.test_the_export_as_fhir import written

MODELS: dict[str, Any] = {R5: BundleR5, R4B: BundleR4B}
BASE = "http://hl7.org/fhir/ValueSet/"
VERSIONS = {R5: "5.0.0", R4B: "4.3.0"}


def listed(*lines: str) -> list[str]:
    """Return the codes in *lines*."""
    return " ".join(lines).split()


EVENT = listed(
    "preparation in-progress not-done on-hold stopped completed entered-in-error unknown"
)
INTENT = listed(
    "proposal plan order original-order reflex-order filler-order instance-order option"
)
BUNDLE = listed(
    "document message transaction transaction-response batch batch-response history searchset",
    "collection",
)
OBSERVATION = listed(
    "registered preliminary final amended corrected cancelled entered-in-error unknown"
)


class ValueSet(NamedTuple):
    """One value set."""

    name: str
    """The end of its canonical URL."""
    r5: list[str]
    r4b: list[str]

    def codes(self, release: str) -> list[str]:
        """Return its codes in *release*."""
        return self.r5 if release == R5 else self.r4b

    def url(self, release: str) -> str:
        """Return its canonical URL with the version."""
        return f"{BASE}{self.name}|{VERSIONS[release]}"


def alike(name: str, codes: list[str]) -> ValueSet:
    """Return a value set that is the same in both releases."""
    return ValueSet(name, codes, codes)


DEVICE_NAME = ValueSet(
    "device-nametype",
    listed("registered-name user-friendly-name patient-reported-name"),
    listed(
        "udi-label-name user-friendly-name patient-reported-name manufacturer-name model-name other"
    ),
)
VALUE_SETS = {
    ("Bundle", "type"): ValueSet("bundle-type", [*BUNDLE, "subscription-notification"], BUNDLE),
    ("MedicationAdministration", "status"): alike(
        "medication-admin-status",
        listed("in-progress not-done on-hold completed entered-in-error stopped unknown"),
    ),
    ("MedicationRequest", "status"): ValueSet(
        "medicationrequest-status",
        listed("active on-hold ended stopped completed cancelled entered-in-error draft unknown"),
        listed("active on-hold cancelled completed entered-in-error stopped draft unknown"),
    ),
    ("MedicationRequest", "intent"): alike("medicationrequest-intent", INTENT),
    ("Procedure", "status"): alike("event-status", EVENT),
    ("Communication", "status"): alike("event-status", EVENT),
    ("Observation", "status"): alike("observation-status", OBSERVATION),
    ("PlanDefinition", "status"): alike(
        "publication-status", listed("draft active retired unknown")
    ),
    ("PlanDefinitionActionCondition", "kind"): alike(
        "action-condition-kind", listed("applicability start stop")
    ),
    ("DeviceName", "type"): DEVICE_NAME,
    ("DeviceDeviceName", "type"): DEVICE_NAME,  # as R4B calls it
    ("ProvenanceEntity", "role"): ValueSet(
        "provenance-entity-role",
        listed("quotation revision source instantiates removal"),
        listed("derivation revision quotation source removal"),
    ),
}
"""By element. Each of these bindings is required."""
LANGUAGE = ("Expression", "language")
"""Bound to expression-language, which is extensible by any media type in both releases (memory)."""


class Code(NamedTuple):
    """A code in a Bundle: of which element it is, and the codes that the library knows for it."""

    element: tuple[str, str]
    code: str
    known: list[str]


def below(node: BaseModel) -> Iterator[tuple[str, dict[str, Any], Any]]:
    """Yield each element of *node*: its name, what the library knows of it, and its value."""
    for name, field in type(node).model_fields.items():
        value = getattr(node, name)
        extra = field.json_schema_extra
        for one in value if isinstance(value, list) else [value]:
            if one is not None:
                yield name, (extra if isinstance(extra, dict) else {}), one


def nodes_of(node: BaseModel) -> Iterator[BaseModel]:
    """Yield *node* and every one below it."""
    yield node
    for _, _, one in below(node):
        if isinstance(one, BaseModel):
            yield from nodes_of(one)


def codes_of(whole: BaseModel) -> Iterator[Code]:
    """Yield every value of an element that takes a code."""
    for node in nodes_of(whole):
        kinds = type(node).model_fields
        for name, extra, one in below(node):
            if "CodeType" in str(kinds[name].annotation) or "enum_values" in extra:
                yield Code((type(node).__name__, name), str(one), extra.get("enum_values", []))


@cache
def read(release: str) -> Any:
    """Return a Bundle of random doses, as the library reads it."""
    return MODELS[release].model_validate_json(written(20, release)[1])


@pytest.mark.parametrize("release", MODELS)
def test_each_code_is_in_its_value_set(release: str) -> None:
    whole = read(release)
    seen = set()
    for found in codes_of(whole):
        if found.element in (("Quantity", "code"), ("Coding", "code")):
            continue  # units have a check of their own; the one label is below
        if found.element == LANGUAGE:
            assert found.code == "text/plain", "RFC 2046, section 4.1.3"
            seen.add(LANGUAGE)
            continue
        values = VALUE_SETS[found.element]
        assert found.code in values.codes(release), values.url(release)
        theirs = set(found.known) - {"+"}
        complete = "+" not in found.known  # the library names only the first ones of some
        assert theirs == set(values.codes(release)) if complete else theirs < set(values.r5)
        seen.add(found.element)
    other = ("DeviceDeviceName" if release == R5 else "DeviceName", "type")
    assert seen == set(VALUE_SETS) - {other} | {LANGUAGE}


@pytest.mark.parametrize("release", MODELS)
def test_each_reference_leads_to_a_kind_that_may_stand_there(release: str) -> None:
    whole = read(release)
    kinds = {one.fullUrl: one.resource.get_resource_type() for one in whole.entry}
    seen = set()
    for node in nodes_of(whole):
        for name, extra, one in below(node):
            # In R5 a reference can stand within a CodeableReference.
            held = getattr(one, "reference", None)
            url = getattr(held, "reference", held)
            if isinstance(url, str):
                allowed = extra.get("enum_reference_types")
                if allowed is not None:
                    assert {kinds[url], "Resource"} & set(allowed), (type(node).__name__, name)
                    seen.add((type(node).__name__, name))
    assert len(seen) >= 8, seen


@pytest.mark.parametrize("release", MODELS)
def test_what_is_no_code_of_fhir_is_of_a_named_system(release: str) -> None:
    whole = read(release)
    nodes: list[Any] = list(nodes_of(whole))
    found = {
        (kind, one.system, one.code if kind == "Coding" else "")
        for one in nodes
        if (kind := type(one).__name__) in ("Coding", "Quantity")
    }
    label = ("Coding", "http://terminology.hl7.org/CodeSystem/v3-ActReason", "HTEST")
    assert found == {label, ("Quantity", UCUM, "")}
