"""The text of an order sheet: one field changed, and every other byte kept.

Owns the places of fields in the text. A change stands only if, read again, that field alone
differs. It must never know what a field means.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress

import msgspec
import yaml

from coach.errors import FileProblems, OrderError
from coach.nodes import Node, read_bytes

Step = str | int
"""One step on the way to a field: the name of a group or field, or the place in a list, from 0."""
Plain = dict[str, "Plain"] | list["Plain"] | str

_BY_HAND = "{field} cannot be changed here. Please change it in the file, by hand."
_STEP = re.compile(r"\[(?P<place>[0-9]+)\]|(?P<name>[^.\[\]]+)")
_COMMENT = re.compile(r"[^\n#]*?[ \t,\]}]#[ \t]*(?P<says>[^\n]*)")
_MARK = "\ufeff"


def written(text: str) -> dict[str, str]:
    """Return every value of the sheet *text* by field, as it is written. Raises FileProblems."""
    found: dict[str, str] = {}
    waiting = [_root(text)]
    while waiting:
        node = waiting.pop()
        if isinstance(node.value, str):
            found[node.field] = node.value
        else:
            waiting += node.value.values() if isinstance(node.value, dict) else node.value
    return found


def comment_of(text: str, field: str) -> str:
    """Return the comment beside *field* in the sheet *text*, also where the field is left out.

    Empty where there is none. Raises FileProblems.
    """
    steps = _steps(field)
    body = text.removeprefix(_MARK)
    found = _find(body, steps)
    if found is not None and found.key and isinstance(found.value, yaml.MappingNode):
        start = found.key.end_mark.index
    elif found is not None:
        start = _end(found)
    else:
        line = _left_out(body, steps)
        if line is None:
            return ""
        start = line.end("field")
    match = _COMMENT.match(body, start)
    return match["says"].strip() if match else ""


def put(text: str, field: str, value: str) -> str:
    """Return the sheet *text* with *field* written as *value*, or left out if that is empty.

    Every comment and every byte of the other fields stays. Raises OrderError where that cannot
    be done, FileProblems if *text* is no sheet at all.
    """
    mark = _MARK if text.startswith(_MARK) else ""
    body = text.removeprefix(mark)
    steps = _steps(field)
    before = _plain(_root(body))
    wanted = _with(before, steps, value)
    if before == wanted:
        return text
    for candidate in _candidates(body, steps, value):
        with suppress(FileProblems):
            if _plain(_root(candidate)) == wanted:
                return mark + candidate
    raise OrderError(_BY_HAND.format(field=field))


def _root(text: str) -> Node:
    return read_bytes(text.encode(), "")


def _steps(field: str) -> tuple[Step, ...]:
    """Return the way to *field*, as the reader names it: places in a list count from 1."""
    return tuple(
        int(found["place"]) - 1 if found["place"] else found["name"]
        for found in _STEP.finditer(field)
    )


def _plain(node: Node) -> Plain:
    if isinstance(node.value, dict):
        return {name: _plain(child) for name, child in node.value.items()}
    if isinstance(node.value, list):
        return [_plain(child) for child in node.value]
    return node.value


def _with(tree: Plain, steps: tuple[Step, ...], value: str) -> Plain:
    """Return *tree* with one field changed; a group that is left without a field goes too."""
    step, *rest = steps
    if isinstance(step, int):
        items = [*tree] if isinstance(tree, list) else []
        step = min(step, len(items))
        items[step : step + 1] = [value] if value else []
        return items
    group = {**tree} if isinstance(tree, dict) else {}
    held = _with(group.get(step, {}), tuple(rest), value) if rest else value
    if held or (isinstance(held, list) and step in group):
        group[step] = held
    else:
        group.pop(step, None)
    return group


# Places in the text


def _compose(text: str) -> yaml.Node:
    found = yaml.compose(text, Loader=yaml.CSafeLoader)
    assert found is not None  # the reader refuses an empty file
    return found


class _Found(msgspec.Struct, frozen=True):
    """A field in the text."""

    parent: yaml.CollectionNode
    key: yaml.Node | None
    """None for an item of a list."""
    value: yaml.Node
    place: int
    """Which of its parent's fields or items it is, from 0."""


def _find(text: str, steps: tuple[Step, ...]) -> _Found | None:
    found, node = None, _compose(text)
    for step in steps:
        child = _child(node, step)
        if child is None:
            return None
        found, node = child, child.value
    return found


def _child(node: yaml.Node, step: Step) -> _Found | None:
    if isinstance(node, yaml.MappingNode):
        for place, (key, value) in enumerate(node.value):
            if key.value == step:
                return _Found(node, key, value, place)
    elif isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        return _Found(node, None, node.value[step], step)
    return None


def _end(found: _Found) -> int:
    """Return where the text of a field ends; the parser ends a group at what comes after."""
    node, key = found.value, found.key
    while isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        key, node = last if isinstance(last, tuple) else (None, last)
    if key is not None and node.start_mark.index == node.end_mark.index:
        return int(key.end_mark.index) + 1  # nothing stands there: after the colon
    return int(node.end_mark.index)


def _last(node: yaml.CollectionNode) -> int:
    """Return where the text of the last field or item of *node* ends."""
    last = node.value[-1]
    key, value = last if isinstance(last, tuple) else (None, last)
    return _end(_Found(node, key, value, len(node.value) - 1))


def _line_after(text: str, place: int) -> int:
    """Return where the line after *place* begins; the length of *text* where there is none."""
    if place and text[place - 1] == "\n":
        return place
    end = text.find("\n", place)
    return len(text) if end < 0 else end + 1


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _quoted(value: str) -> str:
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _writings(value: str, style: str | None) -> tuple[str, ...]:
    """Return the ways to write *value*, the one that stood there first."""
    single = "'" + value.replace("'", "''") + "'"
    if style == "'":
        return single, _quoted(value)
    # A program that reads older YAML takes a time that is not in quotes for a number.
    if style == '"' or re.fullmatch(r"[0-9]+(:[0-9]+)+", value):
        return (_quoted(value),)
    return value, _quoted(value)


# What the text may become: the first that changes just one field is taken


def _candidates(text: str, steps: tuple[Step, ...], value: str) -> Iterator[str]:
    found = _find(text, steps)
    if not value:
        yield from _without(text, steps)
    elif found is not None:
        yield from _in_place(text, found, value)
    else:
        line = _left_out(text, steps)
        if line is not None:
            yield from _back_in(text, line, steps, value)
        yield from _added(text, steps, value)


def _in_place(text: str, found: _Found, value: str) -> Iterator[str]:
    start, end = found.value.start_mark.index, _end(found)
    if not isinstance(found.value, yaml.ScalarNode):
        return
    style = found.value.style
    for way in _writings(value, style):
        if found.key is not None and start == found.value.end_mark.index:
            yield f"{text[:end]} {way}{text[end:]}"
        else:
            after = _newline(text) if style in ("|", ">") else ""
            yield f"{text[:start]}{way}{after}{text[end:]}"


def _left_out(text: str, steps: tuple[Step, ...]) -> re.Match[str] | None:
    """Return the line on which the last of *steps* stands as a comment, in its own group."""
    name = steps[-1]
    parent = _find(text, steps[:-1])
    group = parent.value if parent else _compose(text)
    if isinstance(name, int) or not isinstance(group, yaml.MappingNode) or not group.value:
        return None
    start = parent.key.end_mark.index if parent and parent.key else 0
    end, column = group.end_mark.index if parent else len(text), group.start_mark.column
    line = rf"^(?P<indent> {{{column}}})(?P<sign># ?)(?P<field>{re.escape(name)}:)(?=[ \r\n]|\Z)"
    return re.compile(line, re.MULTILINE).search(text, start, end)


def _back_in(text: str, line: re.Match[str], steps: tuple[Step, ...], value: str) -> Iterator[str]:
    """Make a field of the comment that it stood in, with *value* for its own."""
    open_again = text[: line.start("sign")] + text[line.end("sign") :]
    with suppress(FileProblems, yaml.YAMLError):
        found = _find(open_again, steps)
        if found is not None:
            yield from _in_place(open_again, found, value)


def _added(text: str, steps: tuple[Step, ...], value: str) -> Iterator[str]:
    """Write a new field after the last one of the nearest group that there is."""
    known = next(n for n in range(len(steps) - 1, -1, -1) if n == 0 or _find(text, steps[:n]))
    parent, missing = _find(text, steps[:known]) if known else None, steps[known:]
    node = parent.value if parent else _compose(text)
    for way in _writings(value, None):
        if isinstance(node, yaml.CollectionNode) and node.flow_style:
            end = _last(node) if node.value else node.end_mark.index - 1
            comma = ", " if node.value else ""
            yield f"{text[:end]}{comma}{_in_flow(missing, way)}{text[end:]}"
            continue
        if isinstance(node, yaml.CollectionNode):
            end, indent = _last(node), node.start_mark.column
        elif parent is not None and not node.value and parent.key is not None:
            end, indent = _end(parent), parent.key.start_mark.column + 2
        else:
            return
        after, newline = _line_after(text, end), _newline(text)
        lines = "".join(f"{line}{newline}" for line in _in_lines(missing, way, indent))
        gap = "" if text[:after].endswith("\n") else newline
        yield f"{text[:after]}{gap}{lines}{text[after:]}"


def _in_flow(steps: tuple[Step, ...], way: str) -> str:
    step, *rest = steps
    if isinstance(step, int):
        return way
    inner = _in_flow(tuple(rest), way) if rest else way
    if rest:
        inner = f"[{inner}]" if isinstance(rest[0], int) else f"{{{inner}}}"
    return f"{step}: {inner}"


def _in_lines(steps: tuple[Step, ...], way: str, indent: int) -> tuple[str, ...]:
    step, *rest = steps
    space = " " * indent
    if isinstance(step, int):
        return (f"{space}- {way}",)
    if not rest or isinstance(rest[0], int):
        return (space + _in_flow(steps, way),)
    return f"{space}{step}:", *_in_lines(tuple(rest), way, indent + 2)


def _without(text: str, steps: tuple[Step, ...]) -> Iterator[str]:
    """Make a comment of a field, or of the group that it is the last one of."""
    found = _find(text, steps)
    while found is not None and len(steps) > 1 and found.key and len(found.parent.value) == 1:
        steps = steps[:-1]
        found = _find(text, steps)
    if found is None:
        return
    start = (found.key or found.value).start_mark.index
    if found.parent.flow_style:
        yield _out_of_flow(text, found, start)
        return
    first, after = text.rfind("\n", 0, start) + 1, _line_after(text, _end(found))
    lines = re.sub(r"(?m)^( *)(?=[^ #\r\n])", r"\1# ", text[first:after])
    if found.key is None and len(found.parent.value) == 1:
        above = _find(text, steps[:-1])
        if above is not None and above.key is not None:
            colon = above.key.end_mark.index + 1
            yield f"{text[:colon]} []{text[colon:first]}{lines}{text[after:]}"
    yield f"{text[:first]}{lines}{text[after:]}"


def _out_of_flow(text: str, found: _Found, start: int) -> str:
    others = found.parent.value
    end = found.value.end_mark.index
    if found.place:
        before = others[found.place - 1]
        start = (before[1] if isinstance(before, tuple) else before).end_mark.index
    elif len(others) > 1:
        after = others[1]
        end = (after[0] if isinstance(after, tuple) else after).start_mark.index
    return text[:start] + text[end:]
