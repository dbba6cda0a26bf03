"""What the README shows of the tool itself, made from the tool: ``python -m tests.docs`` writes it anew, a test compares."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from click.testing import CliRunner

from anchorsize.casefile.problems import KINDS
from anchorsize.cli import main

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
EXAMPLE = "check examples/terrace_elbow.yaml --width 100"
LAST_LINE = "bolt spacing"  # of the part that is shown


def example() -> str:
    """The beginning of what the README's example prints, up to the checks of the first case."""
    here = Path.cwd()
    os.chdir(ROOT)  # so that the file is named as a reader would type it
    try:
        lines = CliRunner().invoke(main, EXAMPLE.split()).output.splitlines()
    finally:
        os.chdir(here)
    # the name stands in the verdict as well: the one wanted is a line of the table
    last = next(i for i, line in enumerate(lines) if line.strip().startswith(f"{LAST_LINE}  "))
    return "\n".join(["```", f"$ anchorsize {EXAMPLE}", *lines[: last + 1], "```"])


def commands() -> str:
    """Every command's own help, each from a process of its own: the library keeps a help option once it was made."""
    parts = []
    for name in sorted(main.commands):
        call = [sys.executable, "-c", "from anchorsize.cli import main; main(prog_name='anchorsize')", name, "--help"]
        narrow = {**os.environ, "COLUMNS": "80", "NO_COLOR": "1"}
        said = subprocess.run(call, capture_output=True, text=True, check=True, cwd=ROOT, env=narrow).stdout
        parts.append(f"### anchorsize {name}\n\n```\n{said.rstrip()}\n```")
    return "\n\n".join(parts)


def problems() -> str:
    """Every kind of problem that a case file can have."""
    return "\n".join(
        ["| kind | what it means |", "|---|---|", *(f"| `{kind}` | {text} |" for kind, text in KINDS.items())]
    )


PARTS = {"example": example, "commands": commands, "problems": problems}


def written(text: str) -> str:
    """The README with every part between its marks made anew."""
    for name, make in PARTS.items():
        begin, end = f"<!-- {name}: made by python -m tests.docs -->", f"<!-- end of {name} -->"
        before, rest = text.split(begin)
        text = f"{before}{begin}\n\n{make()}\n\n{end}{rest.split(end)[1]}"
    return text


if __name__ == "__main__":
    README.write_text(written(README.read_text(encoding="utf-8")), encoding="utf-8")
