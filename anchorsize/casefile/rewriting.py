"""Single values of a case file changed in its text, at their place; every other character, comments included, stays."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, cast

import yaml

_PLAIN = re.compile(r"[A-Za-z0-9][\w ./%*·°+-]*")


class RewriteError(ValueError):
    """The text holds the value in a way that cannot be changed in place; the message says which."""


def scalar(text: str) -> str:
    """Write a text so that YAML reads it back as it is, also inside braces."""
    if _PLAIN.fullmatch(text) and not text.endswith(" "):
        return text
    quoted = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{quoted}"'


def has_key(text: str, path: tuple[str, ...]) -> bool:
    """Whether a key path is written out in the text; what comes by a merge or a short form is not."""
    return _node_at(text, path) is not None


def written_at(text: str, path: tuple[str, ...]) -> str | None:
    """The single text written out at a key path; None where there is none, or something else stands there."""
    node = _node_at(text, path)
    return str(node.value) if isinstance(node, yaml.ScalarNode) else None


def _node_at(text: str, path: tuple[str, ...]) -> yaml.Node | None:
    """The node at a key path that is written out in the text; None where there is none."""
    node: Any = _compose(text)
    for key in path:
        pair = _pair(node, key)
        if pair is None:
            return None
        node = pair[1]
    return cast("yaml.Node", node)


def change(text: str, path: tuple[str, ...], values: Mapping[str, str | None], whole: Mapping[str, str] | str) -> str:
    """Set or take out (None) keys of the mapping at ``path``, each value as YAML text.

    Where there is no mapping yet, or a short text stands for it, ``whole`` is written in its place: a mapping, or a short text.

    Raises
    ------
    RewriteError
        A list stands there, or the place is shared by an anchor.
    """
    root = _compose(text)
    node, parents = root, path[:-1]
    for key in parents:
        node = _child(root, node, key)
    pair = _pair(node, path[-1])
    written = (
        whole if isinstance(whole, str) else "{" + ", ".join(f"{key}: {value}" for key, value in whole.items()) + "}"
    )
    if pair is None:
        return _insert(text, node, path[-1], written)
    target = _child(root, node, path[-1])
    if isinstance(target, yaml.ScalarNode):
        return text[: target.start_mark.index] + written + text[target.end_mark.index :]
    if not isinstance(target, yaml.MappingNode):
        raise RewriteError(f"{' / '.join(path)} is a list, which is not rewritten")
    for key, value in values.items():
        if value is not None:
            text = _set(text, path, key, value)
    for key, value in values.items():
        if value is None:
            text = _take_out(text, path, key)
    return text


def _compose(text: str) -> Any:
    return yaml.compose(text, Loader=yaml.SafeLoader)


def _pair(node: Any, key: str) -> tuple[Any, Any] | None:
    if not isinstance(node, yaml.MappingNode):
        return None
    return next(((k, v) for k, v in node.value if isinstance(k, yaml.ScalarNode) and k.value == key), None)


def _child(root: Any, node: Any, key: str) -> Any:
    """The value of a key, refused where another place of the file shares it."""
    pair = _pair(node, key)
    if pair is None or sum(1 for each in _nodes(root) if each is pair[1]) > 1:
        why = "is not written out" if pair is None else "is shared with another place by an anchor"
        raise RewriteError(f"'{key}' {why}, so it cannot be changed in place")
    return pair[1]


def _nodes(node: Any) -> Iterator[Any]:
    yield node
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from _nodes(key)
            yield from _nodes(value)
    elif isinstance(node, yaml.SequenceNode):
        for value in node.value:
            yield from _nodes(value)


def _insert(text: str, mapping: Any, key: str, value: str) -> str:
    """Put a key before the first one of a mapping."""
    if not isinstance(mapping, yaml.MappingNode) or not mapping.value:
        raise RewriteError(f"there is no place for '{key}'")
    mark = mapping.value[0][0].start_mark
    newline = "\r\n" if "\r\n" in text else "\n"
    gap = ", " if mapping.flow_style else newline + " " * mark.column
    return f"{text[: mark.index]}{key}: {value}{gap}{text[mark.index :]}"


def _at(text: str, path: tuple[str, ...]) -> Any:
    root = _compose(text)
    node = root
    for key in path:
        node = _child(root, node, key)
    return node


def _set(text: str, path: tuple[str, ...], key: str, value: str) -> str:
    mapping = _at(text, path)
    if _pair(mapping, key) is None:
        return _insert(text, mapping, key, value)
    node = _at(text, (*path, key))
    return text[: node.start_mark.index] + value + text[_end(node) :]


def _take_out(text: str, path: tuple[str, ...], key: str) -> str:
    """Take a key with its value out; a comment beside it stays."""
    mapping = _at(text, path)
    pair = _pair(mapping, key)
    if pair is None:
        return text
    start, end = pair[0].start_mark.index, _end(_at(text, (*path, key)))
    if mapping.flow_style:
        after = re.match(r"[ \t]*,[ \t]*", text[end:])
        if after:
            return text[:start] + text[end + after.end() :]
        return re.sub(r"[ \t]*,\s*$", "", text[:start]) + text[end:]
    head, tail = text[:start], text[end:]
    bare = re.match(r"[ \t]*(\r?\n|$)", tail)
    if bare:
        return head.rstrip(" \t") + tail[bare.end() :]
    return head + tail.lstrip(" \t")


def _end(node: Any) -> int:
    """Where the text of a value ends; a block reaches to its last entry, not to the blank lines and comments behind."""
    if isinstance(node, yaml.ScalarNode) or node.flow_style or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _end(last[1] if isinstance(last, tuple) else last)
