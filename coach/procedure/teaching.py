"""What the agency asks of a learner: its rule for signing off, open questions, interruptions.

Owns the reading of that one file. It must never be needed to follow a dose.
"""

from __future__ import annotations

import msgspec

from coach.nodes import Bad, Fields, Node, Problems, list_of, text, whole
from coach.procedure import form
from coach.procedure.conditions import Names
from coach.procedure.facts import Choices, FactTable
from coach.procedure.files import Bundle, check_schema, read_one
from coach.procedure.steps import name_of

FILE = "teaching.yaml"


class SignOffRule(msgspec.Struct, frozen=True):
    """What has to be shown before somebody is signed off."""

    runs: int
    """How many in a row, each of them alone."""
    days: int
    """On how many days at least."""
    surprises: int
    """In how many of them a surprise was met."""


class Interruption(msgspec.Struct, frozen=True):
    """Something that comes in the middle of a timed step and changes nothing."""

    id: str
    seen: str
    """What the learner is shown."""


class OpenQuestion(msgspec.Struct, frozen=True):
    """Something to be told in one's own words."""

    id: str
    asks: str
    points: tuple[str, ...]
    """What a good answer has."""
    when: Choices
    """For which order sheets it is."""


class Teaching(msgspec.Struct, frozen=True):
    """All that the file holds."""

    rule: SignOffRule
    reads: str
    """How a number is shown that is to be read off: it stands in place of ``{typed}``."""
    interruptions: tuple[Interruption, ...]
    questions: tuple[OpenQuestion, ...]


def read_teaching(bundle: Bundle) -> Teaching:
    """Return what *bundle* asks of a learner.

    Raises FileProblems with every problem in the file, or if it is not there.
    """
    problems = Problems()
    fields = Fields(read_one(bundle, FILE), form.TEACHING_FILE.names, problems)
    check_schema(fields)
    reader = _Reader(problems)
    teaching = Teaching(
        rule=fields.required("sign_off", reader.rule, SignOffRule(1, 1, 0)),
        reads=fields.required("reads", reader.reads, ""),
        interruptions=fields.required("interruptions", list_of(reader.interruption, problems), ()),
        questions=fields.required("teach_back", list_of(reader.question, problems), ()),
    )
    problems.raise_if_any()
    return teaching


class _Reader:
    def __init__(self, problems: Problems) -> None:
        self.problems = problems
        self.names = Names(FactTable.of(()), {}, frozenset(), problems)
        self.seen: set[str] = set()

    def rule(self, node: Node) -> SignOffRule:
        fields = Fields(node, form.SIGN_OFF.names, self.problems)
        runs, days, surprises = (fields.required(n, whole, 1) for n in form.SIGN_OFF.fields)
        if not (1 <= days <= runs and surprises <= runs):
            raise Bad(node.problem("runs from 1, and no more days or surprises than runs"))
        return SignOffRule(runs, days, surprises)

    def reads(self, node: Node) -> str:
        written = self.names.words(node)
        if "{typed}" not in written:
            raise Bad(node.problem("a text with {typed} in it"))
        return written

    def interruption(self, node: Node) -> Interruption:
        fields = Fields(node, form.INTERRUPTION.names, self.problems)
        return Interruption(
            fields.required("id", self._once, ""), fields.required("seen", self.names.words, "")
        )

    def question(self, node: Node) -> OpenQuestion:
        fields = Fields(node, form.TEACH_BACK.names, self.problems)
        points: tuple[str, ...] = fields.required("points", list_of(text, self.problems), ())
        if not points and "points" in fields:
            self.problems.add(fields.child("points").problem("at least one point", "none"))
        return OpenQuestion(
            id=fields.required("id", self._once, ""),
            asks=fields.required("asks", text, ""),
            points=points,
            when=fields.optional("when", self.names.choices, {}),
        )

    def _once(self, node: Node) -> str:
        name = name_of(node)
        if name in self.seen:
            raise Bad(node.problem("a name that no other has"))
        self.seen.add(name)
        return name
