"""The order sheet as plain data.

Owns the shape of an order sheet: one group for each group of fields in the file. It must never
read a file or decide whether the values agree with each other.
"""

from __future__ import annotations

from datetime import date, datetime, time

import msgspec

from coach.orders.quantities import Quantity


class SheetInfo(msgspec.Struct, frozen=True):
    """Which order sheet this is, and who stands behind it."""

    id: str
    """Lower-case letters, digits and hyphens; the journal files doses under it."""
    version: int
    date: date
    signed_by: str


class Person(msgspec.Struct, frozen=True):
    """Whose medicine it is."""

    initials: str
    born: date
    address: str
    """Where help has to come to, in words; empty where the sheet does not say."""


class Line(msgspec.Struct, frozen=True):
    """The catheter and what is fitted to its end."""

    kind: str
    """PICC, midline, tunnelled or port."""
    lumens: int
    clamp: str
    """present or none."""
    connector: str
    """negative, positive or neutral: which way the connector moves fluid when taken off."""
    inner_volume: Quantity
    """Volume of the catheter itself."""
    addons_volume: Quantity
    """Volume of the extension and connector together; may be 0 mL."""


class Medicine(msgspec.Struct, frozen=True):
    """What is given, how much, and how fast."""

    name: str
    dose: Quantity
    """Mass or units."""
    strength: Quantity
    volume: Quantity
    rate: Quantity
    infusion_time: Quantity
    mode: str
    """intermittent or continuous."""
    looks: str
    """How the liquid in a good bag looks, in words."""


class Doses(msgspec.Struct, frozen=True):
    """When doses are due: at times of the day, or at an interval."""

    times: tuple[time, ...]
    """Local times of day in order; empty where an interval is given."""
    every: Quantity | None
    """The interval, or None where times are given."""
    first: datetime | None
    """Aware. The first due time of an interval, or None where times are given."""
    window: Quantity
    """How long before and after a due time the dose may be begun."""


class Bag(msgspec.Struct, frozen=True):
    """How the bag is kept."""

    storage: str
    """refrigerator or room."""
    warm_up: Quantity | None
    """How long it stands out before use; None where it is kept at room temperature."""
    out_at_most: Quantity | None
    """How long it may stand out in all, to the end of the dose; None likewise."""


class Tubing(msgspec.Struct, frozen=True):
    """The tubing between bag and line."""

    inner_volume: Quantity
    reuse: str
    """allowed or not-allowed."""
    hours: Quantity | None
    """How long one set may be kept in use; None where it is used once."""
    flush_through: Quantity | None
    """Volume ordered to push the rest of the medicine through, at the rate of the dose."""


class Pump(msgspec.Struct, frozen=True):
    """The pump."""

    card: str
    """Name of the pump card."""
    batteries_every: Quantity
    left_when_done: Quantity
    """The most that the pump may show as left when the dose is over."""
    residual: Quantity
    """Volume that the reservoir keeps and never gives; the pump does not count it."""
    keep_open: Quantity | None
    """Rate at which the pump goes on after the dose; None where it stops."""
    tolerance: Quantity
    """A share: how far what the pump gave may be from what it should have given."""


class Flush(msgspec.Struct, frozen=True):
    """The saline flushes."""

    saline_before: Quantity
    saline_after: Quantity
    barrel: Quantity
    """The size of the syringe, whatever it holds."""


class Heparin(msgspec.Struct, frozen=True):
    """The heparin lock, if one is ordered."""

    ordered: bool
    strength: Quantity | None
    volume: Quantity | None
    low_platelets_history: bool
    """Whether heparin ever brought the person's platelets down."""


class Scrub(msgspec.Struct, frozen=True):
    """How the connector is cleaned."""

    product: str
    time: Quantity
    dry: Quantity
    short_scrub_signed_by: str
    """Who signed for a scrub below the usual time; empty where none is asked for."""


class Hands(msgspec.Struct, frozen=True):
    """How long hands are washed or rubbed."""

    wash: Quantity
    rub: Quantity


class Contact(msgspec.Struct, frozen=True):
    """Somebody to call."""

    name: str
    phone: str
    hours: str


class Contacts(msgspec.Struct, frozen=True):
    """Everybody to call."""

    nurse: Contact
    pharmacist: Contact
    emergency_number: str


class Limits(msgspec.Struct, frozen=True):
    """The agency's own limits; None where it sets none."""

    highest_rate: Quantity | None
    heparin_units_per_day: Quantity | None


class Change(msgspec.Struct, frozen=True):
    """Something that is changed at set times."""

    every: Quantity
    last: date
    """The day on which it was changed last."""


class Changes(msgspec.Struct, frozen=True):
    """What is changed at set times; None where the sheet does not say."""

    connector: Change | None
    dressing: Change | None


class Delivery(msgspec.Struct, frozen=True):
    """How supplies come."""

    next: date
    every: Quantity
    lead_time: Quantity
    """How long it takes from ordering to delivery."""
    safety: Quantity
    """How long the supplies should last beyond the next delivery; may be 0."""


class OrderSheet(msgspec.Struct, frozen=True):
    """One person's order sheet, every value with its unit."""

    demonstration: bool
    """True where person, agency and numbers are invented."""
    sheet: SheetInfo
    agency: str
    time_zone: str
    """IANA name, known to exist."""
    person: Person
    line: Line
    medicine: Medicine
    doses: Doses
    bag: Bag
    tubing: Tubing
    pump: Pump
    flush: Flush
    heparin: Heparin
    scrub: Scrub
    hands: Hands
    allergies: tuple[str, ...]
    contacts: Contacts
    limits: Limits
    changes: Changes
    delivery: Delivery | None
    """None where the sheet does not say."""
