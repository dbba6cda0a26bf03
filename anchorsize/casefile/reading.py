"""YAML text to a tree that remembers its lines. Nothing is interpreted: every scalar stays the text the user wrote.

The tree is built from the parser's events and not by the YAML loader, because raw text is wanted (``8.8``, ``010``,
``no`` and ``on`` mean what they say), every value needs its line, and duplicate keys and runaway aliases must be seen.
"""

from __future__ import annotations

import difflib
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeAlias

import yaml

from anchorsize.casefile.problems import CaseFileError, Problem, shorten

LARGEST_FILE = 2_000_000  # bytes
CASE_FILES = (".yaml", ".yml")  # endings of the files that are offered in place of one that is not there
_DEEPEST = 24
_MOST_NODES = 50_000
# Signs that could command a terminal, or that no output can hold. YAML lets them in as escapes such as "\\e".
_CONTROL = re.compile("[\x00-\x08\x0e-\x1b\x7f-\x84\x86-\x9f\ud800-\udfff]")
_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")  # could turn the figures of a sentence about
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Text(str):
    """A scalar as written, with its place."""

    line: int
    path: tuple[str, ...]
    plain: bool

    def __new__(cls, value: str, line: int, path: tuple[str, ...], plain: bool = True) -> Text:
        text = super().__new__(cls, value)
        text.line, text.path, text.plain = line, path, plain
        return text


class Branch(dict[str, "Tree"]):
    """A mapping with its place; ``lines`` holds the line of each key."""

    def __init__(self, line: int, path: tuple[str, ...]) -> None:
        super().__init__()
        self.line, self.path = line, path
        self.lines: dict[str, int] = {}


class Items(list["Tree"]):
    """A list with its place. Items are counted from 1 in paths, as people do."""

    def __init__(self, line: int, path: tuple[str, ...]) -> None:
        super().__init__()
        self.line, self.path = line, path


Tree: TypeAlias = Text | Branch | Items


def read_text(path: str | Path) -> str:
    """Return the text of a case file: UTF-8, with or without byte-order mark. Raises :class:`CaseFileError`."""
    name = str(path)

    def fail(message: str, hint: str, kind: str, line: int = 0) -> CaseFileError:
        return CaseFileError([Problem(name, line, (), "", message, hint, kind)])

    try:
        with open(path, "rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise fail("no such file", _like(name) or "anchorsize start writes one to begin with", "file") from None
    except IsADirectoryError:
        raise fail("this is a directory", "name a case file in it", "file") from None
    except (OSError, ValueError) as error:
        raise fail(f"cannot be read: {getattr(error, 'strerror', None) or error}", "", "file") from None
    if len(raw) > LARGEST_FILE:
        raise fail("larger than 2 MB", "a case file is a page or two of text", "too_large")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        wide = raw[:2] in (b"\xff\xfe", b"\xfe\xff")
        message = "not UTF-8 text" + (", but UTF-16" if wide else f" (byte 0x{raw[error.start]:02x})")
        raise fail(message, "save the file as UTF-8", "encoding", line) from None


def _like(name: str) -> str:
    """The case file in the same folder whose name is most like one that is not there; nothing where none is."""
    try:
        there = [each for each in os.listdir(os.path.dirname(name) or ".") if each.lower().endswith(CASE_FILES)]
    except (OSError, ValueError):
        return ""
    meant = os.path.basename(name)
    known = {os.path.splitext(each)[0]: each for each in there} | {each: each for each in there}
    close = difflib.get_close_matches(meant, known, n=1, cutoff=0.6)
    return f"did you mean {shorten(known[close[0]], 120)}?" if close else ""


def read_tree(text: str, name: str) -> tuple[Branch, list[Problem]]:
    """Read YAML ``text`` into a tree; return it with the problems that do not stop the reading (duplicate keys).

    Raises
    ------
    CaseFileError
        The text is no single YAML mapping, or too large or deep to be a case file.
    """
    composer = _Composer(name)
    try:
        return composer.document(text.removeprefix("\ufeff")), composer.problems
    except yaml.MarkedYAMLError as error:
        mark: Any = error.problem_mark or error.context_mark
        line = mark.line if mark else -1
        lines = text.split("\n", line + 1)
        raise composer.fatal(line + 1, *_explain(error, lines[line] if 0 <= line < len(lines) else "")) from None
    except (yaml.YAMLError, UnicodeError, ValueError) as error:
        if isinstance(error, CaseFileError):
            raise
        message = f"holds a character that YAML does not allow: {shorten(str(error), 100)}"
        raise composer.fatal(0, message, "", "yaml") from None


def _explain(error: yaml.MarkedYAMLError, line: str) -> tuple[str, str, str]:
    """Put a YAML error in words, with the usual remedy; ``line`` is the text of its line."""
    what = shorten(str(error.problem or error.context or "unreadable"), 100)
    hint = ""
    if "\t" in line[: len(line) - len(line.lstrip())]:
        return "a tab in the indentation", "indent with spaces", "yaml"
    if "start any token" in what:
        hint = "a text that starts with @, ` or % needs quotes"
    elif "mapping values are not allowed" in what:
        hint = "a text with a colon needs quotes"
    elif "block end" in what or "block mapping" in what:
        hint = "look at the indentation of this line and the one above"
    elif re.search(r"[\[,]\s*,", line) and "node content" in what:
        hint = "nothing stands between two commas; in a list by bolts a missing one is -"
    elif "flow" in what or "',' or" in what:
        hint = "a bracket or brace is not closed, or a comma is missing"
    elif "alias" in what:
        hint = "an * needs an & before it; a text that starts with * needs quotes"
    return f"not YAML: {what}", hint, "yaml"


class _Composer:
    def __init__(self, name: str) -> None:
        self.name = name
        self.problems: list[Problem] = []
        self._anchors: dict[str, list[Any]] = {}
        self._nodes = 0

    def fatal(self, line: int, message: str, hint: str, kind: str, path: tuple[str, ...] = ()) -> CaseFileError:
        return CaseFileError([*self.problems, Problem(self.name, line, path, "", message, hint, kind)])

    def document(self, text: str) -> Branch:
        if len(text) > LARGEST_FILE:
            raise self.fatal(0, "larger than 2 MB", "a case file is a page or two of text", "too_large")
        stream = (event for event in yaml.parse(text, Loader=_LOADER))
        top: Tree | None = None
        for event in stream:
            if isinstance(event, (yaml.StreamStartEvent, yaml.StreamEndEvent, yaml.DocumentEndEvent)):
                continue
            mark: Any = event.start_mark
            line = mark.line + 1
            if isinstance(event, yaml.DocumentStartEvent):
                if top is not None:
                    raise self.fatal(line, "a second document starts here", "one case file, one document", "yaml")
                continue
            top = self._node(event, stream, (), 0)
        if top is None or (isinstance(top, Text) and not top.strip()):
            raise self.fatal(1, "the file is empty", "anchorsize start writes one to begin with", "empty")
        if not isinstance(top, Branch):
            raise self.fatal(
                top.line, "keys are expected here, at the top of the file", "start with 'case_file: 1'", "wrong_form"
            )
        return top

    def _node(self, event: Any, stream: Iterator[Any], path: tuple[str, ...], depth: int) -> Tree:
        line = event.start_mark.line + 1
        self._nodes += 1
        if depth > _DEEPEST:
            raise self.fatal(line, "nested too deeply", "", "too_large")
        if self._nodes > _MOST_NODES:
            raise self.fatal(line, "too many entries, or aliases that multiply", "", "too_large")
        if isinstance(event, yaml.AliasEvent):
            return self._alias(event, path, depth, line)
        anchor = event.anchor
        events = [event]
        if anchor is not None:
            stream = _recorded(stream, events)
        if isinstance(event, yaml.ScalarEvent):
            node: Tree = Text(self._letters(event.value, line, path), line, path, event.style is None)
        elif isinstance(event, yaml.SequenceStartEvent):
            node = self._items(stream, path, depth, line)
        else:
            node = self._branch(stream, path, depth, line)
        if anchor is not None:
            self._anchors[anchor] = events
        return node

    def _alias(self, event: Any, path: tuple[str, ...], depth: int, line: int) -> Tree:
        """Read the anchored events again, at the alias's own path; the node count bounds what this can cost."""
        events = self._anchors.get(event.anchor)
        if events is None:
            raise self.fatal(line, f"nothing is marked '&{shorten(event.anchor)}' above", "", "yaml", path)
        replay = iter(events)
        return self._node(next(replay), replay, path, depth)

    def _letters(self, value: str, line: int, path: tuple[str, ...]) -> str:
        """Complain about control characters; leave them out, and silently those that turn the reading direction."""
        for sign in dict.fromkeys(_CONTROL.findall(value)):
            message = f"holds the control character 0x{ord(sign):02x}"
            self.problems.append(Problem(self.name, line, path, "", message, "take it out", "yaml"))
        return _TURNING.sub("", _CONTROL.sub("", value))

    def _items(self, stream: Iterator[Any], path: tuple[str, ...], depth: int, line: int) -> Items:
        items = Items(line, path)
        for event in stream:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            items.append(self._node(event, stream, (*path, str(len(items) + 1)), depth + 1))
        return items

    def _branch(self, stream: Iterator[Any], path: tuple[str, ...], depth: int, line: int) -> Branch:
        branch, merged = Branch(line, path), list[Branch]()
        for event in stream:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key_line = event.start_mark.line + 1
            key = self._node(event, stream, path, depth + 1)
            if not isinstance(key, Text):
                raise self.fatal(key_line, "a key must be a single word or text", "", "yaml", path)
            merge = key == "<<" and key.plain
            value = self._node(next(stream), stream, path if merge else (*path, str(key)), depth + 1)
            if merge and isinstance(value, Branch):
                merged.append(value)
            elif key in branch:
                message = f"'{shorten(key)}' is written twice, first in line {branch.lines[key]}"
                problem = Problem(
                    self.name, key_line, (*path, str(key)), str(key), message, "keep one", "duplicate_key"
                )
                self.problems.append(problem)
            else:
                branch[str(key)] = value
                branch.lines[str(key)] = key_line
        for source in merged:
            for name, value in source.items():
                if name not in branch:
                    branch[name] = value
                    branch.lines[name] = source.lines[name]
        return branch


def _recorded(stream: Iterator[Any], events: list[Any]) -> Iterator[Any]:
    for event in stream:
        events.append(event)
        yield event
