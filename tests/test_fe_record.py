"""The finite-element record against the contact solver of today: whoever changes the solver sees the record go stale."""

from __future__ import annotations

import numpy as np
import pytest

from tests.fe.joint import PRELOAD
from tests.fe.record import RESULTS, mesh_change, over, read_results, rigid, statement, study_rows, summary

README = RESULTS.with_name("README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def rows():
    return read_results()


def test_the_contact_solver_still_gives_the_recorded_rigid_answers(rows):
    """The table keeps tensions to 0.1 N, the clamp to 1 N, the open share to 0.001."""
    for row in rows:
        found = rigid(row)
        assert found.converged
        assert float(np.max(found.bolt_tension)) == pytest.approx(float(row["rigid_tension_max"]), abs=0.051)
        assert float(found.clamp) == pytest.approx(float(row["rigid_clamp"]), abs=0.51)
        assert float(found.lift_off) == pytest.approx(float(row["rigid_lift_off"]), abs=0.00051)


def test_every_assembled_joint_of_the_finite_elements_has_the_preload(rows):
    """Calibrated by force, so within the equation solver's tolerance: 0.1 % is a hundred times under what is compared."""
    for row in rows:
        if row["load"] == "assembled":
            tensions = [float(row[f"fe_bolt_{i}"]) for i in range(1, int(row["bolts"]) // 2 + 1)]
            assert tensions == pytest.approx([float(row["preload"])] * len(tensions), rel=1e-3)


def test_finite_elements_balance_the_load(rows):
    """Σt − clamp = N over the whole joint, within 0.1 % of the preloads."""
    for row in rows:
        half = sum(float(row[f"fe_bolt_{i}"]) for i in range(1, int(row["bolts"]) // 2 + 1))
        axial = 2.0 * half - float(row["fe_clamp"])
        assert axial == pytest.approx(float(row["axial"]), abs=1e-3 * int(row["bolts"]) * PRELOAD)


def test_a_flange_made_a_thousand_times_stiffer_is_the_rigid_flange(rows):
    """Two programs, one joint: with no bending left they agree within 1 %, the share the stiffened flange still bends."""
    stiff = [row for row in rows if row["flange"] == "stiff"]
    assert len(stiff) == 20
    for row in stiff:
        assert abs(over(row)) < 1.0
        assert float(row["fe_clamp"]) == pytest.approx(float(row["rigid_clamp"]), rel=0.01)


def test_the_readme_says_what_the_table_says(rows):
    assert {row["load"] for row in study_rows(rows)} == {"axial", "moment", "both", "opening"}
    assert summary(rows) in README
    assert statement(rows) in README


def test_the_report_says_the_same_sentence(rows):
    from anchorsize.assessment.statements import RIGID_FLANGE

    assert statement(rows) == RIGID_FLANGE


def test_the_finer_mesh_changes_little(rows):
    """Under 1 %, a tenth of what the table is about."""
    assert mesh_change(rows) < 1.0
