"""Starter files: commented case files to begin with."""

from __future__ import annotations

from importlib.resources import files

from anchorsize.casefile.problems import nearest

_PLAIN = "plain"
_ALSO = {"wye": "lateral", "mitred_elbow": "mitered_elbow"}  # other words for the same shape


def starter(shape: str | None = None) -> str:
    """Return a commented case file, for a kind of fitting where one is named.

    Raises
    ------
    LookupError
        There is no starter file of that name.
    """
    folder = files("anchorsize.casefile") / "starters"
    known = sorted(entry.name.removesuffix(".yaml") for entry in folder.iterdir() if entry.name.endswith(".yaml"))
    name = _PLAIN if shape is None else "_".join(shape.lower().replace("-", " ").replace("_", " ").split())
    name = _ALSO.get(name, name)
    if name not in known:
        raise LookupError(f"no starter file '{shape}' ({nearest(name, known)})")
    return (folder / f"{name}.yaml").read_text(encoding="utf-8")
