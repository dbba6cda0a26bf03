"""Names and units: docstrings of the mechanics, keys of the machine output and headers of the tables keep to DEVELOPERS.md."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import anchorsize
from anchorsize.cli import main

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
HOUSE = Path(anchorsize.__file__).parent


def glossary(title: str) -> dict[str, set[str]]:
    """What a table under a heading of DEVELOPERS.md says: word of its first column → words of the second."""
    part = TEXT.split(f"### {title}\n")[1].split("\n## ")[0].split("\n### ")[0]
    rows = [line.strip("| ").split(" | ") for line in part.splitlines() if line.startswith("|")][2:]
    return {first.strip("` "): set(re.findall(r"`([^`]+)`", second)) for first, second, *_ in rows}


BY_UNIT = glossary("Names in the mechanics")
UNITS = {
    name: {unit for unit, names in BY_UNIT.items() if name in names} for names in BY_UNIT.values() for name in names
}
ENDINGS = {ending for endings in glossary("Endings of keys and columns").values() for ending in endings}
PLAIN = {key for keys in glossary("Keys without an ending").values() for key in keys}


def parameters() -> Iterator[tuple[str, str, set[str]]]:
    """(function, array parameter, units that the docstring gives it) of every public function of the mechanics."""
    for path in sorted((HOUSE / "mechanics").glob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                told = documented(ast.get_docstring(node) or "")
                for argument in [*node.args.args, *node.args.kwonlyargs]:
                    if argument.annotation is not None and "Array" in ast.unparse(argument.annotation):
                        yield f"{path.stem}.{node.name}", argument.arg, told.get(argument.arg, set())


def documented(docstring: str) -> dict[str, set[str]]:
    """Units in brackets, by parameter; a list of names with as many units takes them in their order."""
    if "Parameters\n----------\n" not in docstring:
        return {}
    part = re.split(r"\n\n\w+\n-+\n", docstring.split("Parameters\n----------\n")[1])[0]
    found: dict[str, set[str]] = {}
    for entry in re.split(r"\n(?! )", part):
        names, _, words = entry.partition(" : ")
        each, units = [name.strip(" *") for name in names.split(",")], re.findall(r"\[([^\]]*)\]", words)
        in_order = units if len(units) > 1 else [unit.strip() for unit in units[0].split(",")] if units else []
        for i, name in enumerate(each):
            found[name] = {in_order[i]} if len(in_order) == len(each) else set(units)
    return found


def test_the_glossary_names_what_is_there():
    used = {name for _, name, _ in parameters()}
    assert used - set(UNITS) == set(), "names of array parameters that DEVELOPERS.md does not list"
    assert set(UNITS) - used == set(), "names that no function has any more"


@pytest.mark.parametrize(("function", "name", "units"), list(parameters()))
def test_docstrings_give_the_units_of_the_glossary(function, name, units):
    assert units <= UNITS[name], f"{function}: {name}"
    # without a unit in its own docstring a name must mean one thing only
    assert units or len(UNITS[name]) == 1, f"{function}: {name} may be any of {UNITS[name]}"


CALLS = [
    ["check", "examples/wye_missing_bolt.yaml", "--one-lost"],
    ["check", "examples/supported_arm.yaml", "--option", "rest on a post"],
    ["reactions", "examples/wye_missing_bolt.yaml"],
    ["size", "examples/booster_elbow.yaml", "--robust"],
    ["supports", "examples/supported_arm.yaml"],
    ["limits", "examples/terrace_elbow.yaml", "--points", "3", "--case", "full flow"],
    ["scatter", "examples/booster_elbow.yaml", "--samples", "500"],
    ["many", "examples/many_joints.csv", "--base", "examples/many_base.yaml"],
    ["curve", "examples/terrace_elbow.yaml", "--case", "full flow", "--to", "30 L/s", "--points", "3"],
]


def numbers(value: Any, key: str = "") -> Iterator[str]:
    """Keys that hold a number, or a list of numbers; names given by the user are keys too, so only leaves count."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from numbers(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner, key)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield key


@pytest.mark.parametrize("call", CALLS, ids=lambda call: " ".join(call[:2]))
def test_keys_of_the_machine_output_end_in_their_unit_or_stand_in_the_glossary(call, monkeypatch):
    monkeypatch.chdir(ROOT)
    keys = set(numbers(json.loads(CliRunner().invoke(main, [*call, "--json"]).stdout)))
    study = anchorsize.read_case(call[call.index("--base") + 1] if "--base" in call else call[1])
    assert len(keys) > 5
    # what hangs at a joint may stand under its name
    assert {key for key in keys - set(study.joints) if not _known(key)} == set()


def _known(key: str) -> bool:
    # a key path of the file stands for the quantity at its end
    return key in PLAIN or "/" in key or any(key.endswith(ending) for ending in ENDINGS)
