"""The pictures of a report: drawn by a second process while the rest is worked out, or one by one where there is none.

Drawing takes about as long as everything else together, and needs only the assessment. The second process is a fork of this one,
made before anything heavy is imported, so that it imports matplotlib while this one reads the case file. What it draws comes back
as blocks, the same that are drawn here where the system cannot fork, has one processor only, or the second process fails.
"""

from __future__ import annotations

import fcntl
import os
import pickle
import signal
import sys
import threading
from contextlib import suppress
from typing import TYPE_CHECKING, Any, NoReturn

if TYPE_CHECKING:
    from types import TracebackType

    from anchorsize.assessment.results import Assessment
    from anchorsize.present.report.blocks import Block
    from anchorsize.present.report.pictures import Found

ROOM = 1 << 20
"""Bytes that wait in a pipe before its writer has to."""
FAILURES = (OSError, EOFError, pickle.PickleError)
"""What it looks like when the second process is gone."""


class Drawing:
    """Gives the pictures of one assessment as blocks. Enter it early, :meth:`begin` as soon as the assessment is there."""

    def __init__(self) -> None:
        self._second: _Second | None = None
        self._asked: list[Found] = []
        self._made: dict[tuple[str, ...], list[Block]] | None = None
        self._of_studies: list[list[Block]] = []

    def __enter__(self) -> Drawing:
        self._second = _Second() if can_fork() else None
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end()

    def _end(self) -> None:
        if self._second is not None:
            self._second.end()
        self._second = None

    def begin(self, assessment: Assessment) -> None:
        """Have the pictures of an assessment drawn."""
        self._assessment = assessment
        self._send(assessment)

    def also(self, found: Found) -> None:
        """Have the picture of another study drawn; before the first picture is taken."""
        self._asked.append(found)
        self._send(found)

    def _send(self, thing: object) -> None:
        if self._second is not None:
            try:
                self._second.send(thing)
            except FAILURES:
                self._end()

    def _take(self) -> bool:
        """Wait for what the second process makes. Whether there is any."""
        if self._second is not None:
            try:
                self._second.send(None)
                self._made, self._of_studies = self._second.receive()
            except FAILURES:
                pass
            self._end()
        return self._made is not None

    def blocks(self, *order: str) -> list[Block]:
        """The pictures of one of :func:`~anchorsize.present.report.pictures.orders`."""
        if self._take() and self._made is not None:
            return self._made[order]
        from anchorsize.present.report.pictures import drawn

        return drawn(self._assessment, order)

    def of_study(self, found: Found) -> list[Block]:
        """The picture of a study that was asked for, where it has any."""
        if self._take():
            return next(made for asked, made in zip(self._asked, self._of_studies, strict=True) if asked is found)
        from anchorsize.present.report.pictures import drawn_study

        return drawn_study(found)


def can_fork() -> bool:
    """Whether a second process pays and is safe: a second processor, and no other thread whose locks it would inherit."""
    return sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1 and threading.active_count() == 1


class _Second:
    """The second process, and the two pipes to and from it."""

    def __init__(self) -> None:
        (its_input, to_it), (from_it, its_output) = os.pipe(), os.pipe()
        self._pid = os.fork()
        if self._pid == 0:
            os.close(to_it)
            os.close(from_it)
            _draw_what_is_asked(its_input, its_output)
        os.close(its_input)
        os.close(its_output)
        with suppress(OSError):  # where it is not allowed, sending waits for the other side to read
            fcntl.fcntl(to_it, fcntl.F_SETPIPE_SZ, ROOM)
        self._to, self._from = os.fdopen(to_it, "wb"), os.fdopen(from_it, "rb")

    def send(self, thing: object) -> None:
        pickle.dump(thing, self._to, pickle.HIGHEST_PROTOCOL)
        self._to.flush()

    def receive(self) -> Any:
        return pickle.load(self._from)  # only what the fork of this process wrote

    def end(self) -> None:
        """End the process, whatever it does."""
        os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        self._from.close()
        with suppress(BrokenPipeError):  # what it did not read any more
            self._to.close()


def _import_what_draws() -> None:
    """Import it before there is anything to draw, without the help texts of its classes, which nobody can ask this process for.

    Writing them is a quarter of importing matplotlib. Where a version of it names that step differently, it is taken.
    """
    from matplotlib.artist import Artist

    if hasattr(Artist, "_update_set_signature_and_docstring"):
        Artist._update_set_signature_and_docstring = classmethod(lambda _: None)
    import anchorsize.present.limits_picture
    import anchorsize.present.pictures  # noqa: F401


def _draw_what_is_asked(given: int, made: int) -> NoReturn:
    """The life of the second process. It never returns into the code that it was forked from, and says nothing."""
    try:
        _import_what_draws()
        from anchorsize.present.report.pictures import drawn, drawn_study, orders

        with os.fdopen(given, "rb") as source, os.fdopen(made, "wb") as target:
            assessment = pickle.load(source)
            pictures = {order: drawn(assessment, order) for order in orders(assessment)}
            studies = []
            while (found := pickle.load(source)) is not None:
                studies.append(drawn_study(found))
            # only now that all is read: two that write to each other at once would wait for each other
            pickle.dump((pictures, studies), target, pickle.HIGHEST_PROTOCOL)
    finally:
        os._exit(0)  # the first process sees the end of the pipe and draws for itself, or tells why it cannot
