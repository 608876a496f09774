"""Reads a procedure's folder into one checked source, or says everything that is wrong with it.

Owns the order of reading: files, facts, names, steps, and what only the whole can show (names
used twice, needs that nothing provides). It must never choose for an order sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from coach.errors import Problem
from coach.nodes import Bad, Fields, Node, Problems, boolean, list_of, nearest, one_of, text
from coach.orders.values import CHOICES
from coach.procedure import form
from coach.procedure.compose import provides
from coach.procedure.conditions import Names
from coach.procedure.facts import Fact, FactTable, Start
from coach.procedure.files import Bundle, Files, check_schema, read_files, read_one
from coach.procedure.model import (
    Circumstance,
    Drawn,
    Look,
    Mishap,
    PumpKey,
    Reading,
    Recheck,
    Source,
    Step,
)
from coach.procedure.steps import (
    MishapReader,
    StepReader,
    name_of,
    read_seconds,
    time_name,
    where_of,
)

T = TypeVar("T")


def read_source(bundle: Bundle, *, kept: bool = False) -> Source:
    """Return the procedure in *bundle*.

    One that was *kept* with a dose may be older than what only a rehearsal shows, and is read
    without it. Raises FileProblems with every problem in every file of it.
    """
    problems = Problems()
    files = read_files(bundle, problems)
    table = FactTable.of(_facts(files, problems))
    values = {fact.name: fact.values for fact in table.facts}
    names = Names(table, values, _supplies(files), problems)
    steps: list[Step] = []
    responses: list[Step] = []
    mishaps: list[Mishap] = []
    for part in files.parts:
        reader = StepReader(names, part.title, part.when)
        steps += _all(part.lists, "steps", reader.step, problems)
        responses += _all(part.lists, "responses", reader.response, problems)
        for section, kind in (("spoilings", "spoiled"), ("troubles", "trouble")):
            read = MishapReader(names, part.when, kind, kept=kept).mishap
            mishaps += _all(part.lists, section, read, problems)
    # A stop that ends the dose comes before anything that could still be done.
    responses.sort(key=lambda step: not all(outcome.ends for outcome in step.outcomes))
    source = _source(files, names, tuple(steps), tuple(responses), tuple(mishaps))
    _check_whole(source, problems)
    problems.raise_if_any()
    return source


def _all(
    lists: Mapping[str, Node], section: str, read: Callable[[Node], T], problems: Problems
) -> tuple[T, ...]:
    if section not in lists:
        return ()
    with problems.caught():
        return list_of(read, problems)(lists[section])
    return ()


def _source(
    files: Files,
    names: Names,
    steps: tuple[Step, ...],
    responses: tuple[Step, ...],
    mishaps: tuple[Mishap, ...],
) -> Source:
    dose, problems = files.dose, names.problems
    drawn: tuple[Drawn, ...] = ()
    with problems.caught():
        drawn = list_of(lambda node: _drawn(node, names), problems)(files.picture)
    read_circumstances = list_of(lambda node: _circumstance(node, names), problems)
    troubles = [mishap.id for mishap in mishaps if mishap.kind == "trouble"]
    return Source(
        title=dose.required("title", text, ""),
        table=names.table,
        steps=steps,
        responses=responses,
        mishaps=mishaps,
        groups=dose.required("menu", _menu, {}),
        picture=drawn,
        circumstances=dose.required("circumstances", read_circumstances, ()),
        background=dose.required("background", names.words, ""),
        so_far=dose.required("so_far", _texts(names, "none", "some", "read"), ()),
        where=dose.required("where", _texts(names, "known", "unknown"), ()),
        close_line=dose.required("close_line", _texts(names, "present", "none"), ()),
        off_pace=dose.required("off_pace", one_of(*troubles), ""),
        given=dose.required("given", names.forbids, 0),
        idle=dose.required("idle", read_seconds, 0),
        lead_in=dose.required("lead_in", read_seconds, 0),
    )


def _texts(names: Names, *wanted: str) -> Callable[[Node], tuple[str, ...]]:
    """Return a reader for several texts, of which a dose shows one."""

    def read(node: Node) -> tuple[str, ...]:
        fields = Fields(node, frozenset(wanted), names.problems)
        return tuple(fields.required(name, names.words, "") for name in wanted)

    return read


def _menu(node: Node) -> Mapping[str, str]:
    if not isinstance(node.value, dict):
        raise Bad(node.problem("menu lines by name"))
    return {name: text(child) for name, child in node.value.items()}


def _supplies(files: Files) -> frozenset[str]:
    found: set[str] = set()
    for part in files.parts:
        steps = part.lists.get("steps")
        for step in steps.value if steps and isinstance(steps.value, list) else ():
            uses = step.value.get("uses") if isinstance(step.value, dict) else None
            if uses is not None and isinstance(uses.value, dict):
                found |= uses.value.keys()
    return frozenset(found)


def _facts(files: Files, problems: Problems) -> tuple[Fact, ...]:
    found: dict[str, Fact] = {}
    groups = [files.facts] + [part.lists["facts"] for part in files.parts if "facts" in part.lists]
    for group in groups:
        if not isinstance(group.value, dict):
            problems.add(group.problem("facts by name"))
            continue
        for name, node in group.value.items():
            if name in found:
                row = node.problem("each fact once", f'"{name}" a second time')
                problems.add(row)
            else:
                found[name] = _fact(name, node, problems)
    return tuple(found.values())


def _fact(name: str, node: Node, problems: Problems) -> Fact:
    fields = Fields(node, form.FACT.names, problems)
    written: tuple[str, ...] = fields.required("values", list_of(name_of, problems), ())
    if "values" in fields and isinstance(fields.child("values").value, list) and not written:
        problems.add(fields.child("values").problem("at least one value", "none"))
    values = written or ("unknown",)
    for value in values:
        if values.count(value) > 1:
            problems.add(fields.child("values").problem("each value once", f'"{value}" twice'))
    allowed = one_of(*values)
    starts: tuple[Start, ...] = fields.required(
        "starts", lambda child: _starts(child, values, problems), ()
    )
    return Fact(
        name=name,
        about=fields.required("about", text, ""),
        values=values,
        starts=starts or (Start({}, values[0]),),
        fades=fields.optional("fades", lambda child: _fades(child, allowed, problems), {}),
        where=where_of(node),
    )


def _starts(node: Node, values: tuple[str, ...], problems: Problems) -> tuple[Start, ...]:
    if not isinstance(node.value, list):
        return (Start({}, one_of(*values)(node)),)
    names = Names(FactTable.of(()), {}, frozenset(), problems)

    def start(child: Node) -> Start:
        fields = Fields(child, form.START.names, problems)
        value = fields.required("value", one_of(*values), values[0])
        return Start(fields.optional("when", names.choices, {}), value)

    starts = list_of(start, problems)(node)
    if not starts or starts[-1].when:
        raise Bad(node.problem("a last value without when, for all other sheets"))
    return starts


def _fades(node: Node, allowed: Callable[[Node], str], problems: Problems) -> Mapping[str, str]:
    if not isinstance(node.value, dict):
        raise Bad(node.problem("values with what becomes of them"))
    found = {}
    for value, child in node.value.items():
        with problems.caught():
            allowed(Node(child.file, child.line, child.column, child.field, value))
            found[value] = allowed(child)
    return found


def _drawn(node: Node, names: Names) -> Drawn:
    fields = Fields(node, form.DRAWN.names, names.problems)

    def look(child: Node) -> Look:
        inner = Fields(child, form.LOOK.names, names.problems)
        return Look(
            unless=inner.optional("if", names.forbids, 0),
            word=inner.required("word", text, ""),
            joined=inner.optional("joined", boolean, False),
        )

    looks: tuple[Look, ...] = fields.required("shows", list_of(look, names.problems), ())
    if not looks or looks[-1].unless:
        raise Bad(node.problem("a last look without if, for all other facts"))
    return Drawn(fields.required("name", text, ""), looks)


def _circumstance(node: Node, names: Names) -> Circumstance:
    fields = Fields(node, form.CIRCUMSTANCE.names, names.problems)
    choice = fields.required("choice", one_of(*CHOICES), "batteries")
    allowed = one_of(*CHOICES[choice])
    ended = fields.optional("ended", one_of(*form.ENDS), "")
    by_step = fields.optional if ended else fields.required
    return Circumstance(
        choice=choice,
        fresh=fields.required("fresh", allowed, ""),
        otherwise=fields.required("otherwise", allowed, ""),
        ended=ended,
        step=by_step("step", name_of, ""),
        within=by_step("within", time_name, ""),
        until=fields.optional("until", list_of(time_name, names.problems), ()),
        left=fields.optional("left", names.wanted, {}),
        when=fields.optional("when", names.choices, {}),
        where=where_of(node),
    )


def _check_whole(source: Source, problems: Problems) -> None:
    _check_once(source.steps + source.responses, problems)
    _check_once(source.mishaps, problems)
    steps = {step.id for step in source.steps}
    lasting = {
        step.id
        for step in source.steps
        if isinstance(step.ask, Reading) and step.ask.check == "outlasts"
    }
    for step in source.steps + source.responses:
        if isinstance(step.ask, Recheck) and step.ask.reading not in lasting:
            hint = nearest(step.ask.reading, lasting)
            expected = "a step with a check of outlasts"
            _add(problems, step, "recheck.reading", expected, step.ask.reading, hint)
    for mishap in source.mishaps:
        if mishap.group not in source.groups:
            hint = nearest(mishap.group, source.groups)
            _add(problems, mishap, "group", "a line of the menu", mishap.group, hint)
    for circumstance in source.circumstances:
        if circumstance.step not in steps and not circumstance.ended:
            hint = nearest(circumstance.step, steps)
            _add(problems, circumstance, "step", "a step", circumstance.step, hint)
    # A step that could not be read may be the one that sets what another needs.
    if not problems.rows:
        _check_needs(source, problems)


def _add(
    problems: Problems,
    at: Step | Mishap | Circumstance,
    field: str,
    expected: str,
    found: str,
    hint: str,
) -> None:
    # A name that could not be read has been told of already.
    if found:
        row = Problem(at.where.file, at.where.line, 0, field, expected, f'"{found}"', hint)
        problems.add(row)


def _check_once(all_of_them: Sequence[Step] | Sequence[Mishap], problems: Problems) -> None:
    seen: dict[str, Step | Mishap] = {}
    for one in all_of_them:
        if one.id in seen:
            hint = f"It stands first at {seen[one.id].where}."
            _add(problems, one, "id", "a name that no other has", one.id, hint)
        seen.setdefault(one.id, one)


def _check_needs(source: Source, problems: Problems) -> None:
    given = {(fact.name, start.value) for fact in source.table.facts for start in fact.starts}
    given.update(*(step.outcomes[0].sets.items() for step in source.responses))
    for place, step in enumerate(source.steps):
        for fact, allowed in step.needs_named.items():
            if any((fact, value) in given for value in allowed):
                continue
            after = source.steps[place + 1 :]
            later = next((s for s in after if provides(s, fact, allowed)), None)
            hint = f"{later.id} sets it, but comes later." if later else ""
            wanted = " or ".join(allowed)
            _add(
                problems, step, f"needs.{fact}", "something that an earlier step sets", wanted, hint
            )
        given.update(step.outcomes[0].sets.items())


def needed_keys(source: Source) -> frozenset[str]:
    """Return the keys that a pump card has to explain."""
    return frozenset(s.pump for s in source.steps + source.responses if s.pump)


def read_pump_card(bundle: Bundle, card: str, needed: frozenset[str]) -> Mapping[str, PumpKey]:
    """Return the entries of the pump card called *card*, by key.

    Raises FileProblems, also if a *needed* key is missing.
    """
    problems = Problems()
    fields = Fields(read_one(bundle, f"pump_cards/{card}.yaml"), form.CARD_FILE.names, problems)
    check_schema(fields)
    fields.required("name", text, "")
    fields.optional("demonstration", boolean, False)

    def read_key(node: Node) -> PumpKey:
        inner = Fields(node, form.KEY.names, problems)
        return PumpKey(inner.required("press", text, ""), inner.required("expect", text, ""))

    def read_keys(node: Node) -> Mapping[str, PumpKey]:
        group = Fields(node, needed, problems)
        return {name: group.required(name, read_key, PumpKey("", "")) for name in sorted(needed)}

    keys: Mapping[str, PumpKey] = fields.required("keys", read_keys, {})
    problems.raise_if_any()
    return keys
