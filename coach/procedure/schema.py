"""The procedure files as JSON Schemas, so that an editor completes and checks them.

Owns which schema is for which files; the fields come from their one list.
"""

from __future__ import annotations

from collections.abc import Mapping

from coach.procedure import form
from coach.shapes import Group, schema_of

KINDS: Mapping[str, tuple[str, Group]] = {
    "dose": ("dose.yaml", form.DOSE_FILE),
    "facts": ("facts.yaml", form.FACTS_FILE),
    "teaching": ("teaching.yaml", form.TEACHING_FILE),
    "picture": ("picture.yaml", form.PICTURE_FILE),
    "part": ("parts/*.yaml", form.PART_FILE),
    "pump-card": ("pump_cards/*.yaml", form.CARD_FILE),
    "rules": ("rules/*.yaml", form.RULES_FILE),
    "words-common": ("words/common.yaml", form.COMMON_FILE),
    "words-glossary": ("words/glossary.yaml", form.GLOSSARY_FILE),
    "words-actions": ("words/actions.yaml", form.ACTIONS_FILE),
    "words-never": ("words/never.yaml", form.NEVER_FILE),
}
"""The kinds of procedure files: each with where its files are, and their fields."""


def procedure_schemas() -> Mapping[str, dict[str, object]]:
    """Return the schema of each kind of procedure file; its title says where such files are."""
    return {name: schema_of(group, files) for name, (files, group) in KINDS.items()}
