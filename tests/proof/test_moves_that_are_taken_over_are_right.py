"""A mutant is judged alike, whether its moves are taken over from the right search or made anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.procedure.files import bundle_of
from coach.procedure.read import read_source
from coach.proof.explore import search_of
from coach.proof.family import family_of
from tests.mutants.harmless import REASONS
from tests.mutants.judge import HELD, SAME, Judge, explored
from tests.mutants.operators import mutants
from tests.mutants.reuse import Again, search_again
from tests.mutants.same import Seen
from tests.proof.small import written


class Both:
    """Two judges of the small procedure: one that knows the right search, and one that does not."""

    def __init__(self, folder: Path) -> None:
        """Write the small procedure to *folder*."""
        written(folder)
        self.source = read_source(bundle_of(folder))
        self.plain = Judge(self.source, folder / "rules")
        self.seen = Seen(explored(self.source, folder / "rules", self.plain.kinds))
        self.knowing = Judge(self.source, folder / "rules", self.seen)


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> Both:
    return Both(tmp_path_factory.mktemp("small"))


def test_what_is_rejected_is_rejected_by_the_same_rule_either_way(both: Both) -> None:
    told = {m.id: (both.knowing.verdict(m), both.plain.verdict(m)) for m in mutants(both.source)}
    harmless = {SAME, HELD, *REASONS}
    unlike = {name: two for name, two in told.items() if two[0] != two[1]}
    assert {two[0] for two in unlike.values()} <= harmless
    assert sum(not two[0] for two in told.values()) < len(told) / 10


def test_only_what_a_change_can_touch_is_looked_at_anew(both: Both) -> None:
    fault = next(m for m in mutants(both.source) if m.id == "set-changed look no clamp=open")
    family = family_of(fault.source, both.plain.kinds)
    found = search_again(both.seen, fault, search_of(family, both.plain.right_rules))
    assert isinstance(found, Again)
    found.run()
    assert found.anew
    assert len(found.taken) > len(found.anew)
