"""Whether all that is told and answered is heard: something else has to follow it than before.

Owns the checks of troubles and answers over the states that were searched. It must never know a
step, a fact or a rule by name.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.engine import ended, step_to_do
from coach.procedure.model import Mishap, Question, Step
from coach.proof.cone import lowest
from coach.proof.explore import Explorer
from coach.proof.finding import Finding
from coach.proof.moves import Node
from coach.proof.story import Teller, first_of, sheets_of
from coach.proof.watch import Key, key_of, told_key
from coach.says import proof as words


def check_troubles(explorer: Explorer, teller: Teller) -> Iterator[Finding]:
    """Yield the troubles and the answers after which nothing else is asked than before.

    A trouble has to be met wherever it can be told, an answer wherever it can be given: by a
    response, by another step, or by a look at what it changed.
    """
    asked = Asked(explorer)
    unanswered: dict[Key, list[tuple[int, Node]]] = {}
    for key, kinds, node in (*_unmet_troubles(explorer, asked), *_unheard(explorer, asked)):
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


class Asked:
    """Knows what is asked for in each state, mostly from the moves that were made in it."""

    def __init__(self, explorer: Explorer) -> None:
        """Know what *explorer*, which has run, came to."""
        self.explorer = explorer
        self.steps = {
            step.id: step for step in (*explorer.procedure.steps, *explorer.procedure.responses)
        }
        self._known: dict[Node, dict[str, int]] = {}

    def first(self, kinds: int, node: Node) -> Step | None:
        """Return what the first of *kinds* is asked for in *node*; None if the dose is over."""
        for name, able in self._done_in(node).items():
            if able & kinds & -kinds:
                return self.steps[name]
        if node is self.explorer.call:
            return None
        procedure = self.explorer.procedure
        state = self.explorer.chart.decode(lowest(kinds), node.place, node.code)
        return None if ended(procedure, state) else step_to_do(procedure, state)

    def _done_in(self, node: Node) -> dict[str, int]:
        """Return which steps are done in *node*, and by which kinds; not those without effect."""
        known = self._known.get(node)
        if known is None:
            known = self._known[node] = {}
            for kinds, (what, name, _), _ in node.edges:
                if name and what != "told":
                    known[name] = known.get(name, 0) | kinds
        return known


def _unmet_troubles(explorer: Explorer, asked: Asked) -> Iterator[tuple[Key, int, Node]]:
    open_ = {
        told_key(mishap): explorer.chart.fields(mishap.effect.puts)
        for mishap in explorer.procedure.mishaps
        if mishap.kind == "trouble" and not _surely_calls(explorer, mishap)
    }
    for node in (node for nodes in explorer.nodes for node in nodes.values() if open_):
        for kinds, key, target in node.edges:
            both = kinds & node.kinds
            if both and key in open_ and target is not explorer.call:
                after = asked.first(both, target)
                looks = after.ask.sees if after and isinstance(after.ask, Question) else 0
                met = after and after is not asked.first(both, node)
                if not met and not looks & open_[key]:
                    yield key, both, node


def _unheard(explorer: Explorer, asked: Asked) -> Iterator[tuple[Key, int, Node]]:
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
            both = kinds & node.kinds
            if both and key[0] != "told" and key[1]:
                done[key[1]] = done.get(key[1], 0) | both
                after = asked.first(both, target)
                if after is None or after.id != key[1]:
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
