"""Extremes of every input: results are finite or refused in words, and loads and reactions balance all the same."""

from __future__ import annotations

import re
import subprocess
import sys
import warnings
from pathlib import Path

import numpy as np
import pytest

from anchorsize.assessment import StudyError, assess
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.casefile.inputs import complaints, read_inputs
from anchorsize.casefile.parse import CaseText
from anchorsize.studies.rows import judge_rows
from tests.cases import BLANK_FLANGE, ELBOW
from tests.fuzz.judging import require_sound

EXAMPLES = Path(__file__).parents[1] / "examples"
FILES = sorted(path.name for path in EXAMPLES.glob("*.yaml"))
SIZES = np.array([-1e9, -1e-9, 0.0, 1e-9, 1e-3, 1e9])
ONE_FOR_ALL = re.compile(
    "^up/|/outward/|/reference/|temperature"
)  # a batch has one of these, or one choice that follows from it
BALANCE = 1e-9  # of the greatest load: rounding of a handful of additions
NUMBER = re.compile(r"(?<![\w.#\"])-?\d+(?:\.\d+)?(?![\w.\"])")


@pytest.fixture(autouse=True)
def _no_warning_of_numpy():
    with warnings.catch_warnings(), np.errstate(all="warn", under="ignore"):
        warnings.simplefilter("error", RuntimeWarning)
        yield


def judged(text):
    """The assessment of a text, sound in every way; None where the text is refused in words."""
    try:
        assessment = assess(parse_case(text, "extreme.yaml"))
    except (CaseFileError, StudyError) as error:
        assert str(error)
        return None
    require_sound(assessment)
    return assessment


def possible(case, path, given):
    """The values that a path of a file takes, out of :data:`SIZES` and these multiples of what the file gives."""
    quantity = case.quantities[path]
    asked = np.unique([*SIZES, *(SIZES * given)])
    refused = [place for places, _ in complaints(quantity, asked) for place in places]
    taken = np.delete(asked, refused)
    if not taken.size:
        return taken
    try:
        case.study({path: taken})
    except CaseFileError:
        return np.array([value for value in taken if _fits(case, path, value)])
    return taken


def _fits(case, path, value):
    try:
        case.study({path: value})
    except CaseFileError as error:
        assert error.problems
        return False
    return True


def require_finite(case, overrides, shape):
    """Demands are finite unless nothing can meet them, and forces balance, or the row is refused; how many are not."""
    try:
        rows = judge_rows(case.study(overrides), shape)
    except StudyError as error:
        assert str(error)
        return 0
    for result in rows.cases.values():
        forces = np.stack([np.broadcast_to(load.force, (*shape, 3)) for load in result.loads])
        scale = np.max(np.abs(forces), axis=(0, -1))
        left = np.abs(forces.sum(axis=0) + result.reaction_force).max(axis=-1)
        assert np.all((left <= BALANCE * scale) | rows.refused.rows)
        for check in result.checks:
            demand, share = (np.broadcast_to(value, shape) for value in (check.demand, check.utilization))
            assert not np.any(np.isnan(share) & ~rows.refused.rows), (result.name, check.check)
            sound = np.isfinite(demand) | np.isposinf(share) | rows.refused.rows
            assert np.all(sound), (result.name, check.check)
    return int(np.sum(~rows.refused.rows))


@pytest.mark.parametrize("name", FILES)
def test_every_quantity_from_1e_minus_9_to_1e9(name):
    text = (EXAMPLES / name).read_text(encoding="utf-8")
    case, given = CaseText(text, name), {value.path: value.si for value in read_inputs(text, name)}
    found = {path: possible(case, path, given[path]) for path in given}
    assert sum(values.size > 3 for values in found.values()) > len(found) / 2
    # Each quantity in rows of its own, all the others as given there, so that one batch judges all of them.
    together = {path: values for path, values in found.items() if not ONE_FOR_ALL.search(path)}
    ends = np.cumsum([0, *(values.size for values in together.values())])
    overrides = {}
    for (path, values), start in zip(together.items(), ends, strict=False):
        overrides[path] = np.full(ends[-1], given[path])
        overrides[path][start : start + values.size] = values
    assert require_finite(case, overrides, (int(ends[-1]),)) > ends[-1] / 2
    for path in found.keys() - together.keys():
        for value in found[path]:
            require_finite(case, {path: value}, ())


@pytest.mark.parametrize("text", [BLANK_FLANGE, ELBOW], ids=["blank flange", "elbow"])
def test_every_number_of_a_text_from_1e_minus_9_to_1e9(text):
    answers = 0
    for spot in NUMBER.finditer(text):
        for other in ("1e-9", "1e9", "0"):
            answers += judged(text[: spot.start()] + other + text[spot.end() :]) is not None
    assert answers > 10


def turned(text, matrix):
    """A text of the small cases in another frame: every vector with its unit turned, up too."""

    def vector(found):
        x, y, z = matrix @ np.array([float(found[i]) for i in (1, 2, 3)])
        return f"[{x!r}, {y!r}, {z!r}{found[4]}]".replace("np.float64(", "").replace(")", "")

    numbers = re.sub(
        r"\[(-?[\d.]+), (-?[\d.]+), (-?[\d.]+)( m)?\]", lambda f: vector([f[0], f[1], f[2], f[3], f[4] or ""]), text
    )
    return numbers


ANGLES = (0.0, 90.0, 180.0, 37.0, 1e-9)
AXES = ([1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 1.0, 1.0], [-0.3, 0.2, 0.9])


def rotation(axis, degrees):
    """Rodrigues' formula."""
    k = np.array(axis) / np.linalg.norm(axis)
    cross = np.array([[0.0, -k[2], k[1]], [k[2], 0.0, -k[0]], [-k[1], k[0], 0.0]])
    angle = np.radians(degrees)
    return np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross


@pytest.mark.parametrize("axis", AXES, ids=str)
def test_a_joint_of_any_orientation_carries_the_same(axis):
    # The whole world turned, gravity and the direction that bolts are counted from too: physics knows no frame.
    text = ELBOW.replace("fluid:", "up: [0, 0, 1]\nfluid:").replace("at: inlet", "at: inlet\n    reference: [0, 0, 1]")
    plain = judged(text)
    for degrees in ANGLES:
        matrix = rotation(axis, degrees)
        found = judged(turned(text, matrix))
        assert found is not None
        for name, case in plain.cases.items():
            other = found.cases[name]
            scale = np.max(np.abs(case.joints["main"].external_tension))
            np.testing.assert_allclose(other.reaction_force, matrix @ case.reaction_force, atol=1e-9 * scale)
            for what in ("external_tension", "bolt_shear", "axial", "torsion"):
                mine, its = getattr(case.joints["main"], what), getattr(other.joints["main"], what)
                np.testing.assert_allclose(its, mine, rtol=0.0, atol=1e-9 * scale, err_msg=what)


@pytest.mark.parametrize(
    "outward", ["[0, 0, 1]", "[0, 0, -1]", "[1e-9, 0, 1]", "[1, 1, 1]", "[-0.2, 0.9, -0.1]", "[0, 1e-6, -1]"]
)
def test_vertical_and_oblique_flanges_are_judged_without_a_reference(outward):
    found = judged(ELBOW.replace("outward: [-1, 0, 0]", f"outward: {outward}"))
    assert found is not None
    axis = found.study.openings["inlet"].outward
    joint = found.cases["run"].joints["main"]
    force = found.cases["run"].reaction_force
    np.testing.assert_allclose(joint.axial, joint.reaction_force @ axis, rtol=1e-12, atol=1e-9)
    np.testing.assert_allclose(joint.axial**2 + joint.shear**2, force @ force, rtol=1e-12)


SPRUNG = """\
    stiffness: {axial: 40 MN/m, shear: 30 MN/m, bending: 2 MN*m/rad, torsion: 1 MN*m/rad}
supports:
  rest: [{kind: rest, name: R, at: POINT, stiffness: 20 MN/m}]
"""


def test_everything_at_one_point():
    # Joint, both openings, the support and all centers of mass at the origin: no lever arm is left, so no moment is.
    point = "[0, 0, 0 m]"
    text = re.sub(r"\[0\.[^\]]*m\]", point, ELBOW)
    assert text.count(point) == 4
    head, rest = text.split("allow:")
    joints, supports = SPRUNG.replace("POINT", point).split("supports:")
    found = judged(f"{head}{joints}supports:{supports}allow:{rest}")
    assert found is not None
    for case in found.cases.values():
        assert np.all(case.reaction_moment == 0.0)
        joint = case.joints["main"]
        assert (joint.bending, joint.torsion) == (0.0, 0.0)
        np.testing.assert_allclose(
            joint.reaction_force + case.supports["R"].force, case.reaction_force, rtol=1e-9, atol=1e-9
        )


@pytest.mark.parametrize("count", [3, 4, 5, 31, 64, 127, 128])
def test_three_to_128_bolts_share_the_load(count):
    found = judged(re.sub(r"count: \d, size: M16, circle: 160 mm", f"count: {count}, size: M16, circle: 2 m", ELBOW))
    assert found is not None
    for case in found.cases.values():
        joint = case.joints["main"]
        assert joint.external_tension.shape == (count,)
        np.testing.assert_allclose(joint.external_tension.sum(), joint.axial_demand, rtol=1e-9, atol=1e-9)


def test_two_bolts_share_a_pull_and_are_refused_for_a_bending_that_they_cannot_hold():
    found = judged(BLANK_FLANGE.replace("count: 8", "count: 2"))
    assert found is not None
    joint = found.cases["test"].joints["main"]
    np.testing.assert_allclose(joint.external_tension, joint.axial_demand / 2.0, rtol=1e-12)
    with pytest.raises(StudyError, match="bolts in one line cannot balance"):
        assess(parse_case(ELBOW.replace("count: 4", "count: 2"), "elbow"))


@pytest.mark.parametrize("count", [1, 0, 129, 10**9])
def test_other_counts_of_bolts_are_refused(count):
    found = judged(re.sub(r"count: \d", f"count: {count}", ELBOW))
    assert found is None


def test_no_flow_no_weight_no_pressure_asks_nothing():
    still = re.sub(r"flow_in: \d+ L/s, pressure: \d+ kPa", "flow_in: 0 L/s, pressure: 0 kPa", ELBOW)
    found = judged(still.replace("mass: 10 kg", "mass: 0 kg").replace("contents: 2 L", "contents: 0 L"))
    assert found is not None
    assert found.verdict == "holds"
    for case in found.cases.values():
        assert np.all(case.reaction_force == 0.0)
        assert np.all(case.joints["main"].external_tension == 0.0)


def test_a_command_prints_no_warning_of_numpy(tmp_path):
    # A plain process with warnings as errors, on the case of the extremes that divides most by nothing.
    path = tmp_path / "case.yaml"
    path.write_text(
        ELBOW.replace("allow: {", "allow: {bolt_spacing_least: 0.001 mm, ").replace("mass: 10 kg", "mass: 0 kg")
    )
    words = [sys.executable, "-W", "error::RuntimeWarning", "-m", "anchorsize", "check", str(path)]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (done.returncode in (0, 1), done.stderr) == (True, "")
