"""The safety rules, read from the files: what must hold in every state of every dose.

Owns the forms that a rule can have, which are the standard ones for properties of runs: never,
always, only after something since something else, and that an end can be reached. It must never
look at a state; that is the search's.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fnmatch import translate
from itertools import product
from pathlib import Path

import msgspec

from coach.nodes import Bad, Fields, Node, Problems, boolean, list_of, read_file, text, whole
from coach.procedure.conditions import Names
from coach.procedure.facts import Choices, Where
from coach.procedure.files import check_schema
from coach.procedure.form import (
    COMPARED,
    COMPARED_STEPS,
    EVENT,
    RULE,
    RULE_FORMS,
    RULES_FILE,
    TIMED,
    TIMED_STEPS,
)
from coach.procedure.model import Source


class Event(msgspec.Struct, frozen=True):
    """What a rule speaks of: any of these things happening."""

    done: frozenset[str] = frozenset()
    """Steps that end as hoped, by id."""
    tried: frozenset[str] = frozenset()
    """Steps that end in any way, by id."""
    told: frozenset[str] = frozenset()
    """Mishaps, by id."""
    left: bool = False
    finished: bool = False


NOTHING = Event()


class Rule(msgspec.Struct, frozen=True):
    """One safety rule."""

    id: str
    number: int
    """Which of the nineteen it belongs to."""
    says: str
    source: str
    hurts: bool
    form: str
    where: Where
    when: Choices
    """The kinds of order sheet that it speaks of; empty for all."""
    event: Event = NOTHING
    """What must happen only so, or never."""
    after: Event = NOTHING
    since: Event = NOTHING
    """What undoes ``after``; for ``never``, what lifts the ban."""
    given: int = 0
    """Bits that must be absent before for the event to count."""
    unless: int = 0
    """For ``always``: bits that must be absent before. For ``ends``: bits that are absent where it
    counts. For ``fades``: bits that must be absent afterwards."""
    value: tuple[str, str] = ("", "")
    """For ``timed`` and ``compared``: the kind of asking, and the value of the order sheet."""
    elsewhere: str = ""


def read_rules(folder: Path, source: Source) -> tuple[Rule, ...]:
    """Return the rules in the folder *folder*, for the procedure *source*.

    Raises FileProblems with every problem in every one of its files.
    """
    problems = Problems()
    values = {fact.name: fact.values for fact in source.table.facts}
    names = Names(source.table, values, frozenset(), problems)
    rules: list[Rule] = []
    for path in sorted(folder.glob("*.yaml")):
        top = Fields(
            read_file(path, f"procedures/{folder.name}/{path.name}"),
            RULES_FILE.names, problems,
        )  # fmt: skip
        check_schema(top)
        reader = _Reader(source, names)
        nothing: tuple[tuple[Rule, ...], ...] = ()
        for found in top.required("rules", list_of(reader.rules, problems), nothing):
            rules += found
    problems.raise_if_any()
    return tuple(rules)


class _Reader:
    def __init__(self, source: Source, names: Names) -> None:
        self.names = names
        self.problems = names.problems
        self.steps = frozenset(step.id for step in source.steps + source.responses)
        self.mishaps = frozenset(mishap.id for mishap in source.mishaps)

    def rules(self, node: Node) -> tuple[Rule, ...]:
        """Read one rule, or one for each value of what it is written ``for``."""
        fields = Fields(node, RULE.names, self.problems)
        nothing: Mapping[str, tuple[str, ...]] = {}
        loops = fields.optional("for", self._loops, nothing)
        cases = [dict(zip(loops, case, strict=True)) for case in product(*loops.values())]
        return tuple(self._rule(fields, case) for case in cases)

    def _loops(self, node: Node) -> Mapping[str, tuple[str, ...]]:
        if not isinstance(node.value, dict):
            raise Bad(node.problem("names with lists of words"))
        parse = list_of(text, self.problems)
        return {name: parse(child) for name, child in node.value.items()}

    def _rule(self, fields: Fields, case: Mapping[str, str]) -> Rule:
        forms = [form for form in RULE_FORMS if form in fields]
        if len(forms) != 1:
            raise Bad(fields.node.problem("just one of " + ", ".join(RULE_FORMS), ", ".join(forms)))
        form = forms[0]
        ident = fields.required("id", text, "")
        rule = Rule(
            id="-".join((ident, *case.values())),
            number=fields.required("number", whole, 0),
            says=fields.required("says", text, ""),
            source=fields.required("source", text, ""),
            hurts=fields.optional("hurts", boolean, default=False),
            form=form,
            where=Where(fields.node.file, fields.node.line),
            when=fields.optional("when", self.names.choices, {}),
        )
        return msgspec.structs.replace(rule, **self._body(fields, form, case))

    def _body(self, fields: Fields, form: str, case: Mapping[str, str]) -> dict[str, object]:
        def event(node: Node) -> Event:
            return self._event(_filled(node, case))

        def forbids(node: Node) -> int:
            return self.names.forbids(_filled(node, case))

        if form == "elsewhere":
            return {"elsewhere": fields.required(form, text, "")}
        if form in ("ends", "fades"):
            return {"unless": fields.required(form, forbids, 0)}
        if form in ("timed", "compared"):
            return fields.required(form, lambda node: self._asked(_filled(node, case), form), {})
        return {
            "event": fields.required(form, event, NOTHING),
            "after": fields.optional("after", event, NOTHING),
            "since": fields.optional("until" if form == "never" else "since", event, NOTHING),
            "given": fields.optional("where", forbids, 0),
            "unless": fields.optional("facts", forbids, 0),
        }

    def _event(self, node: Node) -> Event:
        fields = Fields(node, EVENT.names, self.problems)
        return Event(
            done=self._known(fields, "step", self.steps),
            tried=self._known(fields, "attempt", self.steps),
            told=self._known(fields, "told", self.mishaps),
            left=fields.optional("left", boolean, default=False),
            finished=fields.optional("finished", boolean, default=False),
        )

    def _asked(self, node: Node, form: str) -> dict[str, object]:
        allowed, group = (TIMED, TIMED_STEPS) if form == "timed" else (COMPARED, COMPARED_STEPS)
        fields = Fields(node, group.names, self.problems)
        kinds = [kind for kind in allowed if kind in fields]
        if len(kinds) != 1:
            raise Bad(node.problem("one kind of asking, with a value of the order sheet"))
        return {
            "event": Event(done=self._known(fields, "step", self.steps)),
            "value": (kinds[0], fields.required(kinds[0], text, "")),
        }

    def _known(self, fields: Fields, name: str, known: Iterable[str]) -> frozenset[str]:
        """Read names, each of which must fit something that there is."""

        def names(node: Node) -> frozenset[str]:
            found: set[str] = set()
            for child in node.value if isinstance(node.value, list) else [node]:
                written = text(child)
                fitting = set(filter(re.compile(translate(written)).match, known))
                if not fitting:
                    self.problems.add(child.problem(f"a {name} that there is", f'"{written}"'))
                found |= fitting
            return frozenset(found)

        return fields.optional(name, names, frozenset())


def _filled(node: Node, case: Mapping[str, str]) -> Node:
    """Return *node* with the words of *case* in the place of their names."""
    value = node.value
    if isinstance(value, str):
        return msgspec.structs.replace(node, value=_worded(value, case))
    if isinstance(value, list):
        return msgspec.structs.replace(node, value=[_filled(child, case) for child in value])
    return msgspec.structs.replace(
        node, value={_worded(name, case): _filled(child, case) for name, child in value.items()}
    )


def _worded(written: str, case: Mapping[str, str]) -> str:
    for name, word in case.items():
        written = written.replace(f"<{name}>", word)
    return written
