"""What README and walk-throughs show of the tool, made from the tool: ``python -m tests.docs`` writes it anew, a test compares.

A block of a walk-through begins with ``$ anchorsize …`` lines, which are run one after the other in a folder that holds
``examples/``. The comment over the block says what of the last one's output is shown: ``from: WORDS until: WORDS`` is the part from
the first line that holds the words up to the one before the next that holds the others; several parts are parted by ``;``.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
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


WALK_THROUGHS = sorted((ROOT / "examples").glob("walk_through_*.md"))
BLOCK = re.compile(
    r"<!-- shown: (?P<parts>.*?); made by python -m tests\.docs -->\n\n```\n(?P<calls>(?:\$ [^\n]*\n)+)(?:.*?\n)??```\n",
    re.DOTALL,
)


def walked(text: str) -> str:
    """A walk-through with every block's output made anew."""
    here = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "examples", Path(folder) / "examples")
        os.chdir(folder)
        said: dict[str, str] = {}  # a command asked twice is run once
        try:
            return BLOCK.sub(lambda match: _block(match, said), text)
        finally:
            os.chdir(here)


def _block(match: re.Match[str], said: dict[str, str]) -> str:
    calls = match["calls"].splitlines()
    for call in calls:
        if call not in said:
            said[call] = _run(call.removeprefix("$ "))
    shown = _cut(said[calls[-1]].splitlines(), match["parts"])
    head = f"<!-- shown: {match['parts']}; made by python -m tests.docs -->"
    return "\n".join([head, "", "```", *calls, *shown, "```", ""])


def _run(call: str) -> str:
    """What a command prints, and its exit code where that is not 0."""
    program, *words = shlex.split(call)
    assert program == "anchorsize", call
    result = CliRunner().invoke(main, words, env={"COLUMNS": "80", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.output + (f"(exit code {result.exit_code})\n" if result.exit_code else "")


def _cut(lines: list[str], parts: str) -> list[str]:
    """The lines that the parts name, with a line of dots for what is left out between them."""
    if parts == "all":
        return lines
    shown: list[str] = []
    at = 0
    for part in parts.split("; "):
        begin, end = part.removeprefix("from: ").split(" until: ")
        first = next(i for i in range(at, len(lines)) if begin in lines[i])
        last = next(i for i in range(first + 1, len(lines) + 1) if i == len(lines) or end in lines[i])
        shown += ["[...]"] * (first > at) + lines[first:last]
        while not shown[-1].strip():
            shown.pop()
        at = last
    return shown + ["[...]"] * (at < len(lines))


if __name__ == "__main__":
    for path in WALK_THROUGHS:
        path.write_text(walked(path.read_text(encoding="utf-8")), encoding="utf-8")
    README.write_text(written(README.read_text(encoding="utf-8")), encoding="utf-8")
