"""Scrubbing and drying of a connector. Sources disagree, so the sheet says; these are floors.

Products: CDC/HICPAC, Guidelines for the Prevention of Intravascular Catheter-Related
Infections, 2011 (restated). It gives no time.
Scrub: 5 to 15 s, INS Standards 2016 and 2021 (from memory); 15 s is common practice, no source.
Drying: Am J Infect Control 2018, doi 10.1016/j.ajic.2018.05.007: from 5 s to over 6 min by
product (restated); 20 s for chlorhexidine in alcohol, INS 2021 (from memory).
"""

from __future__ import annotations

import pytest

from tests.orders.written import said

SIGNED = "\n  short_scrub_signed_by: A doctor"


@pytest.mark.parametrize(
    ("ordered", "taken"),
    [
        ("15 s", True),
        ("60 s", True),
        ("14 s", False),
        ("14 s" + SIGNED, True),
        ("5 s" + SIGNED, True),
        ("4 s" + SIGNED, False),
        ("4 s", False),
    ],
)
def test_a_scrub_lies_in_the_published_band(ordered: str, taken: bool) -> None:
    assert (said(("time: 15 s", f"time: {ordered}")) == ()) is taken


@pytest.mark.parametrize(
    ("product", "dry", "taken"),
    [
        ("70% alcohol", "5 s", True),
        ("70% alcohol", "4 s", False),
        ("chlorhexidine in alcohol", "20 s", True),
        ("chlorhexidine in alcohol", "19 s", False),
        ("povidone iodine", "6 min", True),
        ("povidone iodine", "359 s", False),
        ("povidone iodine", "5 s", False),
    ],
)
def test_drying_depends_on_the_product(product: str, dry: str, taken: bool) -> None:
    rows = said(("product: 70% alcohol", f"product: {product}"), ("dry: 10 s", f"dry: {dry}"))
    assert (rows == ()) is taken


def test_a_product_that_no_source_names_is_refused() -> None:
    (row,) = said(("product: 70% alcohol", "product: soap"))
    assert "one of 70% alcohol, chlorhexidine in alcohol, povidone iodine" in row
