"""The fields of the procedure files: their names, their order, and the form of each.

Owns the one list of them. The readers refuse what is not in it, and the schemas for editors are
made from it. Where a part is written with ``<parameters>``, they may stand in any word. It must
never know a fact, a step or a supply by name.
"""

from __future__ import annotations

from coach.orders.form import some
from coach.orders.values import CHOICES, VALUE_NAMES
from coach.shapes import Group, Shape

RECORDED = ("flush", "lock", "site")
"""What a step can be in the record of a dose."""
WAYS = ("hold", "wait", "pace", "ask", "type", "recheck", "within", "stop")
"""The ways of answering a step; none is ``done``."""
TIMES = (
    "batteries_every", "dry_time", "infusion_time", "out_at_most", "rub_time", "scrub_time",
    "tubing_hours", "warm_up", "wash_time", "window",
)  # fmt: skip
"""The values of an order sheet that are times."""
CHECKS = ("equals", "at-most", "outlasts")
CALLS = ("nurse", "pharmacist", "emergency")
ENDS = ("finished", "stopped")
RULE_FORMS = ("only", "never", "always", "ends", "fades", "timed", "compared", "elsewhere")
"""The forms of a rule; each rule has just one."""
TIMED = ("hold", "wait", "within")
"""How a time of the order sheet can be asked for."""
COMPARED = ("equals", "at-most", "outlasts")
"""How a value of the order sheet can be compared with."""

_GIVEN = "<[a-z_]+>"
_TEXT: Shape = {"type": ("string", "number", "boolean"), "pattern": r"\S"}
_NAME: Shape = {
    "type": ("string", "integer"),
    "pattern": rf"^([a-z]|{_GIVEN})([a-z0-9]|{_GIVEN})*(-([a-z0-9]|{_GIVEN})+)*$",
}
_VERSION: Shape = {"const": 1}
_WHOLE: Shape = {"type": "integer", "minimum": 0, "maximum": 999_999_999}


def _one_of(*words: str) -> Shape:
    return {"anyOf": ({"enum": words}, {"type": "string", "pattern": _GIVEN})}


def _list(held: Group | Shape) -> Shape:
    return {"type": "array", "items": held}


def _by_name(held: Group | Shape) -> Shape:
    return {"type": "object", "additionalProperties": held}


def _optional(*names: str) -> frozenset[str]:
    return frozenset(names)


_YES_NO = _one_of("yes", "no")
_SECONDS: Shape = {"anyOf": (some("duration"), {"type": "string", "pattern": _GIVEN})}
_TIME = _one_of(*TIMES)
_VALUE = _one_of(*sorted(VALUE_NAMES))
_SOME: tuple[Shape, ...] = (_TEXT, {**_list(_TEXT), "minItems": 1})
_WANTED: Shape = {"anyOf": (*_SOME, Group({"not": {"anyOf": _SOME}}))}
_FACTS = _by_name(_WANTED)
"""A condition: for each fact a value, some values, or ``{not: value}``."""
_SETS = _by_name(_TEXT)
_CHOICE: Shape = {
    "type": "object",
    "properties": dict.fromkeys(CHOICES, _WANTED),
    "additionalProperties": False,
}
"""A condition on an order sheet."""

# A step

ANSWER = Group({"id": _NAME, "says": _TEXT, "seen": _TEXT, "sets": _SETS}, _optional("seen"))
ASK = Group(
    {"question": _TEXT, "sees": _FACTS, "answers": {**_list(ANSWER), "minItems": 2}},
    _optional("sees"),
)
TYPE = Group(
    {
        "prompt": _TEXT,
        "check": _one_of(*CHECKS),
        "against": {"anyOf": (_VALUE, _list(_VALUE))},
        "left_of": _VALUE,
        "differs": _SETS,
    },
    _optional("left_of"),
)
WAIT = Group({"time": _TIME, "since": _NAME, "while": _FACTS, "gives": _VALUE}, _optional("gives"))
RECHECK = Group({"reading": _NAME, "late": _SETS})
WITHIN = Group(
    {
        "time": _TIME,
        "since": {"anyOf": ({"const": "due"}, {**_SETS, "minProperties": 1, "maxProperties": 1})},
        "until": _list(_TIME),
        "late": _SETS,
    },
    _optional("until"),
)
GOES_ON = Group({"says": _TEXT, "sets": _SETS})
STOP = Group(
    {
        "call": _one_of(*CALLS),
        "leave": _TEXT,
        "close": _TEXT,
        "situation": _TEXT,
        "assessment": _TEXT,
        "request": _TEXT,
        "called": _TEXT,
        "goes_on": GOES_ON,
        "frees": _YES_NO,
    },
    _optional("goes_on", "frees"),
)
_ANY_STEP: dict[str, Group | Shape] = {
    "id": _NAME,
    "title": _TEXT,
    "do": _TEXT,
    "why": _TEXT,
    "when": _CHOICE,
    "sets": _SETS,
    "uses": _by_name(_WHOLE),
    "hands": _one_of("busy"),
    "pump": _NAME,
    "lasting": _YES_NO,
    "critical": _YES_NO,
    "line": _TEXT,
    "beside": _YES_NO,
    "records": _one_of(*RECORDED),
    "amount": _VALUE,
    "sees": _FACTS,
    "hold": _TIME,
    "wait": WAIT,
    "pace": _SECONDS,
    "ask": ASK,
    "type": TYPE,
    "recheck": RECHECK,
    "within": WITHIN,
    "stop": STOP,
}
_FREE = frozenset(_ANY_STEP) - {"id", "title", "do", "why"}
STEP = Group({**_ANY_STEP, "if": _FACTS, "needs": _FACTS}, _FREE | {"if", "needs"}, at_most=WAYS)
RESPONSE = Group({**_ANY_STEP, "as_soon_as": _FACTS}, _FREE, at_most=WAYS)
MISHAP = Group(
    {
        "id": _NAME,
        "title": _TEXT,
        "seen": _TEXT,
        "group": _NAME,
        "when": _CHOICE,
        "at": _FACTS,
        "sets": _SETS,
        "final": _YES_NO,
    },
    _optional("when", "final"),
)

# The files of a dose

START = Group({"when": _CHOICE, "value": _TEXT}, _optional("when"))
FACT = Group(
    {
        "about": _TEXT,
        "values": {**_list(_NAME), "minItems": 1, "uniqueItems": True},
        "starts": {"anyOf": (_TEXT, {**_list(START), "minItems": 1})},
        "fades": _SETS,
    },
    _optional("fades"),
)
FACTS_FILE = Group({"schema": _VERSION, "facts": _by_name(FACT)})
LOOK = Group({"if": _FACTS, "word": _TEXT, "joined": _YES_NO}, _optional("if", "joined"))
DRAWN = Group({"name": _TEXT, "shows": {**_list(LOOK), "minItems": 1}})
PICTURE_FILE = Group({"schema": _VERSION, "line": _list(DRAWN)})
PART_FILE = Group(
    {
        "schema": _VERSION,
        "title": _TEXT,
        "takes": _list(_TEXT),
        "facts": _by_name(FACT),
        "steps": _list(STEP),
        "responses": _list(RESPONSE),
        "spoilings": _list(MISHAP),
        "troubles": _list(MISHAP),
    },
    _optional("takes", "facts", "steps", "responses", "spoilings", "troubles"),
)
USE = Group({"part": _TEXT, "with": _by_name(_TEXT), "when": _CHOICE}, _optional("with", "when"))
CIRCUMSTANCE = Group(
    {
        "choice": _one_of(*CHOICES),
        "fresh": _TEXT,
        "otherwise": _TEXT,
        "ended": _one_of(*ENDS),
        "step": _NAME,
        "within": _TIME,
        "until": _list(_TIME),
        "left": _FACTS,
        "when": _CHOICE,
    },
    _optional("ended", "step", "within", "until", "left", "when"),
)
DOSE_FILE = Group(
    {
        "schema": _VERSION,
        "title": _TEXT,
        "background": _TEXT,
        "so_far": Group({"none": _TEXT, "some": _TEXT, "read": _TEXT}),
        "where": Group({"known": _TEXT, "unknown": _TEXT}),
        "close_line": Group({"present": _TEXT, "none": _TEXT}),
        "off_pace": _TEXT,
        "given": _FACTS,
        "idle": _SECONDS,
        "lead_in": _SECONDS,
        "menu": _by_name(_TEXT),
        "parts": _list(USE),
        "circumstances": _list(CIRCUMSTANCE),
    }
)
TEACH_BACK = Group(
    {"id": _NAME, "asks": _TEXT, "points": _list(_TEXT), "when": _CHOICE}, _optional("when")
)
INTERRUPTION = Group({"id": _NAME, "seen": _TEXT})
SIGN_OFF = Group({"runs": _WHOLE, "days": _WHOLE, "surprises": _WHOLE})
TEACHING_FILE = Group(
    {
        "schema": _VERSION,
        "sign_off": SIGN_OFF,
        "reads": _TEXT,
        "interruptions": _list(INTERRUPTION),
        "teach_back": _list(TEACH_BACK),
    }
)
KEY = Group({"press": _TEXT, "expect": _TEXT})
CARD_FILE = Group(
    {"schema": _VERSION, "name": _TEXT, "demonstration": _YES_NO, "keys": _by_name(KEY)},
    _optional("demonstration"),
)

# The files that the proof reads

_NAMES: Shape = {"anyOf": (_TEXT, _list(_TEXT))}
EVENT = Group(
    {"step": _NAMES, "attempt": _NAMES, "told": _NAMES, "left": _YES_NO, "finished": _YES_NO},
    _optional("step", "attempt", "told", "left", "finished"),
)
TIMED_STEPS = Group({"step": _NAMES, **dict.fromkeys(TIMED, _TEXT)}, _optional("step", *TIMED))
COMPARED_STEPS = Group(
    {"step": _NAMES, **dict.fromkeys(COMPARED, _TEXT)}, _optional("step", *COMPARED)
)
RULE = Group(
    {
        "id": _TEXT,
        "number": _WHOLE,
        "says": _TEXT,
        "source": _TEXT,
        "hurts": _YES_NO,
        "when": _CHOICE,
        "for": _by_name(_list(_TEXT)),
        "only": EVENT,
        "never": EVENT,
        "always": EVENT,
        "after": EVENT,
        "since": EVENT,
        "until": EVENT,
        "where": _FACTS,
        "facts": _FACTS,
        "ends": _FACTS,
        "fades": _FACTS,
        "timed": TIMED_STEPS,
        "compared": COMPARED_STEPS,
        "elsewhere": _TEXT,
    },
    _optional("hurts", "when", "for", "after", "since", "until", "where", "facts"),
    ways=tuple((form,) for form in RULE_FORMS),
)
RULES_FILE = Group({"schema": _VERSION, "rules": _list(RULE)})
WORD_LIST = Group({"source": _TEXT, "words": _TEXT})
COMMON_FILE = Group({"schema": _VERSION, "lists": _list(WORD_LIST)})
GLOSSARY_FILE = Group({"schema": _VERSION, "source": _TEXT, "words": _by_name(_TEXT)})
ACTIONS_FILE = Group({"schema": _VERSION, "source": _TEXT, "moves": _TEXT, "keeps": _TEXT})
NEVER = Group({"forms": _list(_TEXT), "write": _TEXT, "source": _TEXT})
NEVER_FILE = Group({"schema": _VERSION, "never": _list(NEVER)})
