"""The fields of an order sheet: their names, their order, and the form of each.

Owns the one list of them. The reader refuses what is not in it, the schema for editors is made
from it, and the nurse's screen shows it. It must never compare two values.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coach.orders.fields import DATE, ID, LONGEST_TEXT, MOMENT, PHONE, SCHEMA, TIME, ZONE
from coach.orders.floors import SHORTEST_DRY
from coach.orders.quantities import KINDS
from coach.orders.values import SHEET_CHOICES
from coach.shapes import Group, Only, Shape

LINE_KINDS = ("PICC", "midline", "tunnelled", "port")
MOST_TIMES = 24
"""Dose times in a day: one an hour."""
MOST_ALLERGIES = 20

_SCALARS = ("string", "number", "boolean")
"""What an editor may take a text for; the coach takes it as it is written."""
_NUMBER = r"(0|[1-9][0-9]{0,8}|[1-9][0-9]{0,2}(,[0-9]{3}){1,2})(\.[0-9]{1,6})?"


def _text(form: str = "", *kinds: str) -> Shape:
    held = {"pattern": f"^{form}$"} if form else {"pattern": r"\S"}
    return {"type": kinds or _SCALARS, "maxLength": LONGEST_TEXT, **held}


def _written(form: str) -> Shape:
    return {"type": "string", "pattern": f"^{form}$"}


def _choice(*words: str) -> Shape:
    return {"type": "string", "enum": words}


def amount(kind: str) -> Shape:
    """Return the form of a quantity of *kind*, one of ``KINDS``, 0 included."""
    units = [*KINDS[kind], *(("day",) if "days" in KINDS[kind] else ())]
    gap = "" if "%" in units else r"\s+"
    return {"type": "string", "pattern": rf"^\s*{_NUMBER}{gap}({'|'.join(units)})\s*$"}


def some(kind: str) -> Shape:
    """Return the form of a quantity of *kind* above 0."""
    pattern = str(amount(kind)["pattern"]).removeprefix("^")
    return {"type": "string", "pattern": rf"^(?!\s*[0.]+[^0-9.]){pattern}"}


_WORDS = _text()
_NAME = _text(ID.pattern, "string", "integer")
_PHONE = _text(PHONE.pattern, "string", "integer")
_WHOLE: Shape = {"type": "integer", "minimum": 0, "maximum": 999_999_999}
_ONE: Shape = {"type": "integer", "const": 1}
_YES_NO = _choice("yes", "no")
_DAY = _written(DATE.pattern)
_ZONE = _text(ZONE.pattern, "string")

SHEET = Group({"id": _NAME, "version": _WHOLE, "date": _DAY, "signed_by": _WORDS})
PERSON = Group({"initials": _WORDS, "born": _DAY, "address": _WORDS}, frozenset({"address"}))
LINE = Group(
    {
        "kind": _choice(*LINE_KINDS),
        "lumens": _ONE,
        "clamp": _choice(*SHEET_CHOICES["clamp"]),
        "connector": _choice(*SHEET_CHOICES["connector"]),
        "inner_volume": some("volume"),
        "addons_volume": amount("volume"),
    }
)
MEDICINE = Group(
    {
        "name": _WORDS,
        "dose": some("dose"),
        "strength": some("strength"),
        "volume": some("volume"),
        "rate": some("rate"),
        "infusion_time": some("duration"),
        "mode": _choice("intermittent"),
        "looks": _WORDS,
    }
)
DOSES = Group(
    {
        "times": {
            "type": "array",
            "items": _written(TIME.pattern),
            "minItems": 1,
            "maxItems": MOST_TIMES,
            "uniqueItems": True,
        },
        "every": some("duration"),
        "first": _written(MOMENT.pattern),
        "window": some("duration"),
    },
    ways=(("times",), ("every", "first")),
)
_COLD = Only("storage", "refrigerator")
BAG = Group(
    {
        "storage": _choice(*SHEET_CHOICES["storage"]),
        "warm_up": some("duration"),
        "out_at_most": some("duration"),
    },
    only={"warm_up": _COLD, "out_at_most": _COLD},
)
TUBING = Group(
    {
        "inner_volume": some("volume"),
        "reuse": _choice(*SHEET_CHOICES["reuse"]),
        "hours": some("duration"),
        "flush_through": some("volume"),
    },
    frozenset({"flush_through"}),
    only={"hours": Only("reuse", "allowed")},
)
PUMP = Group(
    {
        "card": _NAME,
        "batteries_every": some("duration"),
        "left_when_done": amount("volume"),
        "residual": amount("volume"),
        "keep_open": some("rate"),
        "tolerance": some("share"),
    },
    frozenset({"residual", "keep_open", "tolerance"}),
)
FLUSH = Group(
    {"saline_before": some("volume"), "saline_after": some("volume"), "barrel": some("volume")}
)
_LOCKED = Only("ordered", "yes")
HEPARIN = Group(
    {
        "ordered": _YES_NO,
        "strength": some("strength in units"),
        "volume": some("volume"),
        "low_platelets_history": _YES_NO,
    },
    only={"strength": _LOCKED, "volume": _LOCKED},
)
SCRUB = Group(
    {
        "product": _choice(*SHORTEST_DRY),
        "time": some("duration"),
        "dry": some("duration"),
        "short_scrub_signed_by": _WORDS,
    },
    frozenset({"short_scrub_signed_by"}),
)
HANDS = Group({"wash": some("duration"), "rub": some("duration")})
CONTACT = Group({"name": _WORDS, "phone": _PHONE, "hours": _WORDS})
EMERGENCY = Group({"number": _PHONE})
CONTACTS = Group({"nurse": CONTACT, "pharmacist": CONTACT, "emergency": EMERGENCY})
LIMITS = Group(
    {"highest_rate": some("rate"), "heparin_units_per_day": some("units")},
    frozenset({"highest_rate", "heparin_units_per_day"}),
)
CHANGE = Group({"every": some("duration"), "last": _DAY})
CHANGES = Group({"connector": CHANGE, "dressing": CHANGE}, frozenset({"connector", "dressing"}))
DELIVERY = Group(
    {
        "next": _DAY,
        "every": some("duration"),
        "lead_time": some("duration"),
        "safety": amount("duration"),
    }
)
ROOT = Group(
    {
        "schema": {"type": "integer", "const": SCHEMA},
        "demonstration": _YES_NO,
        "sheet": SHEET,
        "agency": _WORDS,
        "time_zone": _ZONE,
        "person": PERSON,
        "line": LINE,
        "medicine": MEDICINE,
        "doses": DOSES,
        "bag": BAG,
        "tubing": TUBING,
        "pump": PUMP,
        "flush": FLUSH,
        "heparin": HEPARIN,
        "scrub": SCRUB,
        "hands": HANDS,
        "allergies": {"type": "array", "items": _WORDS, "maxItems": MOST_ALLERGIES},
        "contacts": CONTACTS,
        "limits": LIMITS,
        "changes": CHANGES,
        "delivery": DELIVERY,
    },
    frozenset({"demonstration", "limits", "changes", "delivery"}),
)
"""Every field of an order sheet."""


def every_field(group: Group = ROOT, within: str = "") -> Iterator[tuple[str, Shape]]:
    """Return each field with its form, by its whole name, from the top of a sheet down."""
    for name, held in group.fields.items():
        field = f"{within}.{name}" if within else name
        if isinstance(held, Mapping):
            yield field, held
        else:
            yield from every_field(held, field)
