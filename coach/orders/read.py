"""Reads an order sheet, or says everything that is wrong with it.

Owns the fields of the file. Form is read here, field by field; whether the values agree with
each other is asked of the checks, for all fields whose form is right.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from coach.nodes import (
    Bad,
    Fields,
    Node,
    Problems,
    boolean,
    list_of,
    one_of,
    read_bytes,
    read_file,
    whole,
)
from coach.orders import form
from coach.orders.checks import contradictions
from coach.orders.fields import (
    SCHEMA,
    clock_time,
    day,
    identifier,
    lumens,
    mode,
    moment,
    phone,
    quantity,
    schema,
    some,
    words,
    zone_name,
)
from coach.orders.floors import SHORTEST_DRY, USUAL_TOLERANCE
from coach.orders.quantities import Quantity
from coach.orders.sheet import (
    Bag,
    Change,
    Changes,
    Contact,
    Contacts,
    Delivery,
    Doses,
    Flush,
    Hands,
    Heparin,
    Limits,
    Line,
    Medicine,
    OrderSheet,
    Person,
    Pump,
    Scrub,
    SheetInfo,
    Tubing,
)
from coach.orders.values import SHEET_CHOICES
from coach.shapes import Group

T = TypeVar("T")

NO_VOLUME = Quantity(Decimal(0), "mL")
"""What a reservoir keeps, where the sheet does not say."""
FIRST_BORN = 1900
"""The first year of birth that is taken; an earlier one is a slip of the key."""

_VOLUME = Quantity(Decimal(1), "mL")
_DOSE = Quantity(Decimal(1), "mg")
_STRENGTH = Quantity(Decimal(1), "mg/mL")
_RATE = Quantity(Decimal(1), "mL/h")
_TIME = Quantity(Decimal(1), "min")
_DAY = date(2000, 1, 1)
"""Stand-ins for fields that could not be read; a sheet that holds one is never handed out."""


def read_sheet(path: Path, name: str = "") -> OrderSheet:
    """Return the order sheet in the file at *path*, called *name* in messages.

    Raises FileProblems with everything that is wrong: each row has file, line and field.
    """
    return _read(read_file(path, name))


def sheet_from_bytes(raw: bytes, name: str) -> OrderSheet:
    """Return the order sheet in *raw*, called *name* in messages. Raises FileProblems."""
    return _read(read_bytes(raw, name))


def _read(root: Node) -> OrderSheet:
    problems = Problems()
    sheet = _Reader(Fields(root, form.ROOT.names, problems), problems).sheet()
    unread = frozenset(row.field for row in problems.rows)
    for row in contradictions(sheet, root, unread):
        problems.add(row)
    problems.raise_if_any()
    return sheet


class _Reader:
    """Reads each group of fields in turn; what is wrong is kept, and reading goes on."""

    def __init__(self, root: Fields, problems: Problems) -> None:
        self.root = root
        self.problems = problems

    def sheet(self) -> OrderSheet:
        root = self.root
        root.required("schema", schema, SCHEMA)
        return OrderSheet(
            demonstration=root.optional("demonstration", boolean, False),
            sheet=self._sheet_info(),
            agency=root.required("agency", words, ""),
            time_zone=root.required("time_zone", zone_name, "UTC"),
            person=self._person(),
            line=self._line(),
            medicine=self._medicine(),
            doses=self._doses(),
            bag=self._bag(),
            tubing=self._tubing(),
            pump=self._pump(),
            flush=self._flush(),
            heparin=self._heparin(),
            scrub=self._scrub(),
            hands=self._hands(),
            allergies=root.required("allergies", self._allergies, ()),
            contacts=self._contacts(),
            limits=self._limits(),
            changes=self._changes(),
            delivery=self._delivery(),
        )

    def _group(self, name: str, known: Group) -> Fields:
        return self._inner(self.root, name, known)

    def _inner(self, parent: Fields, name: str, known: Group) -> Fields:
        """Open a group; one that is missing is said once, not for each of its fields."""
        fallback = Fields(_nothing(parent.node), known.names, Problems())
        return parent.required(
            name, lambda node: Fields(node, known.names, self.problems), fallback
        )

    def _only_if(
        self,
        condition: bool,
        fields: Fields,
        name: str,
        parse: Callable[[Node], T],
        stand_in: T,
        why_not: str,
    ) -> T | None:
        """Read a field that must stand there on a *condition*, and must not otherwise."""
        if condition:
            return fields.required(name, parse, stand_in)
        if name in fields:
            self.problems.add(fields.child(name).problem(f"no such field, as {why_not}"))
        return None

    def _sheet_info(self) -> SheetInfo:
        fields = self._group("sheet", form.SHEET)
        return SheetInfo(
            id=fields.required("id", identifier, ""),
            version=fields.required("version", whole, 1),
            date=fields.required("date", day(), _DAY),
            signed_by=fields.required("signed_by", words, ""),
        )

    def _person(self) -> Person:
        fields = self._group("person", form.PERSON)
        return Person(
            initials=fields.required("initials", words, ""),
            born=fields.required("born", day(FIRST_BORN), _DAY),
            address=fields.optional("address", words, ""),
        )

    def _line(self) -> Line:
        fields = self._group("line", form.LINE)
        return Line(
            kind=fields.required("kind", one_of(*form.LINE_KINDS), ""),
            lumens=fields.required("lumens", lumens, 1),
            clamp=fields.required("clamp", one_of(*SHEET_CHOICES["clamp"]), ""),
            connector=fields.required("connector", one_of(*SHEET_CHOICES["connector"]), ""),
            inner_volume=fields.required("inner_volume", some("volume"), _VOLUME),
            addons_volume=fields.required("addons_volume", quantity("volume"), _VOLUME),
        )

    def _medicine(self) -> Medicine:
        fields = self._group("medicine", form.MEDICINE)
        return Medicine(
            name=fields.required("name", words, ""),
            dose=fields.required("dose", some("dose"), _DOSE),
            strength=fields.required("strength", some("strength"), _STRENGTH),
            volume=fields.required("volume", some("volume"), _VOLUME),
            rate=fields.required("rate", some("rate"), _RATE),
            infusion_time=fields.required("infusion_time", some("duration"), _TIME),
            mode=fields.required("mode", mode, "intermittent"),
            looks=fields.required("looks", words, ""),
        )

    def _doses(self) -> Doses:
        fields = self._group("doses", form.DOSES)
        by_interval = "times" not in fields and ("every" in fields or "first" in fields)
        why = "times are given"
        return Doses(
            times=() if by_interval else fields.required("times", self._times, ()),
            every=self._only_if(by_interval, fields, "every", some("duration"), _TIME, why),
            first=self._only_if(by_interval, fields, "first", moment, None, why),
            window=fields.required("window", some("duration"), _TIME),
        )

    def _times(self, node: Node) -> tuple[time, ...]:
        found = self._list(node, clock_time, form.MOST_TIMES)
        children = node.value if isinstance(node.value, list) else []
        if not children:
            raise Bad(node.problem("at least one time", "none"))
        for place, child in enumerate(children):
            if child.value in [earlier.value for earlier in children[:place]]:
                self.problems.add(child.problem("each time once", f"{child.told} a second time"))
        return tuple(sorted(found))

    def _allergies(self, node: Node) -> tuple[str, ...]:
        return self._list(node, words, form.MOST_ALLERGIES)

    def _list(self, node: Node, parse: Callable[[Node], T], most: int) -> tuple[T, ...]:
        if len(node.value) > most and isinstance(node.value, list):
            raise Bad(node.problem(f"a list of at most {most}", f"{len(node.value)} of them"))
        return list_of(parse, self.problems)(node)

    def _bag(self) -> Bag:
        fields = self._group("bag", form.BAG)
        storage = fields.required("storage", one_of(*SHEET_CHOICES["storage"]), "")
        cold = storage == "refrigerator" or (storage == "" and "warm_up" in fields)
        why = "a bag kept at room temperature needs no warming"
        warm_up = self._only_if(cold, fields, "warm_up", some("duration"), _TIME, why)
        why = "a bag kept at room temperature may stay out"
        out = self._only_if(cold, fields, "out_at_most", some("duration"), _TIME, why)
        return Bag(storage, warm_up, out)

    def _tubing(self) -> Tubing:
        fields = self._group("tubing", form.TUBING)
        reuse = fields.required("reuse", one_of(*SHEET_CHOICES["reuse"]), "")
        kept = reuse == "allowed" or (reuse == "" and "hours" in fields)
        why = "this tubing is used once"
        return Tubing(
            inner_volume=fields.required("inner_volume", some("volume"), _VOLUME),
            reuse=reuse,
            hours=self._only_if(kept, fields, "hours", some("duration"), _TIME, why),
            flush_through=fields.optional("flush_through", some("volume"), None),
        )

    def _pump(self) -> Pump:
        fields = self._group("pump", form.PUMP)
        return Pump(
            card=fields.required("card", identifier, ""),
            batteries_every=fields.required("batteries_every", some("duration"), _TIME),
            left_when_done=fields.required("left_when_done", quantity("volume"), _VOLUME),
            residual=fields.optional("residual", quantity("volume"), NO_VOLUME),
            keep_open=fields.optional("keep_open", some("rate"), None),
            tolerance=fields.optional("tolerance", some("share"), USUAL_TOLERANCE),
        )

    def _flush(self) -> Flush:
        fields = self._group("flush", form.FLUSH)
        return Flush(
            saline_before=fields.required("saline_before", some("volume"), _VOLUME),
            saline_after=fields.required("saline_after", some("volume"), _VOLUME),
            barrel=fields.required("barrel", some("volume"), _VOLUME),
        )

    def _heparin(self) -> Heparin:
        fields = self._group("heparin", form.HEPARIN)
        ordered = fields.required("ordered", boolean, "strength" in fields)
        lock, why = some("strength in units"), "no heparin is ordered"
        return Heparin(
            ordered=ordered,
            strength=self._only_if(ordered, fields, "strength", lock, _STRENGTH, why),
            volume=self._only_if(ordered, fields, "volume", some("volume"), _VOLUME, why),
            low_platelets_history=fields.required("low_platelets_history", boolean, False),
        )

    def _scrub(self) -> Scrub:
        fields = self._group("scrub", form.SCRUB)
        return Scrub(
            product=fields.required("product", one_of(*SHORTEST_DRY), ""),
            time=fields.required("time", some("duration"), _TIME),
            dry=fields.required("dry", some("duration"), _TIME),
            short_scrub_signed_by=fields.optional("short_scrub_signed_by", words, ""),
        )

    def _hands(self) -> Hands:
        fields = self._group("hands", form.HANDS)
        return Hands(
            wash=fields.required("wash", some("duration"), _TIME),
            rub=fields.required("rub", some("duration"), _TIME),
        )

    def _contacts(self) -> Contacts:
        fields = self._group("contacts", form.CONTACTS)
        emergency = self._inner(fields, "emergency", form.EMERGENCY)
        return Contacts(
            nurse=self._contact(fields, "nurse"),
            pharmacist=self._contact(fields, "pharmacist"),
            emergency_number=emergency.required("number", phone, ""),
        )

    def _contact(self, contacts: Fields, who: str) -> Contact:
        fields = self._inner(contacts, who, form.CONTACT)
        return Contact(
            name=fields.required("name", words, ""),
            phone=fields.required("phone", phone, ""),
            hours=fields.required("hours", words, ""),
        )

    def _limits(self) -> Limits:
        if "limits" not in self.root:
            return Limits(None, None)
        fields = self._group("limits", form.LIMITS)
        return Limits(
            highest_rate=fields.optional("highest_rate", some("rate"), None),
            heparin_units_per_day=fields.optional("heparin_units_per_day", some("units"), None),
        )

    def _changes(self) -> Changes:
        if "changes" not in self.root:
            return Changes(None, None)
        fields = self._group("changes", form.CHANGES)
        return Changes(self._change(fields, "connector"), self._change(fields, "dressing"))

    def _change(self, changes: Fields, what: str) -> Change | None:
        if what not in changes:
            return None
        fields = self._inner(changes, what, form.CHANGE)
        return Change(
            every=fields.required("every", some("duration"), _TIME),
            last=fields.required("last", day(), _DAY),
        )

    def _delivery(self) -> Delivery | None:
        if "delivery" not in self.root:
            return None
        fields = self._group("delivery", form.DELIVERY)
        return Delivery(
            next=fields.required("next", day(), _DAY),
            every=fields.required("every", some("duration"), _TIME),
            lead_time=fields.required("lead_time", some("duration"), _TIME),
            safety=fields.required("safety", quantity("duration"), _TIME),
        )


def _nothing(node: Node) -> Node:
    return Node(node.file, node.line, node.column, node.field, {})
