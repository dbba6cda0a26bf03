"""The commands: parse the line, call, print. Imports are late so that ``--help`` stays quick."""

from __future__ import annotations

from anchorsize.cli.commands import main

__all__ = ["main"]
