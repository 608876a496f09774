"""A procedure as a Mermaid flowchart, an open text format.

What is checked here is the text: its lines, its quotes, and that each way that the engine takes
stands in it. Mermaid itself is a program of another language and is not run by these tests; the
drawing of the demonstration sheet was once read by hand without complaint by its version 11.17.
"""

from __future__ import annotations

import re

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.engine import (
    State,
    after_mishap,
    after_outcome,
    ended,
    possible,
    response_to_do,
    start,
    step_to_do,
)
from coach.orders.values import sheet_choices
from coach.procedure.compose import compose
from coach.procedure.model import Procedure, Stop
from coach.procedure.read import read_source
from coach.proof.draw import escaped, mermaid
from tests.procedure.shipped import SHEETS, SOURCE

SMALL = {
    "dose.yaml": """
schema: 1
title: Small
background: It is {now}.
so_far: {none: None., some: Some., read: Read.}
close_line: {present: Shut it., none: Leave it.}
where: {known: Here., unknown: There.}
given: {cup: full}
idle: 10 min
off_pace: fly
lead_in: 5 s
menu: {spills: "It spilled"}
parts:
  - part: tea
circumstances: []
""",
    "facts.yaml": """
schema: 1
facts:
  cup:
    about: The cup.
    values: [dirty, clean, full, spilled]
    starts: dirty
  heat:
    about: Whether the tea is too hot.
    values: [unknown, good, hot]
    starts: unknown
""",
    "picture.yaml": """
schema: 1
line:
  - name: Cup
    shows: [{word: here}]
""",
    "parts/tea.yaml": """
schema: 1
title: Make "tea"
steps:
  - {id: wash, title: Wash it, do: Wash it., why: Why., sets: {cup: clean}}
  - {id: pour, title: Pour, do: Pour., why: Why., needs: {cup: clean}, sets: {cup: full}}
  - id: sip
    title: "Is it #1?"
    do: Sip.
    why: Why.
    needs: {cup: full}
    ask:
      question: Is it good?
      answers:
        - {id: "yes", says: "Yes", sets: {heat: good}}
        - {id: "no", says: "No, pour again", sets: {cup: dirty}}
        - {id: hot, says: "Too hot", sets: {heat: hot}}
responses:
  - id: hot-stop
    as_soon_as: {heat: hot}
    title: Too hot
    do: Stop.
    why: Why.
    stop:
      call: nurse
      leave: Leave it.
      close: Close it.
      situation: Hot.
      assessment: "{now}"
      request: Please help.
      called: I have called
      goes_on: {says: Go on, sets: {heat: unknown}}
  - {id: wipe, as_soon_as: {cup: spilled}, title: Wipe it, do: Wipe., why: Why., sets: {cup: dirty}}
spoilings:
  - {id: spill, group: spills, title: It spilled, seen: Wet., at: {cup: full}, sets: {cup: spilled}}
troubles:
  - {id: fly, group: spills, title: A fly, seen: A fly., at: {cup: full}, sets: {cup: clean}}
""",
}

GOLDEN = """\
flowchart TD
  subgraph sp0["Make #34;tea#34;"]
    s0["Wash it"]
    s1["Pour"]
    s2{{"Is it #35;1?"}}
  end
  done(["The dose is done"])
  back(["Back#58; to what else is wrong, or to what is no longer ready"])
  subgraph rp0["Make #34;tea#34;"]
    r0(["Too hot<br/>Call the nurse"])
    r1["Wipe it"]
  end
  subgraph menu["Something is wrong"]
    m0["It spilled"]
  end
  s0 --> s1
  s1 --> s2
  s2 -->|"Yes"| done
  s2 -->|"No, pour again"| s0
  s2 -->|"Too hot"| r0
  r0 -->|"Go on"| back
  r1 --> back
  m0 -.->|"It spilled"| r1
  m0 -.->|"A fly"| back
"""

TEXT = r'"(?:[A-Za-z0-9 ,?]|#\d+;|<br/>)*"'
LINE = re.compile(
    rf"flowchart TD|  subgraph \w+\[{TEXT}\]|  end"
    rf"|(?:  |    )\w+(?:\[{TEXT}\]|\(\[{TEXT}\]\)|\{{\{{{TEXT}\}}\}})"
    rf"|  \w+ (?:-->|-\.->)(?:\|{TEXT}\|)? \w+"
)
"""Every form that a line can have."""

CHOSEN = {"tubing": "new", "batteries": "due", "last": "finished"}
DEMO = compose(SOURCE, {**sheet_choices(SHEETS["orders"]), **CHOSEN})
SMALL_ONE = compose(read_source(SMALL), {})


def edges(drawing: str) -> set[tuple[str, str]]:
    """Return each pair of nodes that an edge leads between."""
    return set(re.findall(r'^  (\w+) (?:-->|-\.->)(?:\|"[^"]*"\|)? (\w+)$', drawing, re.M))


DEMO_EDGES = edges(mermaid(DEMO))
DEMO_NODES = {
    **{step.id: f"s{place}" for place, step in enumerate(DEMO.steps)},
    **{step.id: f"r{place}" for place, step in enumerate(DEMO.responses)},
}


def as_hoped() -> tuple[State, ...]:
    """Return the states of a dose in which all goes as hoped."""
    states = [start(DEMO)]
    while not ended(DEMO, states[-1]):
        step = step_to_do(DEMO, states[-1])
        states.append(after_outcome(DEMO, states[-1], step, step.outcomes[0]))
    return tuple(states)


AS_HOPED = as_hoped()


def test_a_small_procedure_is_drawn_line_by_line() -> None:
    assert mermaid(SMALL_ONE) == GOLDEN


def test_every_line_of_the_demonstration_has_a_form_that_is_allowed() -> None:
    lines = mermaid(DEMO).splitlines()
    assert [line for line in lines if not LINE.fullmatch(line)] == []


def test_every_part_is_opened_and_closed() -> None:
    lines = [line.split("[")[0].strip() for line in mermaid(DEMO).splitlines()]
    opened = [line for line in lines if line.startswith("subgraph ")]
    assert len(opened) == lines.count("end") > 20
    assert len(set(opened)) == len(opened)


def test_every_step_and_response_is_a_node_and_no_edge_leads_nowhere() -> None:
    drawing = mermaid(DEMO)
    nodes = re.findall(r'^ +(\w+)[\[({]+"', drawing.replace("subgraph ", "?"), re.M)
    assert len(nodes) == len(set(nodes))
    assert set(DEMO_NODES.values()) < set(nodes)
    assert {node for edge in DEMO_EDGES for node in edge} <= set(nodes)


def test_every_response_of_every_kind_of_sheet_can_be_come_to() -> None:
    for clamp, connector in (("present", "negative"), ("none", "positive")):
        choices = {**DEMO.choices, "clamp": clamp, "connector": connector}
        procedure = compose(SOURCE, choices)
        ends = {end for _, end in edges(mermaid(procedure))}
        assert {f"r{place}" for place in range(len(procedure.responses))} <= ends


def test_every_stop_says_whom_to_call_and_leads_on_only_where_it_may() -> None:
    lines = mermaid(DEMO).splitlines()
    for place, step in enumerate(DEMO.responses):
        if isinstance(step.ask, Stop):
            (node,) = (line for line in lines if line.strip().startswith(f"r{place}("))
            whom = "emergency help" if step.ask.call == "emergency" else step.ask.call
            assert whom in node
            leads_on = {end for begin, end in DEMO_EDGES if begin == f"r{place}"}
            assert bool(leads_on) is (len(step.outcomes) > 1), step.id


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_each_response_that_the_engine_comes_to_is_at_the_end_of_an_edge(
    data: st.DataObject,
) -> None:
    state = data.draw(st.sampled_from(AS_HOPED))
    groups = tuple(SOURCE.groups)
    for _ in range(40):
        if ended(DEMO, state):
            return
        told = possible(DEMO, state)
        before = response_to_do(DEMO, state.facts)
        if told and data.draw(st.integers(0, 14)) == 0:
            mishap = data.draw(st.sampled_from(told))
            origin = f"m{groups.index(mishap.group)}"
            state = after_mishap(DEMO, state, mishap)
        else:
            step = step_to_do(DEMO, state)
            origin = DEMO_NODES[step.id]
            # Mostly as hoped, so that the walk gets far.
            other = data.draw(st.integers(0, 9)) == 0
            outcome = data.draw(st.sampled_from(step.outcomes)) if other else step.outcomes[0]
            state = after_outcome(DEMO, state, step, outcome)
        check_drawn(origin, before is None, state)


def check_drawn(origin: str, from_the_list: bool, state: State) -> None:
    """Check that the response to do in *state*, if any, can be come to from *origin*."""
    response = None if ended(DEMO, state) else response_to_do(DEMO, state.facts)
    if response is None:
        return
    drawn = (origin, DEMO_NODES[response.id]) in DEMO_EDGES
    # After another response it may be one that was called for already.
    again = not from_the_list and ((origin, "back") in DEMO_EDGES)
    assert drawn or again, (origin, response.id)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ('say "end"', "say #34;end#34;"),
        ("a] --> b", "a#93; #45;#45;#62; b"),
        ("#quot;", "#35;quot#59;"),
        ("<b>{x}</b>", "#60;b#62;#123;x#125;#60;#47;b#62;"),
        ("%%{init}%%", "#37;#37;#123;init#125;#37;#37;"),
        ("1. `bold`", "1#46; #96;bold#96;"),
        ("two\nlines\x1b", "two lines#65533;"),
        (" \n", "#160;"),
    ],
)
def test_what_could_be_markup_stands_as_a_code(text: str, code: str) -> None:
    assert escaped(text) == code


def titled(title: str) -> Procedure:
    """Return the small procedure with *title* wherever a person's words stand."""
    steps = tuple(
        msgspec.structs.replace(
            step,
            title=title,
            part=title,
            outcomes=tuple(msgspec.structs.replace(o, says=title) for o in step.outcomes),
        )
        for step in SMALL_ONE.steps
    )
    mishaps = tuple(msgspec.structs.replace(m, title=title) for m in SMALL_ONE.mishaps)
    return msgspec.structs.replace(SMALL_ONE, steps=steps, mishaps=mishaps)


@given(st.text() | st.text(alphabet='"#;<>[](){}|-=.%`:&\\\n end subgraph'))
def test_no_title_adds_a_line_or_breaks_one(title: str) -> None:
    lines = mermaid(titled(title)).splitlines()
    assert len(lines) == len(GOLDEN.splitlines())
    assert [line for line in lines if not LINE.fullmatch(line)] == []
