"""Files of 50 MB, each read by the command in a process of its own with 500 MB for its data."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

from tests.fuzz.fuzz_lists import LIST
from tests.fuzz.material import EXAMPLES

SIZE = 50_000_000
MEMORY = 500_000_000
HEADER, _, ROWS = LIST.partition("\n")
NARROW = ",".join("x" for _ in HEADER.split(",")) + "\n"
# name: (what it starts with, what is repeated, seconds of computing that it may take)
# A file that is refused must be refused at once; a list of 50 MB that can be judged is worth a second for 10 000 rows.
FILES: dict[str, tuple[bytes, bytes, float]] = {
    "spaces.yaml": (b"", b" " * 1000, 5.0),
    "random.yaml": (b"", Random(1).randbytes(1000), 5.0),
    "keys.yaml": (b"", b"key: 1\n", 5.0),
    "brackets.yaml": (b"", b"[", 5.0),
    "comment.yaml": (b"case_file: 1\n", b"# much to say\n", 5.0),
    "random.csv": (b"", Random(2).randbytes(1000), 5.0),
    "zeros.csv": (b"", b"\0" * 1000, 5.0),
    "one line.csv": (b"", b"x", 5.0),
    "one cell.csv": (HEADER.encode() + b"\n", b"9", 5.0),
    "commas.csv": (HEADER.encode() + b"\n", b",", 5.0),
    "wide header.csv": (b"", b"a,", 5.0),
    "open quote.csv": (HEADER.encode() + b'\n"', b"x\n", 5.0),
    "wide rows.csv": (HEADER.encode() + b"\n", b"1," * 2000 + b"\n", 5.0),
    "no parquet.parquet": (b"PAR1", b"PAR1", 5.0),
    "empty rows.csv": (HEADER.encode() + b"\n", b"\n", 5.0),
    "commas and ends.csv": (HEADER.encode() + b"\n", b"," * 9 + b"\n", 5.0),
    "nothing but words.csv": (HEADER.encode() + b"\n", NARROW.encode(), 600.0),
    "good rows.csv": (HEADER.encode() + b"\n", ROWS.encode(), 600.0),
}


def run() -> bool:
    """Try each; print what came of it. Whether all kept the promises."""
    kept = True
    with tempfile.TemporaryDirectory() as folder:
        for name, (start, piece, seconds) in FILES.items():
            path = Path(folder) / name
            with open(path, "wb") as file:
                file.write(start)
                for _ in range(SIZE // (len(piece) * (count := max(1, 100_000 // len(piece))))):
                    file.write(piece * count)
            kept &= _try(path, seconds)
            path.unlink()
    return kept


def _try(path: Path, seconds: float) -> bool:
    many = ["many", str(path), "--base", str(EXAMPLES / "many_base.yaml")]
    words = ["check", str(path)] if path.suffix == ".yaml" else many
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", "anchorsize", *words],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY)),
    )
    spent = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before.ru_utime
    fine = done.returncode in (0, 1, 2, 3) and "Traceback" not in done.stderr and spent <= seconds
    said = (done.stderr or done.stdout).strip().splitlines()[-2:][0:1]
    print(
        f"{'ok ' if fine else 'BROKEN'} {path.name}: exit {done.returncode}, {spent:.1f} s of computing, "
        f"{time.monotonic() - began:.0f} s in all: {(said or [''])[0][-110:]}",
        flush=True,
    )
    return fine
