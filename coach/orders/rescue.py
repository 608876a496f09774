"""Whom to call, read from an order sheet that cannot be used.

Owns the one look into a file with errors: nothing else of it may ever be shown as ordered.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress

from coach.errors import FileProblems
from coach.nodes import Bad, Node, read_bytes
from coach.orders.fields import phone

_PLACES = (("nurse", "phone"), ("pharmacist", "phone"), ("emergency", "number"))
_GROUP = re.compile(rb"^contacts:.*\n(?:[ \t#].*\n|\r?\n)*", re.MULTILINE)


def numbers_to_call(raw: bytes) -> dict[str, str]:
    """Return the phone numbers that can be read in the sheet *raw*, by who answers them.

    Where the sheet as a whole is no YAML, its group of contacts may still be. Empty where no number
    can be read.
    """
    for text in (raw, *_GROUP.findall(raw + b"\n")):
        with suppress(FileProblems):
            return dict(_numbers(read_bytes(text, "")))
    return {}


def _numbers(root: Node) -> Iterator[tuple[str, str]]:
    for who, name in _PLACES:
        node = root
        for step in ("contacts", who, name):
            found = node.value.get(step) if isinstance(node.value, dict) else None
            if found is None:
                break
            node = found
        else:
            with suppress(Bad):
                yield who, phone(node)
