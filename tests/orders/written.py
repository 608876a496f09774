"""One order sheet as text, a field a line, and ways to change it."""

from __future__ import annotations

from coach.errors import FileProblems
from coach.orders.read import sheet_from_bytes
from coach.orders.sheet import OrderSheet

SHEET = """\
schema: 1
sheet:
  id: test-sheet
  version: 1
  date: 2026-11-20
  signed_by: A nurse
agency: An agency
time_zone: America/New_York
person:
  initials: A. B.
  born: 1951-04-02
line:
  kind: PICC
  lumens: 1
  clamp: present
  connector: negative
  inner_volume: 0.6 mL
  addons_volume: 0.3 mL
medicine:
  name: a medicine
  dose: 1 g
  strength: 20 mg/mL
  volume: 50 mL
  rate: 100 mL/h
  infusion_time: 30 min
  mode: intermittent
  looks: clear
doses:
  times: ["09:00", "21:00"]
  window: 1 h
bag:
  storage: refrigerator
  warm_up: 45 min
  out_at_most: 6 h
tubing:
  inner_volume: 3 mL
  reuse: allowed
  hours: 24 h
pump:
  card: demo
  batteries_every: 3 days
  left_when_done: 1 mL
flush:
  saline_before: 10 mL
  saline_after: 10 mL
  barrel: 10 mL
heparin:
  ordered: yes
  strength: 10 units/mL
  volume: 3 mL
  low_platelets_history: no
scrub:
  product: 70% alcohol
  time: 15 s
  dry: 10 s
hands:
  wash: 20 s
  rub: 20 s
allergies: []
contacts:
  nurse: {name: Nurse, phone: 555-0100, hours: any hour}
  pharmacist: {name: Pharmacist, phone: (555) 555-0101, hours: by day}
  emergency: {number: "911"}
limits:
  highest_rate: 200 mL/h
  heparin_units_per_day: 300 units
"""
"""Agrees with itself. The text is quoted in tests by line: do not add lines above others."""


ALSO = """\
changes:
  connector: {every: 7 days, last: 2026-11-20}
  dressing: {every: 2 days, last: 2026-11-19}
delivery:
  next: 2026-11-27
  every: 7 days
  lead_time: 2 days
  safety: 0 days
"""
"""Groups that a sheet may have as well, to be written below it."""

REUSE = "reuse: allowed"
PUMP = "left_when_done: 1 mL"
"""Fields below which others may stand."""

AT_ROOM_TEMPERATURE = (
    "storage: refrigerator\n  warm_up: 45 min\n  out_at_most: 6 h",
    "storage: room",
)


def changed(*pairs: tuple[str, str]) -> str:
    """Return the sheet's text with each (old, new) replaced; each old stands there once."""
    text = SHEET
    for old, new in pairs:
        assert text.count(old) == 1, f"{old!r} stands there {text.count(old)} times"
        text = text.replace(old, new)
    return text


def sheet(*pairs: tuple[str, str]) -> OrderSheet:
    """Return the sheet with each (old, new) replaced."""
    return sheet_from_bytes(changed(*pairs).encode(), "orders.yaml")


def said(*pairs: tuple[str, str]) -> tuple[str, ...]:
    """Return what is said of the sheet with each (old, new) replaced, a line a problem."""
    return said_of(changed(*pairs))


def said_of(text: str) -> tuple[str, ...]:
    """Return what is said of the sheet *text*, a line a problem; nothing if it is taken."""
    try:
        sheet_from_bytes(text.encode(), "orders.yaml")
    except FileProblems as problems:
        return tuple(str(row) for row in problems.problems)
    return ()


def with_pump(*fields: str) -> tuple[str, str]:
    """Return the change that gives the pump more *fields*, such as ``residual: 1 mL``."""
    return PUMP, "\n  ".join((PUMP, *fields))


def with_tubing(*fields: str) -> tuple[str, str]:
    """Return the change that gives the tubing more *fields*, such as ``flush_through: 3 mL``."""
    return REUSE, "\n  ".join((REUSE, *fields))
