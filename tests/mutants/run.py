"""Judges the mutants of the shipped procedures: ``python tests/mutants/run.py [--sample N]``.

Writes a line for each: its verdict and what was done. At the end it counts them, and names those
that are neither rejected nor recorded as harmless.
"""

from __future__ import annotations

import argparse
import gc
import random
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from fnmatch import fnmatchcase
from multiprocessing import get_context
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from coach.procedure.files import bundle_of  # noqa: E402
from coach.procedure.model import Source  # noqa: E402
from coach.procedure.read import read_source  # noqa: E402
from coach.proof.prove import uncollected  # noqa: E402
from tests.mutants.equivalent import harmless  # noqa: E402
from tests.mutants.harmless import REASONS  # noqa: E402
from tests.mutants.judge import HELD, SAME, SURVIVED, Judge, explored, telling_kinds  # noqa: E402
from tests.mutants.operators import Mutant, mutants  # noqa: E402
from tests.mutants.same import Seen  # noqa: E402

PROCEDURES = ROOT / "procedures"
RECORDED = "(recorded as harmless)"
"""The verdict on a mutant that no rule rejects, of which it is written down why it hurts nobody."""


def chosen(every: list[Mutant], pattern: str, sample: int) -> list[Mutant]:
    """Return those of *every* that fit *pattern*, or *sample* of them, spread over operators."""
    fitting = [mutant for mutant in every if fnmatchcase(mutant.id, pattern)]
    if not sample or sample >= len(fitting):
        return fitting
    groups: dict[str, list[Mutant]] = {}
    for mutant in random.Random(sample).sample(fitting, len(fitting)):
        groups.setdefault(mutant.id.split()[0], []).append(mutant)
    turns = sorted((turn, name) for name, group in groups.items() for turn in range(len(group)))
    return [groups[name][turn] for turn, name in turns[:sample]]


class Bench:
    """Gives each mutant its verdict."""

    def __init__(self, source: Source) -> None:
        """Look first at all that the right *source* does."""
        kinds = telling_kinds(source)
        seen = Seen(explored(source, PROCEDURES / "rules", kinds))
        self.judge = Judge(source, PROCEDURES / "rules", seen)
        self.recorded = harmless()

    def verdict(self, mutant: Mutant) -> str:
        """Return what becomes of *mutant*: with honest ticks, then with a false one."""
        found = self.judge.verdict(mutant)
        if found == SURVIVED and any(fnmatchcase(mutant.id, r.mutants) for r in self.recorded):
            return RECORDED
        return found or self.judge.falls(mutant)


_HERE: list[tuple[Bench, list[Mutant]]] = []
"""What a process that was forked off finds in its copy of the memory."""


def _verdict(place: int) -> str:
    bench, them = _HERE[0]
    with uncollected():
        return bench.verdict(them[place])


def verdicts(bench: Bench, them: list[Mutant], jobs: int) -> Iterator[tuple[Mutant, str]]:
    """Yield each of *them* with its verdict, worked out by so many *jobs* at a time."""
    _HERE.append((bench, them))
    gc.freeze()
    with ProcessPoolExecutor(jobs, mp_context=get_context("fork")) as pool:
        yield from zip(them, pool.map(_verdict, range(len(them))), strict=True)


def main() -> None:
    """Judge what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pattern", nargs="?", default="*", help="which mutants, by name")
    parser.add_argument("--sample", type=int, default=0, help="how many; all if not given")
    parser.add_argument("--jobs", type=int, default=1, help="how many at a time")
    asked = parser.parse_args()
    source = read_source(bundle_of(PROCEDURES))
    them = chosen(list(mutants(source)), asked.pattern, asked.sample)
    found: Counter[str] = Counter()
    for mutant, verdict in verdicts(Bench(source), them, asked.jobs):
        found[verdict] += 1
        print(f"{verdict or 'SURVIVED':44} {mutant.id}", flush=True)
    harmful = len(them) - sum(found[name] for name in (SAME, HELD, RECORDED, *REASONS))
    rejected = harmful - found[SURVIVED]
    print(f"\n{len(them)} mutants; {rejected} rejected of {harmful} that are not harmless.")
    for name, count in found.most_common():
        print(f"{count:6} {name or 'SURVIVED'}")


if __name__ == "__main__":
    main()
