"""What the tests of the procedure files share."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import pytest

from coach.nodes import read_bytes
from coach.procedure import files
from tests.procedure.shipped import BUNDLE

_parsed = lru_cache(maxsize=2 * len(BUNDLE))(read_bytes)


@pytest.fixture(scope="module", autouse=True)
def _unchanged_files_are_parsed_once() -> Iterator[None]:
    """Most files of each bundle are the shipped ones; what is refused is never kept."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(files, "read_bytes", _parsed)
        yield
