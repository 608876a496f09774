"""The proof as a whole: every check of one procedure, for every order sheet or for one.

Owns the order of the checks and what is said at the end. It must never print.
"""

from __future__ import annotations

import gc
import json
import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import msgspec

from coach.errors import EngineError, ProofError
from coach.orders.sheet import OrderSheet
from coach.orders.values import sheet_choices
from coach.procedure.compose import compose, fits
from coach.procedure.files import bundle_of
from coach.procedure.model import Source
from coach.procedure.read import read_source
from coach.proof.answered import check_troubles
from coach.proof.cone import lowest, sum_bits
from coach.proof.draw import mermaid
from coach.proof.explore import Broken, Explorer, search_of
from coach.proof.family import family_of, kinds_of
from coach.proof.finding import Finding
from coach.proof.hoped import check_hoped
from coach.proof.lists import WordLists, read_words
from coach.proof.promela import write_promela
from coach.proof.rules import Rule, read_rules
from coach.proof.story import Teller, sheets_of
from coach.proof.structure import (
    check_cases,
    check_ends,
    check_reached,
    check_values,
    no_provider,
    seen_in,
)
from coach.proof.tolerance import Falls, Tolerance, falls, tolerances
from coach.proof.words import check_words
from coach.proof.written import check_files
from coach.says import proof as words

RULES = "rules"
"""The folder of the rules within that of the procedures."""

CAN_FORK = sys.platform == "linux"
"""Whether a search can go on in a process that is forked off."""
MOST_CORES = 2
"""More would each need a copy of the states in memory."""

Kind = Mapping[str, str]
"""One kind of order sheet: an answer for each choice that the procedures ask about."""

Tell = Callable[[str, int], None]
"""Is told what the proof does now, in words, and how many of 100 parts of that are done."""


class Report(msgspec.Struct, frozen=True):
    """What a proof found."""

    findings: tuple[Finding, ...]
    kinds: int
    """How many kinds of order sheet it went through."""
    states: int
    """States that differ in something that can still matter, whatever the kind."""
    transitions: int
    proved: int
    """How many rules hold; none if the search could not be ended."""
    elsewhere: tuple[tuple[str, str], ...]
    """The rules that another part of the coach holds: the sentence, and which part."""
    milliseconds: int
    slips: int = 0
    """How many false ticks in a dose were looked at."""
    slip_states: int = 0
    """The states that false ticks lead to, believed and true together."""
    slip_moves: int = 0
    slip_milliseconds: int = 0
    tolerances: tuple[Tolerance, ...] = ()
    """For each rule that a false tick could break, what it survives."""

    @property
    def holds(self) -> bool:
        """Whether nothing was found."""
        return not self.findings

    def sentences(self) -> Iterator[str]:
        """Yield the report, a line at a time."""
        for finding in self.findings:
            yield from _told(finding)
            yield ""
        holds, seconds = self.holds, f"{self.milliseconds / 1000:.1f}"
        yield words.PROOF_HOLDS if holds else words.PROOF_FAILS.format(number=len(self.findings))
        yield words.PROOF_FIGURES.format(
            kinds=f"{self.kinds:,}", states=f"{self.states:,}", moves=f"{self.transitions:,}",
            rules=self.proved, seconds=seconds,
        )  # fmt: skip
        for says, where in self.elsewhere:
            yield words.PROOF_ELSEWHERE.format(says=says, where=where)
        if self.slips:
            yield from self._survived()

    def _survived(self) -> Iterator[str]:
        yield words.SLIP_HEAD.format(
            most=self.slips, states=f"{self.slip_states:,}", moves=f"{self.slip_moves:,}",
            seconds=f"{self.slip_milliseconds / 1000:.1f}",
        )  # fmt: skip
        broken = [tolerance for tolerance in self.tolerances if tolerance.ticks]
        for one in sorted(broken, key=lambda t: (t.ticks, not t.hurts, t.number)):
            hurts = words.SLIP_HURTS if one.hurts else ""
            yield words.SLIP_RULE.format(ticks=one.ticks, says=one.says, rule=one.rule, hurts=hurts)
            for sentence in one.story:
                yield words.PROOF_STORY.format(sentence=sentence)
        yield words.SLIP_SURVIVES.format(number=len(self.tolerances) - len(broken))

    def as_json(self) -> str:
        """Return the report for another program."""
        found = msgspec.to_builtins(self)
        return json.dumps({"holds": self.holds, **found}, ensure_ascii=False, indent=2)


def _told(finding: Finding) -> Iterator[str]:
    yield words.PROOF_FINDING.format(name=finding.name, says=finding.says)
    if finding.sheets:
        yield words.PROOF_SHEETS.format(sheets=finding.sheets)
    for sentence in finding.story:
        yield words.PROOF_STORY.format(sentence=sentence)
    if finding.where is not None:
        yield words.PROOF_WHERE.format(where=finding.where)


def prove(
    folder: Path, sheet: OrderSheet | None = None, tell: Tell = lambda _, __: None, slips: int = 0
) -> Report:
    """Prove the procedures in *folder*, words and all: for every kind of sheet, or for *sheet*.

    With up to *slips* false ticks in a dose besides, if all holds with honest ones.

    Raises FileProblems if the procedures, their rules or their words cannot be read, and
    ProofError if the two searches contradict each other.
    """
    began = time.perf_counter_ns()
    tell(words.PROVING_READS, 0)
    source = read_source(bundle_of(folder))
    rules, lists = read_rules(folder / RULES, source), read_words(folder)
    kinds = kinds_of(source) if sheet is None else kinds_of_sheet(source, sheet)
    with uncollected():
        proof = check(source, rules, kinds, lists, sheet is None, slips, tell)
    took = (time.perf_counter_ns() - began) // 1_000_000
    tell(words.PROVING_WORDS, 0)
    found = (*proof.findings, *check_words(source, lists))
    return msgspec.structs.replace(proof, findings=found, milliseconds=took)


def kinds_of_sheet(source: Source, sheet: OrderSheet) -> tuple[Kind, ...]:
    """Return the kinds that a dose of *sheet* can be of: what the record decides, both ways."""
    choices = sheet_choices(sheet)
    return tuple(
        kind
        for kind in kinds_of(source)
        if all(choices.get(name, value) == value for name, value in kind.items())
    )


def check(
    source: Source,
    rules: Iterable[Rule],
    kinds: Iterable[Kind],
    lists: WordLists | None = None,
    every: bool = False,
    slips: int = 0,
    tell: Tell = lambda _, __: None,
) -> Report:
    """Check *source* against *rules* for *kinds*; *every* tells whether there are no others.

    What only all kinds together can show, such as a step that is never asked for, is looked at
    where there are no others. Raises ProofError if the two searches contradict each other.
    """
    family = family_of(source, kinds)
    unhoped = tuple(check_hoped(family))
    if unhoped:
        return Report(unhoped, len(family.kinds), 0, 0, 0, (), 0)
    explorer = search_of(family, rules, loops=slips > 0)
    teller = Teller(explorer, lists.moves | lists.keeps if lists else frozenset())
    try:
        explorer.run(partial(tell, words.PROVING_STATES.format(kinds=len(family.kinds))))
    except EngineError:
        found: list[Finding] = [*no_provider(explorer, teller), *_broken(explorer, teller)]
        return _report(explorer, found, whole=False)
    found = [*_no_rules(explorer), *_broken(explorer, teller), *check_files(explorer)]
    found += [*check_ends(explorer, teller), *check_troubles(explorer, teller)]
    if every:
        seen = seen_in(explorer)
        found += [*check_reached(explorer, seen), *check_values(explorer, seen)]
        found += check_cases(explorer, seen)
    report = _report(explorer, found, whole=True)
    if not slips or found:
        return report
    return _with_slips(report, explorer, slips, tell)


@contextmanager
def uncollected() -> Iterator[None]:
    """Look for no memory to be freed meanwhile: a search keeps all its states until it ends."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _with_slips(report: Report, explorer: Explorer, slips: int, tell: Tell) -> Report:
    began = time.perf_counter_ns()
    family, rules = explorer.family, explorer.watch.rules
    cores = min(MOST_CORES, os.cpu_count() or 1) if CAN_FORK else 1
    found = falls(family, rules, slips, cores, partial(tell, words.PROVING_SLIPS), explorer)
    _agree(rules, found)
    return msgspec.structs.replace(
        report,
        slips=slips,
        slip_states=found.states,
        slip_moves=found.moves,
        slip_milliseconds=(time.perf_counter_ns() - began) // 1_000_000,
        tolerances=tolerances(family, rules, found),
    )


def _agree(rules: tuple[Rule, ...], found: Falls) -> None:
    """Refuse what was *found* if a rule falls to no false tick: with honest ones all of them hold.

    Such a fall is an error of a search, and would be told as a rule that survives.
    """
    unlike = [rules[place].id for place, ticks in sorted(found.ticks.items()) if not ticks]
    if unlike:
        raise ProofError(words.PROOF_DISAGREES.format(rules=", ".join(unlike)))


def _no_rules(explorer: Explorer) -> Iterator[Finding]:
    if not explorer.watch.rules:
        yield Finding("no-rules", words.PROOF_NO_RULES)


def _broken(explorer: Explorer, teller: Teller) -> Iterator[Finding]:
    """Yield each rule that some move breaks, with the shortest run to it."""
    found: dict[int, list[Broken]] = {}
    for broken in explorer.broken:
        if broken.kinds & broken.node.kinds:
            found.setdefault(broken.rule, []).append(broken)
    for place, moves in sorted(found.items()):
        rule = explorer.watch.rules[place]
        every = sum_bits(broken.kinds & broken.node.kinds for broken in moves)
        kind = lowest(every)
        first = min(
            (b for b in moves if (b.kinds & b.node.kinds) >> kind & 1),
            key=lambda b: teller.steps_to(kind, b.node),
        )
        run = teller.run(kind, first.node, first.key)
        story = teller.told(run, rule)
        yield Finding(rule.id, rule.says, run[-1].where, sheets_of(explorer, every), story)


def _report(explorer: Explorer, found: list[Finding], whole: bool) -> Report:
    findings = tuple(dict.fromkeys(found))
    rules = explorer.watch.rules
    names = {finding.name for finding in findings}
    elsewhere = tuple((r.says, r.elsewhere) for r in rules if r.form == "elsewhere")
    here = [r for r in rules if r.form != "elsewhere" and r.id not in names]
    return Report(
        findings=findings,
        kinds=len(explorer.family.kinds),
        states=sum(len(nodes) for nodes in explorer.nodes),
        transitions=explorer.moves,
        proved=len(here) if whole else 0,
        elsewhere=elsewhere,
        milliseconds=0,
    )


def picture(folder: Path, sheet: OrderSheet | None) -> str:
    """Return the procedures in *folder* as a Mermaid flowchart.

    It is drawn for *sheet*, or else for the kind with the most steps. Raises FileProblems.
    """
    source = read_source(bundle_of(folder))
    kinds = kinds_of(source) if sheet is None else kinds_of_sheet(source, sheet)
    fullest = max(kinds, key=lambda kind: sum(fits(step.when, kind) for step in source.steps))
    return mermaid(compose(source, fullest))


def write_models(folder: Path, out: Path) -> None:
    """Write the procedures in *folder* as models for SPIN to the folder *out*.

    Raises FileProblems if they cannot be read, OSError if the models cannot be written.
    """
    source = read_source(bundle_of(folder))
    write_promela(source, read_rules(folder / RULES, source), out)
