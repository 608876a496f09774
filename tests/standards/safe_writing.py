"""What has been misread, found in a text as it is shown or printed.

Joint Commission, do-not-use list (read) and possible additions of 2009 (restated).
ISMP, error-prone abbreviations (2021; read or restated).
"""

from __future__ import annotations

import re

from tests.standards.test_safe_writing_of_procedures import FORBIDDEN

MARKED = re.compile(r"(?m)^>")
"""The mark of the field that is chosen, at the start of its line, is no sign for more than."""
PHONE = re.compile(r"\b\d{3}-\d{4}\b")
"""A phone number is no amount."""


def misread(told: str) -> list[str]:
    """Return the forms in the text *told* that have been misread, each with its source."""
    said = MARKED.sub("", PHONE.sub("", told))
    return [
        f"{form} ({source})"
        for form, (source, pattern, _) in FORBIDDEN.items()
        if re.search(pattern, said)
    ]
