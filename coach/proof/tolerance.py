"""How many false ticks each rule survives, and what happens when it does not.

Owns the account of a search with false ticks. It must never make a move of its own.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from coach import words
from coach.proof.explore import Explorer
from coach.proof.slips import FINISH, Slip, SlipSearch
from coach.proof.watch import Key

LOOKED_AT = ("only", "never", "always")
"""The forms of rule that a false tick can break: they speak of what is done."""


class Tolerance(msgspec.Struct, frozen=True):
    """What one rule survives."""

    rule: str
    number: int
    says: str
    hurts: bool
    ticks: int
    """The fewest false ticks that break it; 0 if none were found that do."""
    story: tuple[str, ...]
    """From the first false tick on, what happens until the rule is broken."""


def tolerances(explorer: Explorer, most: int) -> tuple[Tolerance, ...]:
    """Return what each rule survives of up to *most* false ticks; *explorer* has run."""
    rules = explorer.watch.rules
    search = SlipSearch(explorer.family, rules, explorer)
    search.run(most)
    titles = _titles(explorer)
    return tuple(
        Tolerance(
            rule=rule.id,
            number=rule.number,
            says=rule.says,
            hurts=rule.hurts,
            ticks=slip.ticks if slip else 0,
            story=tuple(_story(slip, titles)) if slip else (),
        )
        for place, rule in enumerate(rules)
        if rule.form in LOOKED_AT
        for slip in (search.broken.get(place),)
    )


def _titles(explorer: Explorer) -> dict[str, str]:
    procedure = explorer.procedure
    steps = {step.id: step.title for step in (*procedure.steps, *procedure.responses)}
    return steps | {mishap.id: mishap.title for mishap in procedure.mishaps}


def _story(slip: Slip, titles: dict[str, str]) -> Iterator[str]:
    """Tell the false ticks and what was done last; what is done between as it comes is counted."""
    keys: list[Key] = [slip.key]
    before = slip.before
    while not isinstance(before, tuple):
        keys.append(before.key)
        before = before.before
    ordinary = 0
    for key in reversed(keys):
        if key[0] == "step" and not key[2] and key is not slip.key:
            ordinary += 1
            continue
        if ordinary:
            yield words.SLIP_AS_IT_COMES.format(number=ordinary)
            ordinary = 0
        yield _sentence(key, titles)


def _sentence(key: Key, titles: dict[str, str]) -> str:
    what, name, ending = key
    if key == FINISH:
        return words.SLIP_END
    frame = {
        "ticked": words.SLIP_TICKED,
        "unticked": words.SLIP_UNTICKED,
        "told": words.SLIP_TOLD,
        "left": words.SLIP_LEFT,
    }.get(what, words.SLIP_ANSWERED if ending else words.SLIP_DONE)
    return frame.format(title=titles.get(name, ""))
