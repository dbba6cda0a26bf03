"""Case files that nobody should write, and what must hold whatever stands in them.

Every input follows from its random generator alone, so that seed and number of a run make it again.
"""

from __future__ import annotations

import codecs
import copy
import re
from collections.abc import Callable
from random import Random
from typing import Any

import yaml

from tests.cases import BLANK_FLANGE, ELBOW
from tests.fuzz.material import NAMES, ODD_NUMBERS, UNITS, sources, trees, vocabulary

_DUMPER: Any = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
_NUMBER = re.compile(r"(?<![\w.#])[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?(?![\w.])")
_UNIT = re.compile(r"(?<=\d )[A-Za-z°%][\w*/^·³²°]*")
_KEY = re.compile(r"(?<![\w-])[A-Za-z_][\w ]*(?=:)")


def make(draw: Random) -> bytes:
    """One input, of any sort."""
    sort = draw.choices(_SORTS, _WEIGHTS)[0]
    made = sort(draw)
    return made if isinstance(made, bytes) else made.encode("utf-8", "surrogatepass")


def number_text(draw: Random) -> str:
    """A number as somebody may write it: odd, huge, tiny or plain."""
    roll = draw.random()
    if roll < 0.4:
        return draw.choice(ODD_NUMBERS)
    if roll < 0.45:
        return draw.choice("123456789") + "0" * draw.choice((20, 400, 5000, 100_000))
    if roll < 0.47:
        return "0." + "0" * draw.choice((20, 400, 5000)) + "1"
    if roll < 0.85:
        return f"{draw.choice((1, 1, 1, -1)) * 10 ** draw.uniform(-9, 9):.4g}"
    return str(draw.randint(-3, 200))


def quantity_text(draw: Random) -> str:
    """A number, most times with a unit, at times with a spread."""
    text = f"{number_text(draw)} {draw.choice(UNITS)}" if draw.random() < 0.85 else number_text(draw)
    return f"{text} ± {number_text(draw)} {draw.choice((*UNITS, '%', '%'))}" if draw.random() < 0.1 else text


def _by_lines(draw: Random) -> str:
    """A good file whose lines were deleted, doubled, swapped, moved in or out, cut, or spliced with those of another."""
    lines = draw.choice(sources()).splitlines()
    for _ in range(draw.randint(1, 4)):
        if not lines:
            break
        at, other = draw.randrange(len(lines)), draw.randrange(len(lines))
        roll = draw.randrange(10)
        if roll == 0:
            del lines[at]
        elif roll == 1:
            lines.insert(other, lines[at])
        elif roll == 2:
            lines[at], lines[other] = lines[other], lines[at]
        elif roll == 3:
            lines[at] = " " * draw.randint(1, 5) + lines[at]
        elif roll == 4:
            lines[at] = lines[at][draw.randint(0, 4) :]
        elif roll == 5:
            lines[at] = "\t" + lines[at]
        elif roll == 6:
            lines[at] = lines[at][: draw.randint(0, len(lines[at]))]
        elif roll == 7:
            del lines[at : at + draw.randint(1, 8)]
        elif roll == 8:
            more = draw.choice(sources()).splitlines()
            start = draw.randrange(len(more))
            lines[at:at] = more[start : start + draw.randint(1, 12)]
        else:
            more = draw.choice(sources()).splitlines()
            lines[at:] = more[draw.randrange(len(more)) :]
    return draw.choice(("\n", "\n", "\n", "\r\n", "\r")).join(lines) + "\n"


def _by_words(draw: Random) -> str:
    """A good file in which numbers, units, keys or characters were replaced."""
    text = draw.choice(sources())
    keys, _ = vocabulary()
    for _ in range(draw.randint(1, 4)):
        pattern, other = draw.choice(
            (
                (_NUMBER, number_text),
                (_NUMBER, number_text),
                (_UNIT, lambda draw: draw.choice(UNITS)),
                (_KEY, lambda draw: draw.choice((*keys, *NAMES))),
                (re.compile(r"[\[\]{}:,\"#&*|>'-]"), lambda draw: draw.choice("[]{}:,\"#&*|>'-@`%!?\t \n")),
                (re.compile(r"."), lambda draw: chr(draw.choice((draw.randrange(128), draw.randrange(0xD800))))),
            )
        )
        found = list(pattern.finditer(text))
        if found:
            spot = draw.choice(found)
            text = text[: spot.start()] + other(draw) + text[spot.end() :]
    return text


def _by_values(draw: Random) -> str:
    """A good file whose quantities were multiplied, so that much of what follows is read."""
    text = draw.choice(sources())
    share = draw.choice((0.03, 0.1, 0.5, 1.0))
    power = draw.choice((0.3, 1.0, 3.0, 9.0))

    def scaled(found: re.Match[str]) -> str:
        if draw.random() > share:
            return found[0]
        sign = draw.choice((1, 1, 1, 1, 0, -1))
        value = float(found[0]) * sign * 10 ** draw.uniform(-power, power)
        return f"{value:.6g}" if draw.random() < 0.9 else str(draw.randint(0, 130))

    return _NUMBER.sub(scaled, text)


def _by_tree(draw: Random) -> str:
    """A good file as a tree in which branches were taken out, put elsewhere, or exchanged for those of another file."""
    keys, values = vocabulary()
    tree = copy.deepcopy(draw.choice(trees()))
    for _ in range(draw.choice((1, 1, 1, 2, 3))):
        places: list[tuple[Any, Any]] = []

        def walk(node: Any, places: list[tuple[Any, Any]] = places) -> None:
            children = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
            for key, child in children:
                places.append((node, key))
                walk(child)

        walk(tree)
        if not places:
            break
        node, key = draw.choice(places)
        roll = draw.randrange(7)
        if roll == 0:
            del node[key]
        elif roll == 1:
            node[key] = copy.deepcopy(draw.choice(values))
        elif roll == 2:
            node[key] = quantity_text(draw)
        elif roll == 3 and isinstance(node, dict):
            node[draw.choice(keys)] = copy.deepcopy(draw.choice(values))
        elif roll == 4 and isinstance(node, dict):
            node[draw.choice(NAMES)] = node.pop(key)
        elif roll == 5 and isinstance(node, dict):
            node[draw.choice(keys)] = draw.choice((quantity_text(draw), random_node(draw, 2)))
        else:
            other, its = draw.choice(places)
            node[key], other[its] = other[its], node[key]
    try:
        return yaml.dump(
            tree,
            Dumper=_DUMPER,
            allow_unicode=True,
            sort_keys=False,
            default_flow_style=draw.choice((None, False)),
        )
    except (RecursionError, ValueError):  # a branch was put into itself
        return draw.choice(sources())


def random_node(draw: Random, depth: int) -> Any:
    """A tree of keys and values of the format, and others."""
    keys, values = vocabulary()
    roll = draw.random()
    if depth > 0 and roll < 0.45:
        return {
            draw.choice(keys if draw.random() < 0.8 else NAMES): random_node(draw, depth - 1)
            for _ in range(draw.randint(0, 5))
        }
    if depth > 0 and roll < 0.6:
        return [random_node(draw, depth - 1) for _ in range(draw.randint(0, 4))]
    return draw.choice((quantity_text, lambda draw: draw.choice(values), lambda draw: draw.choice(NAMES)))(draw)


def _random_yaml(draw: Random) -> str:
    """YAML of the format's keys in any order, under its own top keys or none."""
    tree: Any = random_node(draw, draw.randint(0, 4))
    if draw.random() < 0.7:
        top = (
            "fluid",
            "fitting",
            "openings",
            "joints",
            "external",
            "allow",
            "sizing",
            "cases",
            "supports",
            "up",
            "units",
        )
        tree = {"case_file": "1", **{key: random_node(draw, 4) for key in top if draw.random() < 0.6}}
    return yaml.dump(tree, Dumper=_DUMPER, allow_unicode=draw.random() < 0.5, sort_keys=False)


def _signs(draw: Random) -> str:
    """A run of the signs of YAML."""
    pieces = (
        "-",
        ":",
        "?",
        "[",
        "]",
        "{",
        "}",
        ",",
        "#",
        "&a",
        "*a",
        "!",
        "!!int",
        "|",
        ">",
        "'",
        '"',
        "%",
        "@",
        "`",
        "---",
        "...",
        "<<",
    )
    more = (" ", "  ", "\n", "\n  ", "\t", "a", "1", "key: ", "\r\n", "\0", "\x85", "\u2028", "\ufeff", "\\x", "\\u")
    return "".join(draw.choice(pieces + more) for _ in range(draw.randint(1, 60)))


def _random_bytes(draw: Random) -> bytes:
    return draw.randbytes(draw.choice((1, 2, 3, 10, 100, 1000)))


def _flipped(draw: Random) -> bytes:
    """A good file of which some bytes were replaced, put in or taken out."""
    raw = bytearray(draw.choice(sources()).encode())
    for _ in range(draw.randint(1, 6)):
        at = draw.randrange(len(raw))
        roll = draw.randrange(4)
        if roll == 0:
            raw[at] = draw.randrange(256)
        elif roll == 1:
            raw[at:at] = draw.randbytes(draw.randint(1, 4))
        elif roll == 2:
            del raw[at : at + draw.randint(1, 20)]
        else:
            raw[at] ^= 1 << draw.randrange(8)
    return bytes(raw)


def _encoded(draw: Random) -> bytes:
    """A good file in an encoding that it should not have."""
    text = draw.choice((_by_values, _by_lines, lambda draw: draw.choice(sources())))(draw)
    coding = draw.choice(
        ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "latin-1", "cp1252", "cp500", "utf-8-sig", "utf-7", "utf-8")
    )
    raw = text.encode(coding, "replace")
    roll = draw.randrange(5)
    if roll == 0:
        raw = draw.choice((codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, b"\0", b"\xff")) + raw
    elif roll == 1:
        raw += b"\0" * draw.randint(1, 9)
    elif roll == 2:
        raw = raw.replace(b"\n", b"\r\n")
    return raw


def _nested(draw: Random) -> str:
    """Brackets in brackets, keys below keys, aliases of aliases."""
    depth = draw.choice((5, 23, 24, 25, 100, 2000))
    roll = draw.randrange(7)
    if roll == 0:
        return "a: " + "[" * depth + "]" * draw.choice((0, depth))
    if roll == 1:
        return "{a: " * depth + "1" + "}" * draw.choice((0, depth))
    if roll == 2:
        return "\n".join(" " * level + "a:" for level in range(min(depth, 300)))
    if roll == 3:
        return "- " * depth + "a"
    if roll == 4:
        wide = draw.choice((2, 9, 20))
        lines = [f"a0: &a0 [{', '.join(['x'] * wide)}]"]
        lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * wide)}]" for n in range(1, draw.choice((3, 9, 20)))]
        return "\n".join(lines)
    if roll == 5:
        lines = ["a0: &a0 {k: x}"] + [
            f"a{n}: &a{n} {{<<: *a{n - 1}, k{n}: *a{n - 1}}}" for n in range(1, draw.choice((9, 25)))
        ]
        return "\n".join(lines)
    return draw.choice(
        (
            "a: &a [*a]",
            "a: &a {b: *a}",
            "a: &a\n  <<: *a",
            "&a a: *a",
            "? &a [x]\n: *a",
            "&a {*a : 1}",
            "<<: &a {<<: *a}",
        )
    )


def _long(draw: Random) -> str:
    """Much of one thing: keys, entries, openings, cases, bolts, or one long text."""
    roll, much = draw.randrange(7), draw.choice((100, 1000))
    text = draw.choice((BLANK_FLANGE, ELBOW))
    if roll == 0:
        return text + "".join(f"key{n}: 1\n" for n in range(much))
    if roll == 1:
        return text.replace("cases:\n", "cases:\n" + "".join(f"  c{n}: {{}}\n" for n in range(much)))
    if roll == 2:
        return text.replace("title: ", "title: " + "x" * much * 100)
    if roll == 3:
        one = "{center: [0, 0, 0 m], outward: [1, 0, 0], bore: 1 mm}"
        return text.replace("openings:\n", "openings:\n" + "".join(f"  o{n}: {one}\n" for n in range(much)))
    if roll == 4:
        return re.sub(r"count: \d+", f"count: {draw.choice((1, 2, 3, 127, 128, 129, 400, 1000, 10**9, 10**30))}", text)
    if roll == 5:
        return (
            text
            + "external:\n"
            + "".join(f"  - {{name: n{n}, force: [0, 0, 1 N], at: [0, 0, 0 m]}}\n" for n in range(much))
        )
    return text.replace("100 mm", "1" * much * 10 + " mm")


_SORTS: tuple[Callable[[Random], str | bytes], ...] = (
    _by_lines,
    _by_words,
    _by_values,
    _by_tree,
    _random_yaml,
    _signs,
    _random_bytes,
    _flipped,
    _encoded,
    _nested,
    _long,
)
_WEIGHTS = (16, 16, 14, 14, 12, 9, 5, 9, 4, 1, 0.2)
