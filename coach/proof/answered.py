"""Whether all that is told and answered is heard: something else has to follow it than before.

Owns the checks of troubles and answers over the states that were searched. It must never know a
step, a fact or a rule by name.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.procedure.model import Mishap, Question
from coach.proof.explore import Explorer
from coach.proof.finding import Finding
from coach.proof.page import Node
from coach.proof.story import Teller, first_of, sheets_of
from coach.proof.watch import Key, key_of, told_key
from coach.says import proof as words


def check_troubles(explorer: Explorer, teller: Teller) -> Iterator[Finding]:
    """Yield the troubles and the answers after which nothing else is asked than before.

    A trouble has to be met wherever it can be told, an answer wherever it can be given: by a
    response, by another step, or by a look at what it changed.
    """
    unanswered: dict[Key, list[tuple[int, Node]]] = {}
    for key, kinds, node in (*_unmet_troubles(explorer), *_unheard(explorer)):
        unanswered.setdefault(key, []).append((kinds, node))
    for key, found in unanswered.items():
        kind, node, kinds = first_of(teller, found)
        run = teller.run(kind, node, key)
        about, outcome = run[-1].step or run[-1].mishap, run[-1].outcome
        said = (outcome.says if outcome else "") or (about.title if about else "")
        told = key[0] == "told"
        yield Finding(
            name="trouble-without-a-stop" if told else "unheard-answer",
            says=(words.PROOF_UNANSWERED if told else words.PROOF_UNHEARD).format(title=said),
            where=run[-1].where,
            sheets=sheets_of(explorer, kinds),
            story=(*teller.told(run), words.STORY_UNANSWERED),
        )


def _asked(kinds: int, node: Node) -> str:
    """Return the id of what the first of *kinds* is asked in *node*; '' if the dose is over."""
    first = kinds & -kinds
    return next((step for asked, step in node.asked if asked & first), "")


def _unmet_troubles(explorer: Explorer) -> Iterator[tuple[Key, int, Node]]:
    open_ = {
        told_key(mishap): explorer.chart.fields(mishap.effect.puts)
        for mishap in explorer.procedure.mishaps
        if mishap.kind == "trouble" and not _surely_calls(explorer, mishap)
    }
    steps = (*explorer.procedure.steps, *explorer.procedure.responses)
    looks = {step.id: step.ask.sees for step in steps if isinstance(step.ask, Question)}
    for node in (node for nodes in explorer.nodes for node in nodes.values() if open_):
        for kinds, key, target in node.edges:
            if key not in open_ or target is explorer.call:
                continue
            both = kinds & node.kinds
            if both:
                after = _asked(both, target)
                met = after and after != _asked(both, node)
                if not met and not looks.get(after, 0) & open_[key]:
                    yield key, both, node


def _unheard(explorer: Explorer) -> Iterator[tuple[Key, int, Node]]:
    """Yield the steps and answers after which just the same is asked once more."""
    procedure = explorer.procedure
    endings = {
        step.id: [key_of(step, number) for number in range(len(step.outcomes))]
        for step in (*procedure.steps, *procedure.responses)
    }
    for node in (node for nodes in explorer.nodes[:-1] for node in nodes.values()):
        done: dict[str, int] = {}
        heard: dict[Key, int] = {}
        for kinds, key, target in node.edges:
            if key[0] == "told" or not key[1]:
                continue
            both = kinds & node.kinds
            if both:
                done[key[1]] = done.get(key[1], 0) | both
                after = _asked(both, target)
                if after != key[1]:
                    heard[key] = heard.get(key, 0) | both
        for key in (key for name in done for key in endings[name]):
            # A move that changes nothing that can matter is not among the edges of a state.
            if done[key[1]] & ~heard.get(key, 0):
                yield key, done[key[1]] & ~heard.get(key, 0), node


def _surely_calls(explorer: Explorer, mishap: Mishap) -> bool:
    """Tell whether what *mishap* sets is all that some response asks for."""
    puts = mishap.effect.puts
    return any(
        all(puts & f and not puts & f & r.only_if for f in explorer.family.fields if f & r.only_if)
        for r in explorer.procedure.responses
    )
