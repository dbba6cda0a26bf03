"""The columns of a list of joints: which input of the base case file each stands for, in which unit, and its cells."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anchorsize.casefile.inputs import complaints
from anchorsize.casefile.parse import CaseText
from anchorsize.casefile.problems import nearest, shorten
from anchorsize.casefile.quantities import Quantity
from anchorsize.casefile.reading import Branch, Items, Text, Tree
from anchorsize.study import Array
from anchorsize.units import KINDS, TINY, UnitError, si_factor, split_quantity, to_si, unit_factor

if TYPE_CHECKING:
    import pandas as pd

ID = "id"
BOLT_WORDS = (
    "count",
    "size",
    "class",
    "missing",
    "shear_plane",
)  # that a column may give though the base case does not
MOST_SHOWN = 20
MOST_WORDS = 5000  # that differ in a column of words, each of which is a case file of its own; no table has as many
MOST_WRONG = 100  # headers, after which no more are looked at
LONGEST_HEADER = 400  # letters
_HEADER = re.compile(r"^(?P<name>.*?)\s*(?:\[(?P<unit>[^\]]*)\])?\s*$", re.DOTALL)
TALK = ("case_file", "title", "note", "notes", "units")  # keys of a case file that change no result
_WITHOUT_UNIT = ("number", "share")  # kinds whose plain numbers mean what they say

Rows: TypeAlias = NDArray[np.intp]


class ListError(ValueError):
    """A list cannot be used as a whole; ``problems`` says why, one sentence each."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems))


@dataclass(frozen=True)
class Numbers:
    """A column of numbers: where it stands in the frame, its header, the quantity it replaces, and how it turns into SI."""

    place: int
    header: str
    path: str
    quantity: Quantity
    factor: float
    zero: float

    @property
    def by_value(self) -> bool:
        """Whether rows are judged together only where they share the value.

        The base case is built with one look-up of bolt strengths, or one choice of the reference direction, for a whole batch.
        """
        first, *_, last = keys = self.path.split("/")
        if first == "joints":
            return last == "diameter" or "reference" in keys
        return first == "up" or "outward" in keys or (first == "fitting" and self.quantity.kind in ("angle", "number"))


@dataclass(frozen=True)
class Wording:
    """A column of words, such as a bolt size or count, put into the text of the base case."""

    place: int
    header: str
    path: str

    @property
    def listed(self) -> bool:
        """Whether a cell may name several, or none."""
        return self.path.endswith("/missing")


@dataclass(frozen=True)
class Columns:
    """What the columns of a list stand for. ``key`` is the place of the column of names, None where there is none."""

    key: int | None
    numbers: tuple[Numbers, ...]
    words: tuple[Wording, ...]


@dataclass
class Troubles:
    """What is wrong with single rows (m,): the first thing found of each, in words, and in few words for counting.

    ``found`` is True for the rows with which something is wrong; the texts of the others are empty.
    """

    size: int
    found: NDArray[np.bool_] = field(init=False)
    words: NDArray[np.object_] = field(init=False)
    reasons: NDArray[np.object_] = field(init=False)

    def __post_init__(self) -> None:
        self.found = np.zeros(self.size, dtype=np.bool_)
        self.words, self.reasons = np.full(self.size, "", dtype=object), np.full(self.size, "", dtype=object)

    def add(self, rows: Rows | Sequence[int], words: str, reason: str) -> None:
        """Remember what is wrong with these rows, unless something is already."""
        asked = np.asarray(rows, dtype=np.intp)
        fresh = asked[~self.found[asked]]
        self.found[fresh] = True
        self.words[fresh], self.reasons[fresh] = words, reason

    @property
    def sound(self) -> Rows:
        """Places of the rows with which nothing is wrong."""
        return np.flatnonzero(~self.found)


def read_columns(headers: Sequence[Hashable], base: CaseText) -> Columns:
    """Find out what each column stands for, from its header: a key path or the end of one that is unambiguous, with its unit.

    Raises
    ------
    ListError
        With everything that is wrong with the headers.
    """
    problems: list[str] = []
    key: int | None = None
    numbers: list[Numbers] = []
    words: list[Wording] = []
    word_paths = _word_paths(base)
    taken: dict[str, str] = {}
    for place, header in enumerate(" ".join(str(each).split()) for each in headers):
        if len(problems) >= MOST_WRONG:
            problems.append(f"the {len(headers) - place:,} columns after these were not looked at")
            break
        if len(header) > LONGEST_HEADER:
            problems.append(f"column '{shorten(header)}': {len(header):,} letters are no name of an input")
            continue
        parts = _HEADER.match(header)
        name, unit = (parts["name"].strip(), parts["unit"]) if parts else (header, None)
        if _plain(name) == ID and unit is None:
            path = ID
            key = place
        else:
            try:
                path = _path(name, base.quantities, word_paths)
                if path in base.quantities:
                    numbers.append(_numbers(place, header, unit, base.quantities[path]))
                elif unit is not None:
                    raise UnitError("wrong_dimension", f"{path} is no quantity", "take the unit out")
                else:
                    words.append(Wording(place, header, path))
            except UnitError as error:
                problems.append(f"column '{shorten(header)}': {error}")
                continue
        if path in taken:
            problems.append(f"columns '{shorten(taken[path])}' and '{shorten(header)}' both give {path}; keep one")
        taken.setdefault(path, header)
    if not problems and not numbers and not words:
        problems.append(
            "no column gives an input of the base case file; the first row names them, as in 'openings/inlet/bore [mm]'"
        )
    if problems:
        raise ListError(problems)
    return Columns(key, tuple(numbers), tuple(words))


def _numbers(place: int, header: str, unit: str | None, quantity: Quantity) -> Numbers:
    """A column of numbers with its unit. Raises UnitError."""
    kind = quantity.kind
    written = (unit or "").strip()
    if kind in _WITHOUT_UNIT and written in ("1", "-"):
        written = ""
    if not written and kind not in _WITHOUT_UNIT:
        example = KINDS[kind].usual[0] if KINDS[kind].usual else KINDS[kind].si
        name = header.split("[")[0].strip()
        raise UnitError("no_unit", "no unit", f"write it in the header, as in '{name} [{example}]'")
    path = "/".join(quantity.path)
    if kind == "temperature":
        zero = to_si(300.0, written, kind) - 300.0 * si_factor(written, "temperature_change")
        return Numbers(place, header, path, quantity, si_factor(written, "temperature_change"), zero)
    return Numbers(place, header, path, quantity, si_factor(written, kind), 0.0)


def _plain(name: str) -> str:
    return " ".join(name.lower().replace("_", " ").split())


def _path(name: str, numbers: Iterable[str], words: Iterable[str]) -> str:
    """The key path that a name stands for: itself, or the only path that ends in it. Raises UnitError.

    Of words, the last key alone stands for those of bolts only: a column 'name' is hardly the name of the fluid.
    """
    asked = [_plain(key) for key in name.split("/")]
    known = [*numbers, *(path for path in words if len(asked) > 1 or path.split("/")[-1] in BOLT_WORDS)]
    if name in known:
        return name
    ends = {path: [_plain(key) for key in path.split("/")][-len(asked) :] for path in known}
    fits = [path for path, end in ends.items() if end == asked]
    if len(fits) == 1:
        return fits[0]
    if fits:
        more = f", and {len(fits) - 4} more" if len(fits) > 4 else ""
        raise UnitError("ambiguous", f"may be {' or '.join(fits[:4])}{more}", "write more of the path")
    parts = [
        path for path, end in ends.items() if [_plain(key) for key in path.split("/")[:-1]][-len(asked) :] == asked
    ]
    parts = [path for path in parts if path.split("/")[-1] in ("x", "y", "z")]
    short = {"/".join(path.split("/")[-len(asked) :]) for path in known}
    hint = nearest(name, sorted(short)) if asked != [""] else "name the input that the column gives"
    if parts:
        hint = f"a column gives one number: write {', '.join(parts)}"
    raise UnitError("unknown", "no input of the base case file stands there", hint)


def _word_paths(base: CaseText) -> list[str]:
    """Key paths of the words of a case file that a column may give."""
    found = [path for path in _texts(base.tree, ()) if path.split("/")[-1] not in TALK and not _quantity_at(path, base)]
    joints = base.tree.get("joints")
    for joint in joints if isinstance(joints, Branch) else ():
        found += [f"joints/{joint}/bolts/{word}" for word in BOLT_WORDS]
    return list(dict.fromkeys(found))


def _quantity_at(path: str, base: CaseText) -> bool:
    """Whether a quantity, or part of one, stands at a path."""
    return any(
        known == path or known.startswith(f"{path}/") or path.startswith(f"{known}/") for known in base.quantities
    )


def _texts(node: Tree, path: tuple[str, ...]) -> Iterator[str]:
    if isinstance(node, Text):
        yield "/".join(path)
    elif isinstance(node, Branch):
        for key, child in node.items():
            yield from _texts(child, (*path, key))
    elif isinstance(node, Items):
        for place, child in enumerate(node, start=1):
            yield from _texts(child, (*path, str(place)))


def read_numbers(column: Numbers, cells: pd.Series, troubles: Troubles) -> Array:
    """The SI values (m,) of a column, NaN in rows whose cell is no number or none that the case file would take.

    Raises
    ------
    ListError
        A cell has a unit of its own.
    """
    import pandas as pd

    values = np.array(pd.to_numeric(cells, errors="coerce"), dtype=np.float64)
    odd = np.flatnonzero(~np.isfinite(values) & ~troubles.found)  # of a row with a trouble already no more is asked
    mixed = []
    for place, cell in zip(odd.tolist(), cells.iloc[odd].tolist(), strict=True):
        if not _filled(cell):
            troubles.add([place], f"{column.header}: empty; write the value", f"{column.header} is empty")
            continue
        try:
            values[place], unit = split_quantity(str(cell))
            if unit:
                unit_factor(unit.replace("%", ""))
                mixed.append(
                    f"row {cells.index[place]}, column '{shorten(column.header)}': '{shorten(str(cell))}' has a unit of its "
                    "own; units stand in the header, one for the whole column"
                )
        except UnitError as error:
            values[place] = np.nan
            hint = f"; {error.hint}" if error.kind == "not_a_number" and error.hint else ""
            words = f"{column.header}: '{shorten(str(cell))}' is not a number{hint}"
            troubles.add([place], words, f"{column.header} holds no number")
    if mixed:
        more = [f"{len(mixed) - MOST_SHOWN} more cells of this column do"] if len(mixed) > MOST_SHOWN else []
        raise ListError([*mixed[:MOST_SHOWN], *more])
    with np.errstate(over="ignore"):  # what becomes infinite is complained of below
        in_si = values * column.factor + column.zero
    in_si[np.abs(in_si) < TINY] = 0.0
    known = np.flatnonzero(~np.isnan(values))
    for places, why in complaints(column.quantity, in_si[known]):
        for place in known[places].tolist():
            troubles.add([place], f"{column.header}: {_shown(cells.iloc[place])} {why}", f"{column.header} {why}")
    return in_si


def read_words(column: Wording, cells: pd.Series, troubles: Troubles) -> NDArray[np.object_]:
    """The words (m,) of a column as texts.

    Raises
    ------
    ListError
        Far too many of them differ: the column is no choice of a few.
    """
    codes, distinct = cells.factorize(use_na_sentinel=False)
    if len(distinct) > MOST_WORDS and not column.listed:
        raise ListError(
            [
                f"column '{shorten(column.header)}': {len(distinct):,} different words, more than any table has; is it a name? "
                f"'{ID}' heads a column that is handed through"
            ]
        )
    texts = [_text(cell) for cell in distinct.tolist()]
    if not column.listed:
        empty = [place for place, text in enumerate(texts) if not text]
        troubles.add(
            np.flatnonzero(np.isin(codes, empty)), f"{column.header}: empty; write it", f"{column.header} is empty"
        )
    words: NDArray[np.object_] = np.array(texts, dtype=object)[codes]
    return words


def word_of(column: Wording, text: str) -> str | tuple[str, ...]:
    """What stands for the text of a cell in the case file: the text, or the list it names."""
    return tuple(re.findall(r"[^\s,;\[\]]+", text)) if column.listed else text


def _filled(cell: object) -> bool:
    return cell is not None and cell == cell and bool(str(cell).strip()) and str(cell) != "<NA>"


def _text(cell: object) -> str:
    if not _filled(cell):
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))  # a count beside an empty cell is read as a float
    return " ".join(str(cell).split())


def _shown(cell: object) -> str:
    return f"{cell:g}" if isinstance(cell, float) else shorten(str(cell))


def read_cells(
    columns: Columns, frame: pd.DataFrame, troubles: Troubles
) -> tuple[dict[str, Array], dict[str, NDArray[np.object_]]]:
    """The numbers (m,) and the words (m,) of the columns of a frame, by their paths; what cannot be read goes to ``troubles``."""
    numbers = {each.path: read_numbers(each, frame.iloc[:, each.place], troubles) for each in columns.numbers}
    words = {each.path: read_words(each, frame.iloc[:, each.place], troubles) for each in columns.words}
    return numbers, words


def words_put(
    columns: Columns, words: Mapping[str, NDArray[np.object_]], row: int
) -> tuple[tuple[str, str | tuple[str, ...]], ...]:
    """The words of a row as they are put into the case file, each with its path."""
    return tuple((each.path, word_of(each, words[each.path][row])) for each in columns.words)
