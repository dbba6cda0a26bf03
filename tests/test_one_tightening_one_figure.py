"""What tightening alone pulls and what was found on the threads are told alike wherever a page tells them."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

# Invented: the wye with bolt 3 gone, its gasket staying, the new bolt on oiled threads beside rusty ones.
WYE = (Path(__file__).parent.parent / "examples" / "wye_missing_bolt.yaml").read_text(encoding="utf-8")
TIGHTENING = next(line for line in WYE.splitlines() if line.strip().startswith("tightening:"))
MIXED = WYE.replace("y: 11 MPa}", "y: 11 MPa, condition: in_place}").replace(
    TIGHTENING,
    "    tightening: {torque: [160, 160, 0, 160, 160, 160, 160, 160 N*m], target_torque: 170 N*m, target_nut_factor: "
    "[0.3, 0.3, 0.16, 0.3, 0.3, 0.3, 0.3, 0.3], target_lubricant: light oil, nut_factor: 0.3, lubricant: dry and rusty, "
    "scatter: 30 %, relaxation: 10 %}",
)


def page(tmp_path, text, *options):
    path = tmp_path / "case.yaml"
    path.write_text(text, encoding="utf-8")
    ran = CliRunner().invoke(main, ["check", str(path), *options])
    assert ran.exit_code != 2, ran.output
    return " ".join(ran.output.split())


def pulled(torque, factor):
    """Stress at the greatest preload [MPa]: 1.3 T/(K d) on 245 mm², the stress area of M20 by ISO 898-1, Table 4."""
    return 1.3 * torque / (factor * 0.020) / 245e-6 / 1e6


def test_the_bolt_that_goes_in_counts_in_what_the_target_pulls(tmp_path):
    most = f"{pulled(170, 0.16):.1f} MPa"
    for options in ((), ("--repaired",)):
        said = page(tmp_path, MIXED.replace("bolt_tension: ", "bolt_tension: 150 MPa #"), *options)
        assert f"alone pulls up to {most}" in said
        assert f"tightening alone pulls a bolt to {most} at the greatest preload" in said


def test_a_target_that_nobody_tightens_to_pulls_nothing(tmp_path):
    refused = MIXED.replace("[0.3, 0.3, 0.16, 0.3, 0.3, 0.3, 0.3, 0.3]", "0.16").replace(
        "nut_factor: 0.3,", "nut_factor: 0.22,"
    )
    said = page(tmp_path, refused.replace("bolt_tension: ", "bolt_tension: 150 MPa #"))
    assert "THE TARGET TORQUE CANNOT BE REACHED" in said
    assert f"tightening alone pulls a bolt to {pulled(160, 0.22):.1f} MPa at the greatest preload" in said
    assert f"{pulled(170, 0.16):.1f} MPa" not in said


@pytest.mark.parametrize("options", [(), ("--repaired",)])
def test_what_was_found_on_the_threads_is_told_alike_after_the_repair(tmp_path, options):
    said = page(tmp_path, MIXED, *options)
    assert "K = 0.3, threads left as found (dry and rusty), nothing put on; bolt 3: K = 0.16, light oil" in said
    assert "left as found (light oil)" not in said


def test_the_note_of_the_repair_does_not_tighten_bolts_that_the_torque_is_not_for(tmp_path):
    """The new bolt beside tight nuts, of one friction said for all, gets its torque from the engineer, and the note says so."""
    unsaid = MIXED.replace(
        "target_nut_factor: [0.3, 0.3, 0.16, 0.3, 0.3, 0.3, 0.3, 0.3], target_lubricant: light oil, ", ""
    )
    said = page(tmp_path, unsaid, "--repaired")
    assert "NOT for bolt 3" in said
    assert "every bolt at the target_torque given" not in said
    assert (
        "judged as if repaired: bolt 3 fitted, bolt 3 pulled as hard as the target_torque given pulls a bolt on threads as found, by a torque of "
        "the engineer's, every other bolt at it." in said
    )
    # nothing else is said of a joint whose bolts all get it
    assert "every bolt at the target_torque given" in page(tmp_path, MIXED, "--repaired")


@pytest.mark.parametrize("options", [(), ("--repaired",)])
def test_a_bolt_that_goes_in_has_no_threads_as_found(tmp_path, options):
    """One friction for all, said for the target too: what is named goes on the bolt that goes in, nothing on those that stay tight."""
    alike = MIXED.replace(
        "[0.3, 0.3, 0.16, 0.3, 0.3, 0.3, 0.3, 0.3], target_lubricant: light oil", "0.15, target_lubricant: nickel paste"
    )
    alike = alike.replace("nut_factor: 0.3, lubricant: dry and rusty", "nut_factor: 0.15, lubricant: nickel paste")
    said = page(tmp_path, alike, *options)
    assert "Lubrication: nickel paste on bolt 3, nothing put on the others; nut factor K = 0.15" in said
    assert "left as found" not in said
    # a gasket that comes out has every nut off: it goes on all
    assert "Lubrication: nickel paste; nut factor" in page(tmp_path, alike.replace("in_place", "reused"), *options)
