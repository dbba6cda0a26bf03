"""The JSON Schema of the format, from the pydantic models."""

from __future__ import annotations

from typing import Any

from anchorsize.casefile.format import CaseFile


def schema() -> dict[str, Any]:
    """Return the JSON Schema of a case file, draft 2020-12, for editors that complete and check it."""
    described = CaseFile.model_json_schema(by_alias=True)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **described,
        "title": "anchorsize case file",
    }
