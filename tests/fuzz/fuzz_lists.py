"""Lists of joints that nobody should write."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random

from anchorsize.casefile import numeric_paths
from tests.fuzz.fuzz_case_file import number_text, quantity_text
from tests.fuzz.material import EXAMPLES, NAMES, UNITS

BASE = (EXAMPLES / "many_base.yaml").read_text(encoding="utf-8")
LIST = (EXAMPLES / "many_joints.csv").read_text(encoding="utf-8")
SUFFIXES = (".csv", ".csv", ".csv", ".csv", ".txt", ".tsv", ".parquet", ".pq", ".xlsx", "")
_WORDS = (
    "size",
    "count",
    "class",
    "id",
    "missing",
    "bolts/size",
    "fluid/name",
    "title",
    "units",
    "outlet",
    "washing/outlet",
)
_VALUES = (
    "M12",
    "M16",
    "M999",
    "5/8 in",
    "8.8",
    "10.9",
    "A4-80",
    "8",
    "4",
    "1",
    "0",
    "-1",
    "128",
    "1e9",
    "1.5",
    "",
    " ",
    "nan",
    "<NA>",
    "1;2",
)


@cache
def _paths() -> tuple[str, ...]:
    return tuple(numeric_paths(BASE, "base"))


def make(draw: Random) -> tuple[bytes, str]:
    """The bytes of one list and the ending of its name."""
    made = draw.choices(_SORTS, _WEIGHTS)[0](draw)
    raw = made if isinstance(made, bytes) else made.encode("utf-8", "surrogatepass")
    return raw, draw.choice(SUFFIXES)


def _rows(draw: Random) -> list[list[str]]:
    return [line.split(",") for line in LIST.splitlines()[: draw.randint(2, 9)]]


def _joined(rows: list[list[str]], draw: Random) -> str:
    separator = draw.choice((",", ",", ",", ";", "\t", "|"))
    return draw.choice(("\n", "\n", "\r\n", "\r")).join(separator.join(row) for row in rows) + draw.choice(
        ("\n", "", "\n\n")
    )


def _header(draw: Random) -> str:
    path = draw.choice((*_paths(), *_WORDS, *NAMES)).replace("\n", " ")
    keys = path.split("/")
    path = "/".join(keys[draw.randrange(len(keys)) :]) if draw.random() < 0.4 else path
    return f"{path} [{draw.choice(UNITS)}]" if draw.random() < 0.6 else path


def _cell(draw: Random) -> str:
    return draw.choice((number_text, number_text, quantity_text, lambda draw: draw.choice((*_VALUES, *NAMES))))(draw)


def _by_cells(draw: Random) -> str:
    """The example's list with cells, headers, columns and rows changed."""
    rows = _rows(draw)
    for _ in range(draw.randint(1, 6)):
        row = draw.randrange(len(rows))
        if not rows[row]:
            continue
        column, roll = draw.randrange(len(rows[row])), draw.randrange(9)
        if roll < 4:
            rows[row][column] = _header(draw) if row == 0 else _cell(draw)
        elif roll == 4:
            rows[0][draw.randrange(len(rows[0]))] = _header(draw)
        elif roll == 5:
            del rows[row][column]
        elif roll == 6:
            rows[row].insert(column, _cell(draw))
        elif roll == 7:
            rows.insert(row, list(rows[draw.randrange(len(rows))]))
        else:
            rows[row][column] = draw.choice(('"', '""', '"a', '"a\nb"', 'a"b', "'", "a,b", '"a,b"', "\0", "\x1b[2J"))
        rows[0] = rows[0] or [""]
    return _joined(rows, draw)


def _by_numbers(draw: Random) -> str:
    """Columns of the base's own inputs with numbers of any size."""
    names = draw.sample(_paths(), draw.randint(1, 6))
    units = {"number": "", "share": ""}
    kinds = numeric_paths(BASE, "base")
    usual = {
        "length": "mm",
        "mass": "kg",
        "volume": "L",
        "pressure": "kPa",
        "flow": "L/s",
        "stress": "MPa",
        "modulus": "GPa",
        "moment": "N*m",
        "angle": "deg",
        "temperature": "degC",
    }
    heads = [f"{name} [{units.get(kinds[name], usual.get(kinds[name], 'm'))}]" for name in names]
    words = draw.sample(("size", "count", "class"), draw.randint(0, 2))
    power = draw.choice((1, 3, 9))

    def value() -> str:
        return f"{draw.choice((1, 1, 1, 1, 0, -1)) * 10 ** draw.uniform(-power, power):.5g}"

    rows = [[*(value() for _ in heads), *(draw.choice(_VALUES) for _ in words)] for _ in range(draw.randint(1, 12))]
    return _joined([[*heads, *words], *rows], draw)


def _flipped(draw: Random) -> bytes:
    raw = bytearray(LIST.encode())
    for _ in range(draw.randint(1, 8)):
        at = draw.randrange(len(raw))
        roll = draw.randrange(3)
        if roll == 0:
            raw[at] = draw.randrange(256)
        elif roll == 1:
            raw[at:at] = draw.randbytes(draw.randint(1, 4))
        else:
            del raw[at : at + draw.randint(1, 20)]
    return bytes(raw)


def _random_bytes(draw: Random) -> bytes:
    return draw.choice((b"", b"", b"PAR1", b"PK\x03\x04", b"\xef\xbb\xbf")) + draw.randbytes(
        draw.choice((0, 1, 3, 50, 2000))
    )


def _encoded(draw: Random) -> bytes:
    text = draw.choice((_by_cells, lambda _: LIST))(draw)
    coding = draw.choice(("utf-16", "utf-16-le", "utf-32", "latin-1", "cp500", "utf-8-sig"))
    return text.encode(coding, "replace")


def _odd_shape(draw: Random) -> str:
    """Wide, ragged, empty or endless lists."""
    head, *rows = LIST.splitlines()
    return draw.choice(
        (
            "",
            "\n",
            head,
            head + "\n",
            "\n" + LIST,
            head + "\n" + "," * draw.choice((5, 900, 1100, 50_000)) + "\n",
            "a," * draw.choice((10, 5000)) + "\n1\n",
            head + "\n" + ",".join("x" for _ in range(40)) + "\n",
            head + "," + head + "\n" + rows[0] + "," + rows[0] + "\n",
            head + "\n" + "\n" * 3000 + rows[0] + "\n",
            head + '\n"' + "x\n" * 2000,
            head + "\n" + "9" * 140_000 + "\n",
            "#" + LIST,
            "id\n" + "a\n" * 10,
            LIST.replace("\n", ",\n"),
            LIST.replace(",", '","'),
        )
    )


_SORTS: tuple[Callable[[Random], str | bytes], ...] = (
    _by_cells,
    _by_numbers,
    _flipped,
    _random_bytes,
    _encoded,
    _odd_shape,
)
_WEIGHTS = (40, 25, 12, 8, 6, 9)


def written(draw: Random, folder: Path) -> Path:
    """One list as a file in ``folder``."""
    raw, suffix = make(draw)
    path = folder / f"list{suffix}"
    path.write_bytes(raw)
    return path
