"""Reaction, bolt forces, checks and supports of a flanged pipe fitting with fluid running through it.

``from anchorsize import read_case, assess`` is the whole of the everyday interface::

    result = assess(read_case("terrace.yaml"))
    result.verdict, result.governing
    result.bolts()          # pandas frame, SI

Names load on first use, so that ``anchorsize --help`` does not pay for numpy, pint or pandas.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from anchorsize.assessment import Assessment, StudyError, assess, evaluate
    from anchorsize.casefile import CaseFileError, parse_case, read_case
    from anchorsize.study import Study

__version__ = "0.1.0"

_HOMES = {
    "Assessment": "anchorsize.assessment",
    "StudyError": "anchorsize.assessment",
    "assess": "anchorsize.assessment",
    "evaluate": "anchorsize.assessment",
    "CaseFileError": "anchorsize.casefile",
    "parse_case": "anchorsize.casefile",
    "read_case": "anchorsize.casefile",
    "Study": "anchorsize.study",
}

__all__ = [
    "Assessment",
    "CaseFileError",
    "Study",
    "StudyError",
    "__version__",
    "assess",
    "evaluate",
    "parse_case",
    "read_case",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'anchorsize' has no attribute {name!r}")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value
