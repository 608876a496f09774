"""What an editor of YAML makes of a file, for tests of the JSON Schemas: YAML 1.2, core schema."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

import yaml
from jsonschema import Draft202012Validator

WORDS: Mapping[str, str] = {
    "tag:yaml.org,2002:null": r"~|null|Null|NULL|",
    "tag:yaml.org,2002:bool": r"true|True|TRUE|false|False|FALSE",
    "tag:yaml.org,2002:int": r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+",
    "tag:yaml.org,2002:float": r"[-+]?(\\.[0-9]+|[0-9]+(\\.[0-9]*)?)([eE][-+]?[0-9]+)?",
}
"""The table of YAML 1.2.2, chapter 10.3.2 (from memory): what a plain word is taken for."""


class _Core(yaml.CSafeLoader):
    yaml_implicit_resolvers = {}  # noqa: RUF012 - as in PyYAML


for _tag, _form in WORDS.items():
    _Core.add_implicit_resolver(_tag, re.compile(f"^(?:{_form})$"), None)


def as_edited(text: str) -> object:
    """Return the value of the file *text*."""
    return yaml.load(text, _Core)


def checker(schema: Mapping[str, object]) -> Draft202012Validator:
    """Return what checks files by *schema*, which has to be a right one itself."""
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def marked(checker: Draft202012Validator, text: str) -> set[str]:
    """Return the fields of the file *text* that an editor marks, named as the reader does."""
    errors = checker.iter_errors(as_edited(text))
    return {field_of(error.absolute_path) for error in errors}


def field_of(path: Iterable[str | int]) -> str:
    """Return the name of a field by the steps to it; places count from 1."""
    named = "".join(f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in path)
    return named.removeprefix(".")
