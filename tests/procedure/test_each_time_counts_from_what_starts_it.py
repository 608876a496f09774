"""Each time of the shipped procedures counts from what starts it, and runs while it should."""

from __future__ import annotations

import pytest

from tests.mutants.counted import counted_otherwise
from tests.mutants.operators import Mutant, counted
from tests.procedure.shipped import SOURCE

CHANGED = tuple(counted(SOURCE))


def test_every_wait_and_limit_counts_as_it_should() -> None:
    assert not list(counted_otherwise(SOURCE))


@pytest.mark.parametrize("fault", CHANGED, ids=lambda one: one.id)
def test_a_time_that_counts_otherwise_is_found(fault: Mutant) -> None:
    assert list(counted_otherwise(fault.source)) == list(fault.touches)
