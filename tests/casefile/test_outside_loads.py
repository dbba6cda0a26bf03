"""Outside loads by their names: one name stands for one load in a case, in every report."""

from __future__ import annotations

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize.assessment import evaluate
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.cli import main
from tests.cases import ELBOW

IN_TURN = """\
external:
  - {name: hose, force: [300, 0, 0 N], at: [0.2, 0, 0.2 m], moment: [0, 7, 0 N*m], cases: [run]}
  - {name: hose, force: [0, 0, -120 N], at: [0.2, 0.1, 0.2 m], cases: [stopped]}
"""


@pytest.mark.parametrize(
    ("name", "whose"),
    [
        ("fitting weight", "the fitting's own weight"),
        ("contents weight", "the contents' weight"),
        ("flow change", "the force of a changing flow"),
        ("reaction", "what holds the fitting"),
        ("outlet momentum", "a thrust of opening 'outlet'"),
        ("inlet pressure", "a thrust of opening 'inlet'"),
    ],
)
def test_the_loads_of_the_fitting_keep_their_names(name: str, whose: str):
    text = ELBOW + f"external: [{{name: {name}, force: [0, 0, -9 N], at: [0, 0, 0 m]}}]\n"
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    (problem,) = caught.value.problems
    assert problem.kind == "duplicate_key"
    assert f"external / 1 / name: '{name}' is the name of {whose} already" in str(caught.value)


@pytest.mark.parametrize("cases", ["", ", cases: [run]", ", cases: [stopped, run]"])
def test_two_in_one_case_have_names_of_their_own(cases: str):
    text = ELBOW + IN_TURN.replace(", cases: [stopped]", cases)
    with pytest.raises(CaseFileError, match="2 / name: 'hose' is the name of an outside load in the same case already"):
        parse_case(text, "f")


def test_one_name_in_one_case_after_the_other(tmp_path):
    """Moments about the origin by hand: r × F + M."""
    cases = evaluate(parse_case(ELBOW + IN_TURN, "f"))
    run, stopped = ({load.source: load for load in cases[name].loads}["hose"] for name in ("run", "stopped"))
    np.testing.assert_allclose(run.moment, [0.0, 0.2 * 300 + 7, 0.0])
    np.testing.assert_allclose(stopped.moment, [-0.1 * 120, 0.2 * 120, 0.0])
    path = tmp_path / "case.yaml"
    path.write_text(ELBOW + IN_TURN)
    told = CliRunner().invoke(main, ["report", str(path), "-o", str(tmp_path / "report.html")])
    assert told.exit_code in (0, 3), told.output
    assert (tmp_path / "report.html").exists()
