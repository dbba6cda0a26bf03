"""Writing a file: whole or not at all, and never over another one unless told so."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import click

from anchorsize.cli.common import refuse

force_option = click.option("--force", is_flag=True, help="Write over a file that is there.")


def refuse_to_overwrite(path: Path, force: bool) -> None:
    """End with exit code 2 where ``path`` exists already and ``--force`` was not given."""
    if path.exists() and not force:
        refuse(f"{path} is there already; --force writes over it.")


def write(path: Path, content: bytes, force: bool) -> None:
    """Write ``content`` beside its place and move it there in one step."""
    refuse_to_overwrite(path, force)
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(beside, 0o644)
        if force:
            os.replace(beside, path)
        else:
            _link(beside, path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _link(beside: str, path: Path) -> None:
    """Give a finished file its name only if no other file has taken it meanwhile."""
    try:
        os.link(beside, path)
    except FileExistsError:
        refuse(f"{path} is there already; --force writes over it.")
    os.unlink(beside)
