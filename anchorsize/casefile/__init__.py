"""Case files: reading one into a study, describing the format, writing a starter.

:func:`read_case` and :func:`parse_case` return a :class:`~anchorsize.study.Study` or raise :class:`CaseFileError` with
everything that is wrong. The format itself is defined once, in :mod:`anchorsize.casefile.format`.
"""

from __future__ import annotations

from anchorsize.casefile.inputs import InputValue, numeric_paths, read_inputs
from anchorsize.casefile.parse import parse_case, read_case
from anchorsize.casefile.problems import CaseFileError, Problem
from anchorsize.casefile.schema import schema
from anchorsize.casefile.starter import starter

__all__ = [
    "CaseFileError",
    "InputValue",
    "Problem",
    "numeric_paths",
    "parse_case",
    "read_case",
    "read_inputs",
    "schema",
    "starter",
]
