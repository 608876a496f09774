"""One step as it is written, read into one step of the model.

Owns the fields of a step and of the ways in which a step can be answered.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from coach.errors import OrderError
from coach.nodes import Bad, Fields, Node, Problems, boolean, list_of, one_of, text, whole
from coach.orders.quantities import parse_quantity, seconds
from coach.orders.values import VALUE_NAMES
from coach.procedure import form
from coach.procedure.conditions import Names
from coach.procedure.facts import Choices, Wanted, Where
from coach.procedure.model import (
    SINCE_DUE,
    Act,
    Ask,
    Hold,
    Mishap,
    Outcome,
    Question,
    Reading,
    Recheck,
    Step,
    Stop,
    Wait,
    Within,
)

LONGEST: Mapping[str, int] = {
    "title": 28,
    "do": 112,
    "why": 84,
    "question": 80,
    "says": 60,
    "menu": 52,
    "leave": 120,
    "close": 120,
    "situation": 120,
    "assessment": 120,
    "request": 120,
}
"""Characters that a screen of 40 by 12 has room for, by kind of text, its values filled in."""
LONGEST_OTHER = 240
"""Characters for every other kind."""

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


def name_of(node: Node) -> str:
    """Read a name: lower-case words and digits joined by hyphens. Raises Bad."""
    written = text(node)
    if not _ID.fullmatch(written):
        raise Bad(node.problem("lower-case letters and digits, joined by hyphens"))
    return written


def where_of(node: Node) -> Where:
    """Return the place of *node*."""
    return Where(node.file, node.line)


def read_choices(fields: Fields, names: Names, whole_part: Node | None) -> Choices:
    """Return ``when`` of a step or mishap together with that of the part it stands in."""
    own: Choices = fields.optional("when", names.choices, {})
    if whole_part is None:
        return own
    with names.problems.caught():
        outer = names.choices(whole_part)
        both = dict(outer)
        for name, values in own.items():
            both[name] = tuple(v for v in values if v in outer.get(name, values))
        return both
    return own


def read_seconds(node: Node) -> int:
    """Read a literal time in whole seconds, such as ``8 s`` or ``10 min``. Raises Bad."""
    try:
        found = parse_quantity(text(node), "duration")
    except OrderError as error:
        raise Bad(node.problem("a time, such as 8 s", hint=str(error))) from error
    return math.ceil(seconds(found))


def value_name(node: Node) -> str:
    """Read the name of a value of the order sheet. Raises Bad."""
    return one_of(*sorted(VALUE_NAMES))(node)


def time_name(node: Node) -> str:
    """Read the name of a time of the order sheet. Raises Bad."""
    return one_of(*form.TIMES)(node)


class StepReader:
    """Reads the steps of one part."""

    def __init__(self, names: Names, part: str, when: Node | None) -> None:
        """Take what may be spoken of, the heading, and the condition of the whole part."""
        self.names = names
        self.part = part
        self.when = when

    @property
    def problems(self) -> Problems:
        """Where problems are kept."""
        return self.names.problems

    def step(self, node: Node) -> Step:
        """Read a step of the list."""
        fields = Fields(node, form.STEP.names, self.problems)
        only_if = fields.optional("if", self.names.forbids, 0)
        return self._step(node, fields, only_if)

    def response(self, node: Node) -> Step:
        """Read a step that comes first as soon as its condition holds."""
        fields = Fields(node, form.RESPONSE.names, self.problems)
        return self._step(node, fields, fields.required("as_soon_as", self.names.forbids, 0))

    def _step(self, node: Node, fields: Fields, only_if: int) -> Step:
        names = self.names
        needs: Wanted = fields.optional("needs", names.wanted, {})
        sets: Mapping[str, str] = fields.optional("sets", names.sets, {})
        ask, outcomes = self._way(node, fields, sets)
        return Step(
            id=fields.required("id", name_of, ""),
            part=self.part,
            title=fields.required("title", names.words, ""),
            do=fields.required("do", names.words, ""),
            why=fields.required("why", names.words, ""),
            where=where_of(node),
            when=read_choices(fields, names, self.when),
            only_if=only_if,
            needs=names.table.forbids(needs),
            needs_named=needs,
            outcomes=outcomes,
            ask=ask,
            hands_busy=fields.optional("hands", one_of("busy"), "") == "busy",
            pump=fields.optional("pump", name_of, ""),
            uses=fields.optional("uses", self._uses, {}),
            lasting=fields.optional("lasting", boolean, False),
            critical=fields.optional("critical", boolean, False),
            line=fields.optional("line", self.names.words, ""),
            beside=fields.optional("beside", boolean, False),
            records=fields.optional("records", one_of(*form.RECORDED), ""),
            amount=fields.optional("amount", value_name, ""),
        )

    def _uses(self, node: Node) -> Mapping[str, int]:
        if not isinstance(node.value, dict):
            raise Bad(node.problem("supplies with numbers"))
        return {name: whole(child) for name, child in node.value.items()}

    def _outcome(
        self,
        name: str,
        sets: Mapping[str, str],
        says: str = "",
        ends: bool = False,
        seen: str = "",
    ) -> Outcome:
        return Outcome(name, says, self.names.table.effect(sets), sets, ends, seen)

    def _way(
        self, node: Node, fields: Fields, sets: Mapping[str, str]
    ) -> tuple[Ask, tuple[Outcome, ...]]:
        written = [way for way in form.WAYS if way in fields]
        done = (self._outcome("done", sets),)
        if len(written) > 1:
            listed = " and ".join(written)
            self.problems.add(node.problem("one way of answering", f"{listed} together"))
        sees = fields.optional("sees", self.names.forbids, 0)
        if not written:
            return Act(sees=sees), done
        way = written[0]
        child = fields.child(way)
        if sees and way != "pace":
            self.problems.add(fields.child("sees").problem("nothing: only an action sees here"))
        if way == "hold":
            return Hold(fields.required("hold", time_name, "scrub_time")), done
        if way == "pace":
            return Act(fields.required("pace", read_seconds, 0), sees), done
        if way == "wait":
            return self._wait(child), done
        if way == "ask":
            return self._question(child, sets)
        if way == "type":
            return self._reading(child, sets)
        if way == "recheck":
            return self._recheck(child, sets)
        if way == "within":
            return self._within(child, sets)
        return self._stop(child, sets)

    def _wait(self, node: Node) -> Wait:
        fields = Fields(node, form.WAIT.names, self.problems)
        since = fields.required("since", one_of(*self.names.values), "")
        return Wait(
            time=fields.required("time", time_name, "dry_time"),
            since=since,
            runs_while=fields.required("while", self.names.forbids, 0),
            gives=fields.optional("gives", value_name, ""),
        )

    def _question(
        self, node: Node, sets: Mapping[str, str]
    ) -> tuple[Question, tuple[Outcome, ...]]:
        fields = Fields(node, form.ASK.names, self.problems)
        asks = fields.required("question", self.names.words, "")
        read_all = list_of(self._answer, self.problems)
        answers: tuple[Outcome, ...] = fields.required("answers", read_all, ())
        answer_names = [answer.name for answer in answers]
        for name in sorted({n for n in answer_names if answer_names.count(n) > 1}):
            self.problems.add(node.problem("each answer with an id of its own", f'"{name}" twice'))
        if len(answers) < 2:
            self.problems.add(node.problem("at least two answers", f"{len(answers)}"))
        if sets:
            self.problems.add(node.problem("sets with each answer", "sets for the whole step"))
        sees = fields.optional("sees", self.names.forbids, 0)
        return Question(asks, sees), answers or (self._outcome("yes", {}, "Yes"),)

    def _answer(self, node: Node) -> Outcome:
        fields = Fields(node, form.ANSWER.names, self.problems)
        sets: Mapping[str, str] = fields.required("sets", self.names.sets, {})
        says = fields.required("says", self.names.words, "")
        seen = fields.optional("seen", self.names.words, "")
        return self._outcome(fields.required("id", name_of, ""), sets, says, seen=seen)

    def _reading(self, node: Node, sets: Mapping[str, str]) -> tuple[Reading, tuple[Outcome, ...]]:
        fields = Fields(node, form.TYPE.names, self.problems)
        against: tuple[str, ...] = fields.required("against", self._value_names, ("volume",))
        check = fields.required("check", one_of(*form.CHECKS), "equals")
        if "against" in fields and check == "outlasts":
            for name in sorted(set(against) - set(form.TIMES)):
                expected = "times, " + ", ".join(form.TIMES)
                self.problems.add(fields.child("against").problem(expected, f'"{name}"'))
        elif len(against) != 1:
            self.problems.add(fields.child("against").problem("one value to compare with"))
        differs: Mapping[str, str] = fields.required("differs", self.names.sets, {})
        ask = Reading(
            asks=fields.required("prompt", self.names.words, ""),
            check=check,
            against=against,
            left_of=fields.optional("left_of", value_name, ""),
        )
        return ask, (self._outcome("agrees", sets), self._outcome("differs", differs))

    def _value_names(self, node: Node) -> tuple[str, ...]:
        if isinstance(node.value, list):
            return list_of(value_name, self.problems)(node)
        return (value_name(node),)

    def _recheck(self, node: Node, sets: Mapping[str, str]) -> tuple[Recheck, tuple[Outcome, ...]]:
        fields = Fields(node, form.RECHECK.names, self.problems)
        late: Mapping[str, str] = fields.required("late", self.names.sets, {})
        ask = Recheck(fields.required("reading", name_of, ""))
        return ask, (self._outcome("holds", sets), self._outcome("late", late))

    def _within(self, node: Node, sets: Mapping[str, str]) -> tuple[Within, tuple[Outcome, ...]]:
        fields = Fields(node, form.WITHIN.names, self.problems)
        late: Mapping[str, str] = fields.required("late", self.names.sets, {})
        ask = Within(
            time=fields.required("time", time_name, "out_at_most"),
            since=fields.required("since", self._one_setting, ("", "")),
            until=fields.optional("until", list_of(time_name, self.problems), ()),
        )
        return ask, (self._outcome("in-time", sets), self._outcome("late", late))

    def _one_setting(self, node: Node) -> tuple[str, str]:
        if node.value == SINCE_DUE[0]:
            return SINCE_DUE
        written = node.value if isinstance(node.value, dict) else {}
        if len(written) != 1:
            raise Bad(node.problem("due, or one fact with the value that it was set to"))
        for fact, value in self.names.sets(node).items():
            return fact, value
        return "", ""

    def _stop(self, node: Node, sets: Mapping[str, str]) -> tuple[Stop, tuple[Outcome, ...]]:
        fields = Fields(node, form.STOP.names, self.problems)
        words = self.names.words
        stop = Stop(
            call=fields.required("call", one_of(*form.CALLS), "nurse"),
            leave=fields.required("leave", words, ""),
            close=fields.required("close", words, ""),
            situation=fields.required("situation", words, ""),
            assessment=fields.required("assessment", words, ""),
            request=fields.required("request", words, ""),
            frees=fields.optional("frees", boolean, False),
        )
        called = fields.required("called", words, "")
        outcomes = [self._outcome("called", sets, called, ends=True)]
        if "goes_on" in fields:
            on = Fields(fields.child("goes_on"), form.GOES_ON.names, self.problems)
            on_sets: Mapping[str, str] = on.required("sets", self.names.sets, {})
            outcomes.append(self._outcome("goes-on", on_sets, on.required("says", words, "")))
        return stop, tuple(outcomes)


class MishapReader:
    """Reads spoilings or troubles."""

    def __init__(self, names: Names, when: Node | None, kind: str, *, kept: bool) -> None:
        """Take what may be spoken of, the condition of the whole part, and the kind.

        One of a procedure that was *kept* with a dose may lack what a learner is shown.
        """
        self.names = names
        self.when = when
        self.kind = kind
        self.kept = kept

    def mishap(self, node: Node) -> Mishap:
        """Read one."""
        fields = Fields(node, form.MISHAP.names, self.names.problems)
        seen = fields.optional if self.kept else fields.required
        return Mishap(
            id=fields.required("id", name_of, ""),
            kind=self.kind,
            group=fields.required("group", name_of, ""),
            title=fields.required("title", self.names.words, ""),
            seen=seen("seen", self.names.words, ""),
            where=where_of(node),
            when=read_choices(fields, self.names, self.when),
            at=fields.required("at", self.names.forbids, 0),
            effect=self.names.table.effect(fields.required("sets", self.names.sets, {})),
            final=fields.optional("final", boolean, False),
        )
