"""A procedure as a picture: a flowchart in the open text format of Mermaid.

Owns the drawing alone. It goes by the facts that are known at a step: each response that an
answer or a mishap can call for has its edge, and some that other facts rule out may have one too;
what really can be reached is for the search to say. A table that is left, and what fades then, is
not drawn. Nothing that a person wrote is read as markup: all but plain letters, digits and a few
marks stand as entity codes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

import msgspec

from coach.clean import one_line
from coach.procedure.facts import Effect
from coach.procedure.model import Outcome, Procedure, Step, Stop

BACK = "Back: to what else is wrong, or to what is no longer ready"
"""Where a response leads when it calls for no other: the list finds the way by itself."""
DONE = "The dose is done"
WRONG = "Something is wrong"
WHOM = {
    "nurse": "Call the nurse",
    "pharmacist": "Call the pharmacist",
    "emergency": "Call for emergency help",
}
"""Whom a stop calls."""

_KEPT = frozenset(" ,?")
"""Marks that mean nothing to Mermaid within quotes."""


class Leads(msgspec.Struct, frozen=True):
    """What can come next after an effect."""

    responses: tuple[int, ...]
    """Places among the responses, the most urgent first."""
    surely: bool
    """Whether one of them comes, whatever the other facts are."""
    after: int
    """The bits that can be set then."""


def mermaid(procedure: Procedure) -> str:
    """Return *procedure*, which is that of one kind of order sheet, as a Mermaid flowchart.

    Each part is a subgraph, each step a node, each answer that leads elsewhere an edge with its
    words, each mishap a dashed edge to the response that it calls for, each stop an end with
    whom to call. One node or edge a line.
    """
    lines = ["flowchart TD"]
    lines += _parts("s", procedure.steps)
    lines.append(f'  done(["{escaped(DONE)}"])')
    lines.append(f'  back(["{escaped(BACK)}"])')
    lines += _parts("r", procedure.responses)
    lines += _menu(procedure)
    lines += _ways_of_the_list(procedure)
    lines += _ways_of_the_responses(procedure)
    lines += _ways_of_the_mishaps(procedure)
    return "\n".join(lines) + "\n"


def escaped(text: str) -> str:
    """Return *text* on one line, with an entity code for all that could be taken for markup.

    Nothing becomes a space that does not break, as Mermaid takes no empty text.
    """
    return "".join(
        char if char in _KEPT or (char.isascii() and char.isalnum()) else f"#{ord(char)};"
        for char in one_line(text) or "\N{NO-BREAK SPACE}"
    )


def _parts(prefix: str, steps: Sequence[Step]) -> Iterator[str]:
    for part, placed in groupby(enumerate(steps), key=lambda item: item[1].part):
        nodes = tuple(placed)
        yield f'  subgraph {prefix}p{nodes[0][0]}["{escaped(part)}"]'
        for place, step in nodes:
            yield f"    {prefix}{place}{_node(step)}"
        yield "  end"


def _node(step: Step) -> str:
    if isinstance(step.ask, Stop):
        return f'(["{escaped(step.title)}<br/>{escaped(WHOM[step.ask.call])}"])'
    if len(step.outcomes) > 1:
        return f'{{{{"{escaped(step.title)}"}}}}'
    return f'["{escaped(step.title)}"]'


def _menu(procedure: Procedure) -> Iterator[str]:
    yield f'  subgraph menu["{escaped(WRONG)}"]'
    for place, says in enumerate(procedure.source.groups.values()):
        yield f'    m{place}["{escaped(says)}"]'
    yield "  end"


def _edge(start: str, end: str, says: str, dashed: bool = False) -> str:
    arrow = "-.->" if dashed else "-->"
    label = f'|"{escaped(says)}"|' if says else ""
    return f"  {start} {arrow}{label} {end}"


def _ways_of_the_list(procedure: Procedure) -> Iterator[str]:
    possible = _possible(procedure)
    for place, step in enumerate(procedure.steps):
        before = possible & ~step.needs & ~step.only_if
        for outcome in step.outcomes:
            leads = _leads(procedure, before, outcome.effect, procedure.responses)
            for response in leads.responses:
                yield _edge(f"s{place}", f"r{response}", _says(step, outcome))
            if not leads.surely:
                end = _next(procedure, place, leads.after, outcome is step.outcomes[0])
                yield _edge(f"s{place}", end, _says(step, outcome))


def _ways_of_the_responses(procedure: Procedure) -> Iterator[str]:
    possible = _possible(procedure)
    for place, step in enumerate(procedure.responses):
        before = possible & ~step.only_if
        if isinstance(step.ask, Stop):
            before = _faded(procedure, before)
        for outcome in step.outcomes:
            if outcome.ends:
                continue
            leads = _leads(procedure, before, outcome.effect, procedure.responses[:place])
            for response in leads.responses:
                yield _edge(f"r{place}", f"r{response}", _says(step, outcome))
            if not leads.surely:
                yield _edge(f"r{place}", "back", _says(step, outcome))


def _ways_of_the_mishaps(procedure: Procedure) -> Iterator[str]:
    possible = _possible(procedure)
    groups = tuple(procedure.source.groups)
    for mishap in procedure.mishaps:
        # An emergency alone can be told while another response is under way.
        unheard = () if mishap.final else procedure.responses
        leads = _leads(procedure, possible & ~mishap.at, mishap.effect, unheard)
        ends = [f"r{response}" for response in leads.responses]
        for end in ends if leads.surely else [*ends, "back"]:
            yield _edge(f"m{groups.index(mishap.group)}", end, mishap.title, dashed=True)


def _says(step: Step, outcome: Outcome) -> str:
    """Return the words of the answer; its name where nothing is picked, if there are several."""
    return outcome.says or (outcome.name if len(step.outcomes) > 1 else "")


def _possible(procedure: Procedure) -> int:
    """Return the bits that are set at the start or by anything that can happen."""
    bits = procedure.start
    for step in procedure.steps + procedure.responses:
        for outcome in step.outcomes:
            bits |= outcome.effect.puts
    for mishap in procedure.mishaps:
        bits |= mishap.effect.puts
    for effect in procedure.fading.values():
        bits |= effect.puts
    return bits


def _faded(procedure: Procedure, before: int) -> int:
    for bit, effect in procedure.fading.items():
        if before & bit:
            before = before & ~bit | effect.puts
    return before


def _can_hold(procedure: Procedure, bits: int, unless: int) -> bool:
    """Tell whether some choice of a value for each fact out of *bits* is without *unless*."""
    return all(
        bits & mask & ~unless for mask in procedure.source.table.masks.values() if mask & unless
    )


def _leads(procedure: Procedure, before: int, effect: Effect, unheard: Sequence[Step]) -> Leads:
    """Return the responses that *effect* can call for; none of *unheard* was called for before."""
    after, changed = effect.on(before), ~effect.keeps
    found: list[int] = []
    for place, response in enumerate(procedure.responses):
        asks = response.only_if
        if not (before & changed & asks) or not _can_hold(procedure, after, asks):
            continue
        # What the effect leaves alone held before; another response that asks for no more than
        # that would have been called for by then.
        if any(not other.only_if & ~(asks & ~changed) for other in unheard):
            continue
        found.append(place)
        if not after & asks:
            return Leads(tuple(found), True, after)
    return Leads(tuple(found), False, after)


def _next(procedure: Procedure, place: int, after: int, hoped: bool) -> str:
    """Return the node of the step that comes next on the list, as far as *after* tells."""
    steps = procedure.steps
    if hoped:
        return f"s{place + 1}" if place + 1 < len(steps) else "done"
    while place < len(steps) and not _can_hold(procedure, after, steps[place].only_if):
        place += 1
    if place == len(steps):
        return "done"
    while (back := _way_back(procedure, place, after)) < place:
        place = back
    return f"s{place}"


def _way_back(procedure: Procedure, place: int, after: int) -> int:
    """Return the place of the earliest step that sets what *after* surely lacks; else *place*."""
    needs = procedure.steps[place].needs
    earliest = place
    for mask, providers in procedure.ways[place]:
        if not after & mask & ~needs:
            can = (p for p in providers if _can_hold(procedure, after, procedure.steps[p].only_if))
            earliest = min(earliest, next(can, place))
    return earliest
