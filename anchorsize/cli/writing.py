"""Writing a file: whole or not at all, never over another one unless told so; and showing what was written."""

from __future__ import annotations

import errno
import os
import sys
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Literal, NamedTuple, TypeAlias

import click

from anchorsize.cli.common import refuse

force_option = click.option("--force", is_flag=True, help="Write over a file that is there.")
picture_option = click.option(
    "--picture", type=click.Path(path_type=Path), help="Write a picture, by its name .svg or .png."
)
open_option = click.option("--open", "opened", is_flag=True, help="Show the written page in the browser.")

PAGES = (".html", ".htm")

PictureKind: TypeAlias = Literal["svg", "png"]

NO_HARD_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EMLINK, errno.ENOSYS}  # such as on memory sticks


def refuse_to_overwrite(path: Path, force: bool) -> None:
    """End with exit code 2 where ``path`` exists already and ``--force`` was not given."""
    if os.path.exists(path) and not force:  # false, not an error, for a name that cannot be
        refuse(f"{path} is there already; --force writes over it.")


def refuse_ending(path: Path, endings: Sequence[str], what: str) -> None:
    """End with exit code 2 where the ending of a name promises another form than is written, or a page has none to be opened by.

    ``endings`` are those of the forms that are written, in small letters, and ``what`` is written.
    """
    suffix = path.suffix.lower()
    if not suffix and endings[0] in PAGES:
        refuse(f"{path}: without an ending no browser opens it; name it {path}{endings[0]}. Nothing was written.")
    if not suffix or suffix in endings:
        return
    printed = f"write {endings[0]} and print it to PDF from the browser"
    named = f"name it {', '.join(endings[:-1])} or {endings[-1]}"
    remedy = printed if suffix == ".pdf" and endings[0] in PAGES else named
    refuse(f"{path}: {what} is no {suffix} file; {remedy}. Nothing was written.")


class PictureFile(NamedTuple):
    """A picture to be written, once what it shows has been computed."""

    path: Path
    kind: PictureKind
    force: bool

    def write(self, content: bytes) -> None:
        """Write the picture as :func:`write` does."""
        write(self.path, content, self.force)


def picture_file(path: Path, force: bool) -> PictureFile:
    """Return the picture that a name asks for; end with exit code 2 where it is of no kind known, or is there already."""
    suffix = path.suffix.lower()
    if suffix not in (".svg", ".png"):
        remedy = "; write .svg and print it to PDF from the browser" if suffix == ".pdf" else ""
        refuse(f"{path}: a picture is .svg or .png{remedy}.")
    refuse_to_overwrite(path, force)
    return PictureFile(path, "svg" if suffix == ".svg" else "png", force)


def write(path: Path, content: bytes | Iterable[bytes], force: bool) -> None:
    """Write ``content``, whole or part after part, beside its place and move it there in one step.

    Where that fails, say why and end with exit code 2. Nothing half-written is left: until the last step, what stood at ``path``
    stands there still.
    """
    refuse_to_overwrite(path, force)
    if os.path.isdir(path):
        refuse(f"{path} is a folder; give the name of a file. Nothing was written.")
    try:
        _write(path, content, force)
    except OSError as error:
        refuse(f"{path}: {_reason(path, error)}. Nothing was written.")


def _reason(path: Path, error: OSError) -> str:
    """Why a file could not be written, in words."""
    if error.errno == errno.ENOENT:
        return f"there is no folder '{path.parent}'; make it first"
    if error.errno == errno.ENOTDIR:
        return f"'{path.parent}' is not a folder"
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"the folder '{path.parent}' may not be written to ({error.strerror})"
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return f"there is no room for it ({error.strerror})"
    return str(error.strerror or error)


def _write(path: Path, content: bytes | Iterable[bytes], force: bool) -> None:
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".anchorsize-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines([content] if isinstance(content, bytes) else content)
            file.flush()
            os.fsync(file.fileno())  # a disk that is full may say so only here
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
    except OSError as error:
        if error.errno not in NO_HARD_LINKS:
            raise
        refuse_to_overwrite(path, force=False)
        os.replace(beside, path)
    else:
        os.unlink(beside)


def show_in_browser(path: Path) -> None:
    """Show a written page; where no browser can be started, say so on stderr and leave the exit code to the result.

    The page is written and the verdict stands, so a missing display is no reason to end otherwise than without ``--open``.
    """
    import webbrowser

    try:
        shown = _has_display() and webbrowser.open(path.resolve().as_uri())
    except (webbrowser.Error, OSError):
        shown = False
    if not shown:
        click.echo(
            f"{path} is written, but no browser could be started here (no display, or none installed).", err=True
        )


def _has_display() -> bool:
    """Whether a window can be shown; text browsers, which would take the terminal over, are not started."""
    if sys.platform in ("darwin", "win32"):
        return True
    return any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER"))
