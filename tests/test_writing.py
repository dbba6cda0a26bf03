"""Written whole or not at all: missing folders, full and read-only disks, files already there; and showing what was written."""

from __future__ import annotations

import errno
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from anchorsize.cli import writing


def refused(capsys, path, content=b"new", force=False):
    """What is said on stderr when writing ends with exit code 2."""
    with pytest.raises(SystemExit) as ended:
        writing.write(path, content, force)
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    return said


def names(folder):
    return sorted(each.name for each in folder.iterdir())


def test_written_whole_and_readable_by_others(tmp_path):
    writing.write(tmp_path / "a.html", b"whole", force=False)
    assert (tmp_path / "a.html").read_bytes() == b"whole"
    assert (tmp_path / "a.html").stat().st_mode & 0o777 == 0o644
    assert names(tmp_path) == ["a.html"]


def test_never_over_another_file_unless_told(tmp_path, capsys):
    path = tmp_path / "a.html"
    path.write_bytes(b"mine")
    assert "--force" in refused(capsys, path)
    assert path.read_bytes() == b"mine"
    writing.write(path, b"new", force=True)
    assert path.read_bytes() == b"new"
    assert names(tmp_path) == ["a.html"]


def test_a_file_that_appears_meanwhile_is_not_written_over(tmp_path, capsys, monkeypatch):
    path = tmp_path / "a.html"
    usual = os.fsync

    def slow(handle):
        path.write_bytes(b"theirs")
        usual(handle)

    monkeypatch.setattr(os, "fsync", slow)
    assert "is there already" in refused(capsys, path)
    assert path.read_bytes() == b"theirs"
    assert names(tmp_path) == ["a.html"]


def test_missing_folder(tmp_path, capsys):
    said = refused(capsys, tmp_path / "none" / "a.html")
    assert f"there is no folder '{tmp_path / 'none'}'" in said
    assert names(tmp_path) == []


def test_folder_that_is_a_file(tmp_path, capsys):
    (tmp_path / "file").write_text("x")
    assert "is not a folder" in refused(capsys, tmp_path / "file" / "a.html")


@pytest.mark.parametrize("force", [False, True])
def test_name_that_is_a_folder(tmp_path, capsys, force):
    (tmp_path / "folder").mkdir()
    refused(capsys, tmp_path / "folder", force=force)
    assert names(tmp_path) == ["folder"]


def test_name_too_long(tmp_path, capsys):
    assert "too long" in refused(capsys, tmp_path / ("x" * 300 + ".html"))
    assert names(tmp_path) == []


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES])
def test_read_only_place(tmp_path, capsys, monkeypatch, number):
    def no(**_):
        raise OSError(number, os.strerror(number), "somewhere")

    monkeypatch.setattr(tempfile, "mkstemp", no)
    assert f"'{tmp_path}' may not be written to" in refused(capsys, tmp_path / "a.html")


def test_folder_without_leave_to_write(tmp_path, capsys):
    if os.geteuid() == 0:
        pytest.skip("root may write anywhere")
    tmp_path.chmod(0o555)
    try:
        assert "may not be written to" in refused(capsys, tmp_path / "a.html")
    finally:
        tmp_path.chmod(0o755)


@pytest.mark.parametrize("force", [False, True])
def test_disk_that_says_it_is_full_at_the_last_moment(tmp_path, capsys, monkeypatch, force):
    path = tmp_path / "a.html"
    if force:
        path.write_bytes(b"mine")

    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    assert "there is no room" in refused(capsys, path, force=force)
    assert names(tmp_path) == (["a.html"] if force else [])
    assert not force or path.read_bytes() == b"mine"


def test_no_room_in_earnest_leaves_what_was_there(tmp_path):
    """A process that may write 1000 bytes to a file and no more: the system itself stops the writing half-way."""
    path = tmp_path / "a.html"
    path.write_bytes(b"mine")
    code = "import pathlib, sys; from anchorsize.cli.writing import write; write(pathlib.Path(sys.argv[1]), bytes(5000), True)"
    ended = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        capture_output=True,
        text=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000)),
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
    )
    assert ended.returncode == 2
    assert "there is no room" in ended.stderr
    assert "Traceback" not in ended.stderr
    assert path.read_bytes() == b"mine"
    assert names(tmp_path) == ["a.html"]


def test_place_without_hard_links(tmp_path, capsys, monkeypatch):
    def no(*_):
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", no)
    writing.write(tmp_path / "a.html", b"whole", force=False)
    assert (tmp_path / "a.html").read_bytes() == b"whole"
    assert "is there already" in refused(capsys, tmp_path / "a.html")
    assert names(tmp_path) == ["a.html"]


SHOW = "import pathlib, sys; from anchorsize.cli.writing import show_in_browser; show_in_browser(pathlib.Path(sys.argv[1]))"


def show(path, **environment):
    """Show a page in a process of its own, with nothing of this one's display."""
    kept = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")}
    return subprocess.run(
        [sys.executable, "-c", SHOW, str(path)], capture_output=True, text=True, env={**kept, **environment}
    )


@pytest.mark.skipif(sys.platform in ("darwin", "win32"), reason="there is always a display")
@pytest.mark.parametrize("environment", [{}, {"DISPLAY": ":0", "PATH": "/nowhere"}, {"BROWSER": "/nowhere/browser"}])
def test_no_display_or_no_browser_is_said_and_the_file_stays(tmp_path, environment):
    path = tmp_path / "a.html"
    path.write_text("page")
    ended = show(path, **environment)
    assert ended.returncode == 0
    assert ended.stderr == f"{path} is written, but no browser could be started here (no display, or none installed).\n"
    assert path.read_text() == "page"


@pytest.mark.skipif(sys.platform == "win32", reason="needs a shell")
def test_the_browser_named_gets_the_address_of_the_file(tmp_path):
    browser, path = tmp_path / "browser", tmp_path / "a page é.html"
    browser.write_text(f'#!/bin/sh\nprintf %s "$1" > {tmp_path}/shown\n')
    browser.chmod(0o755)
    path.write_text("page")
    ended = show(path, BROWSER=f"{browser} %s")
    assert (ended.returncode, ended.stderr) == (0, "")
    assert Path(tmp_path / "shown").read_text() == path.as_uri()
