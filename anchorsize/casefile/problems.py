"""What is wrong with a case file: one :class:`Problem` each, all of them together in a :class:`CaseFileError`."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

# The stable kinds of problem. Messages may be reworded; these words are kept.
KINDS: dict[str, str] = {
    "file": "the file cannot be opened",
    "encoding": "the file is not UTF-8 text",
    "too_large": "too many bytes, too deeply nested, or aliases that multiply",
    "yaml": "not readable as YAML",
    "wrong_form": "a mapping, list or single value stands where another is expected",
    "empty": "a key with nothing after it",
    "duplicate_key": "a key or name written twice",
    "unknown_key": "a key that does not exist there",
    "missing_key": "a key that is needed there",
    "choice": "not one of the words allowed",
    "no_unit": "a bare number where a unit is needed",
    "unknown_unit": "a unit that does not exist",
    "wrong_dimension": "a unit of another kind of quantity",
    "ambiguous_unit": "a unit that may mean two things",
    "gauge_or_absolute": "gauge where absolute is expected, or the other way round",
    "not_a_number": "no number, or a number that cannot be read",
    "not_finite": "NaN or infinity",
    "out_of_range": "impossible, or so large or small that the unit is in doubt",
    "unknown_name": "a name of an opening, case or joint that does not exist",
    "not_in_table": "not in the reference tables",
    "contradiction": "two entries that cannot both hold",
    "flow_balance": "flows that do not balance, or too few given",
    "unknown_override": "a path that names no quantity of the file",
}

_LONGEST_WORD = 120  # letters of one word in a message
_JOINERS = "\u200c\u200d"  # part of several scripts and of emoji


@dataclass(frozen=True)
class Problem:
    """One thing wrong: where (1-based ``line``, 0 where the whole file is meant; key ``path``), what was ``found``
    (the text as written, may be empty), what about it (``message``), what to write instead (``hint``, may be empty) and
    its stable ``kind``, a key of :data:`KINDS`.
    """

    file: str
    line: int
    path: tuple[str, ...]
    found: str
    message: str
    hint: str
    kind: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}: " if self.line else f"{self.file}: "
        keys = f"{' / '.join(map(shorten, self.path))}: " if self.path else ""
        hint = f" ({self.hint})" if self.hint else ""
        return f"{place}{keys}{self.message}{hint}"


class CaseFileError(ValueError):
    """A case file cannot be used; ``problems`` holds everything that is wrong, by line."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = sorted(
            set(problems), key=lambda problem: (problem.line, _in_turn(problem.path), problem.message)
        )
        super().__init__("\n".join(str(problem) for problem in self.problems))


def _in_turn(path: tuple[str, ...]) -> tuple[tuple[int, str], ...]:
    """A key path that sorts numbers by their size."""
    return tuple((int(key), "") if key.isascii() and key.isdigit() and len(key) < 9 else (-1, key) for key in path)


def nearest(word: str, known: Iterable[str]) -> str:
    """Return ``"did you mean 'inlet'?"`` for the nearest of ``known``, or a list of them, or nothing for none."""
    words = list(known)
    lowered = {name.lower().replace("_", " "): name for name in words}
    close = difflib.get_close_matches(word.lower().replace("_", " "), lowered, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{shorten(lowered[close[0]])}'?"
    return listed(words)


def alike(word: str) -> str:
    """A word of the format without capitals, blanks, hyphens and underscores, which make no difference to what it means."""
    return "".join(word.replace("-", " ").replace("_", " ").split()).casefold()


def listed(words: Sequence[str]) -> str:
    """Return ``'known: a, b, c'``, cut short where there are many, or nothing for none."""
    if not words:
        return ""
    return "known: " + ", ".join(map(shorten, words[:12])) + (", …" if len(words) > 12 else "")


def quoted(names: Iterable[str]) -> str:
    """Return ``"'a', 'b'"``, cut short where there are many."""
    words = [f"'{name}'" for name in names]
    return ", ".join(words[:12]) + (f" and {len(words) - 12} more" if len(words) > 12 else "")


def shorten(text: str, longest: int = 60) -> str:
    """Return ``text`` on one line, short enough to quote in a message, with signs that show nothing written as escapes."""
    line = _visible(" ".join(text.split()))
    return line if len(line) <= longest else line[: longest - 1] + "…"


def sentence(text: str) -> str:
    """Return a message on one line, with endless words that it quotes cut short and signs that show nothing as escapes."""
    if len(text) > _LONGEST_WORD:
        text = " ".join(word if len(word) <= _LONGEST_WORD else f"{word[:_LONGEST_WORD]}…'" for word in text.split())
    return _visible(" ".join(text.split()))


def _visible(line: str) -> str:
    if line.isprintable():
        return line
    return "".join(sign if sign.isprintable() or sign in _JOINERS else f"\\u{ord(sign):04x}" for sign in line)
