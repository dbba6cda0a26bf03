"""Choosing bolts: against one-by-one checks of files with the choice written out, hand statics and standards."""

from __future__ import annotations

import itertools
import json
import math
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import yaml
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from anchorsize.assessment import StudyError, assess
from anchorsize.casefile import CaseFileError, numeric_paths, parse_case, schema
from anchorsize.casefile.build_sizing import sizing_of_words
from anchorsize.casefile.rewriting import change
from anchorsize.cli.size import size as command
from anchorsize.present.size_figures import figures_words
from anchorsize.reference import NotInTable, flange, flange_rating, flanges_for_bore, gasket_ring, load, thread
from anchorsize.reference.holes import clearance_hole
from anchorsize.reference.tables import inches
from anchorsize.studies.lost_bolt import one_lost
from anchorsize.studies.size import size
from anchorsize.studies.size_candidates import candidates, chosen_sizing, fit
from anchorsize.studies.size_flange import MisfitError, seat
from anchorsize.studies.size_writing import quantity_text
from anchorsize.study import Sizing
from anchorsize.units import parse_quantity
from tests.cases import BLANK_FLANGE, ELBOW

# An elbow on a tightened joint. Invented.
TIGHT = """\
case_file: 1
title: tightened elbow
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 30 kg, mass_center: [0.2, 0, 0 m], contents: 6 L, contents_center: [0.2, 0, 0 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 150 mm}
  outlet: {center: [0.3, 0.1, 0.3 m], outward: [0, 0, 1], bore: 100 mm}
joints:
  main:
    at: inlet
    # the bolts that are there now
    bolts: {count: 8, size: M16, circle: 225 mm, first_at: 22.5 deg, class: "8.8"}   # as delivered
    gasket: {inside: 155 mm, outside: 200 mm, thickness: 2 mm, modulus: 400 MPa, m: 2, y: 11 MPa}
    flange: {outside: 290 mm, thickness: 22 mm}
    tightening: {torque: 120 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}  # dry
    grip: 50 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
allow:
  bolt_tension: 140 MPa
  bolt_shear: 85 MPa
  hole_bearing: 190 MPa
  bolt_spacing_least: from table
  gasket_pressure_greatest: 90 MPa
  bolt_spacing_greatest: 180 mm
cases:
  run: {inlet: {flow_in: 60 L/s, pressure: 4 bar}, outlet: {pressure: 3.5 bar}}
  test: {inlet: {flow_in: 0 L/s, pressure: 12 bar}, outlet: capped}
"""
BOLTS = 'bolts: {count: 8, size: M16, circle: 225 mm, first_at: 22.5 deg, class: "8.8"}'
ALLOWED = Sizing(
    counts=(4, 8, 12, 16), sizes=("M12", "M16", "M20", "3/4 in"), circles=(0.22, 0.24), classes=("8.8", "10.9")
)


def by_hand(text, old, candidate, torque=None):
    """The file with a candidate written into it, bolt 1 half a pitch from the reference direction."""
    assert old in text
    bolt_class = "" if candidate.bolt_class is None else f', class: "{candidate.bolt_class}"'
    new = (
        f"bolts: {{count: {candidate.count}, size: {candidate.size}, circle: {candidate.circle!r} m, "
        f"first_at: {180 / candidate.count!r} deg{bolt_class}}}"
    )
    text = text.replace(old, new)
    if candidate.flange is not None:
        text = re.sub("flange: .*", f"flange: {candidate.flange}", text)
        tabled = flange(candidate.flange)
        # a flange like it on both sides of what stood between two of 22 mm
        text = text.replace("grip: 50 mm", f"grip: {0.050 + 2.0 * (tabled.thickness + tabled.face_height - 0.022)!r} m")
        stood = re.search(r"inside: 155 mm, outside: (\d+) mm", text)
        if candidate.circle - thread(candidate.size).diameter < int(stood[1]) / 1e3:
            ring = gasket_ring(candidate.flange)
            text = text.replace(stood[0], f"inside: {ring.inside!r} m, outside: {ring.outside!r} m")
    return text if torque is None else text.replace("torque: 120 N*m", f"torque: {torque!r} N*m")


INCH_FLANGES = ("ASME B16.5 class 150 NPS 6", "ASME B16.5 class 300 NPS 6", "AWWA C207 class D 6 in")
ONE_BY_ONE = {
    "tightened": (TIGHT, BOLTS, ALLOWED),
    "spacing by formula": (
        TIGHT.replace("bolt_spacing_greatest: 180 mm", "bolt_spacing_greatest: from formula"),
        BOLTS,
        Sizing(counts=(6, 8, 12), sizes=("M16", "M20"), circles=(0.225, 0.24)),
    ),
    "shares of proof": (TIGHT, BOLTS, Sizing(counts=(8, 12), sizes=("M16", "M20"), preload_shares=(0.3, 0.6))),
    "torques": (TIGHT, BOLTS, Sizing(counts=(8, 12), torques=(60.0, 120.0, 200.0))),
    "standard": (TIGHT, BOLTS, Sizing(standard=True, flanges=INCH_FLANGES, classes=("8.8", "A193 B7"))),
    "standard, another gasket": (
        TIGHT.replace("outside: 200 mm", "outside: 215 mm").replace("circle: 225", "circle: 240"),
        BOLTS.replace("225", "240"),
        Sizing(standard=True, flanges=INCH_FLANGES, classes=("8.8",)),
    ),
    "not tightened": (
        ELBOW.replace("M16, circle: 160", "M12, circle: 160"),
        "bolts: {count: 4, size: M12, circle: 160 mm, first_at: 45 deg}",
        Sizing(counts=(3, 4, 6, 8), sizes=("M8", "M12", "1/2 in"), circles=(0.12, 0.16)),
    ),
}


@pytest.mark.parametrize("which", ONE_BY_ONE)
def test_every_candidate_is_what_check_says_of_the_file_with_it_written_in(which):
    text, old, allowed = ONE_BY_ONE[which]
    found = size(parse_case(text, "f"), "main", allowed)
    judged = [*found.holding, *found.failing]
    assert len(judged) > 5
    for each in judged:
        alone = assess(parse_case(by_hand(text, old, each.candidate, each.torque), "f"))
        case, check = alone.governing
        assert each.governing.utilization == pytest.approx(float(check.utilization), rel=1e-9)
        assert each.governing.check == check.check
        assert (alone.verdict != "fails") == each.holds
        worst = [
            float(c.utilization) for c in alone.cases[each.governing.case].checks if c.check == each.governing.check
        ]
        assert each.governing.utilization == pytest.approx(worst[0], rel=1e-9), case


ARM = Path(__file__).parent.parent / "examples" / "supported_arm.yaml"


@pytest.mark.parametrize("option", ["bolts alone", "rod hanger"])
def test_options_of_supports_are_judged_as_check_does(option):
    text, old = ARM.read_text(), 'bolts: {count: 8, size: M16, circle: 160 mm, class: "8.8"}'
    found = size(parse_case(text, "f"), "main", Sizing(counts=(6, 8), sizes=("M12", "M16")), option=option)
    assert len(found.holding) + len(found.failing) == 4
    for each in (*found.holding, *found.failing):
        _, check = assess(parse_case(by_hand(text, old, each.candidate), "f"), option).governing
        assert each.governing.utilization == pytest.approx(float(check.utilization), rel=1e-9)
        assert (each.governing.check, each.governing.where) == (check.check, check.where)


def test_all_combinations_are_accounted_for_once():
    found = size(parse_case(TIGHT, "f"), "main", ALLOWED)
    seen = [each.candidate for each in (*found.holding, *found.failing)] + [
        candidate for candidate, _ in found.impossible
    ]
    keys = [(c.count, c.size, c.circle, c.bolt_class) for c in seen]
    assert sorted(keys) == sorted(itertools.product(ALLOWED.counts, ALLOWED.sizes, ALLOWED.circles, ALLOWED.classes))


@pytest.mark.parametrize("which", ["tightened", "standard, another gasket", "not tightened"])
def test_robust_is_what_one_lost_says_of_each(which):
    text, old, allowed = ONE_BY_ONE[which]
    plain, robust = (size(parse_case(text, "f"), "main", allowed, robust=each) for each in (False, True))
    checked = [*robust.holding, *robust.failing]
    assert len(checked) > 5
    for each in checked:
        lost = one_lost(parse_case(by_hand(text, old, each.candidate, each.torque), "f"), "main")
        worst = max(lost, key=lambda row: row.utilization)
        assert each.lost.utilization == pytest.approx(worst.utilization, rel=1e-9)
        assert each.lost.check == worst.check
    assert {each.candidate for each in robust.holding} <= {each.candidate for each in plain.holding}


def test_three_bolts_are_never_robust():
    found = size(parse_case(ELBOW, "f"), "main", Sizing(counts=(3, 8)), robust=True)
    assert [each.candidate.count for each in found.holding] == [8]
    assert [(c.count, why.startswith("with one bolt missing: ")) for c, why in found.impossible] == [(3, True)]


def test_blank_flange_by_hand():
    """Pressure alone: each bolt takes p π G²/4 / n. G: contact width 23.5 mm, b = 2.52 √(11.75/2) mm (App. 2, metric form)."""
    b = 2.52 * math.sqrt(23.5 / 2)
    pull = 1e6 * math.pi / 4 * ((162 - 2 * b) * 1e-3) ** 2
    areas = {"M12": 84.3e-6, "M16": 157e-6}  # ISO 898-1 Table 4, coarse thread
    found = size(parse_case(BLANK_FLANGE, "f"), "main", Sizing(counts=(3, 4, 6, 8), sizes=("M12", "M16")))
    judged = {(e.candidate.count, e.candidate.size): e.governing for e in (*found.holding, *found.failing)}
    assert len(judged) == 8
    for (count, bolt), governing in judged.items():
        # 2.52 is 0.5 √(25.4) rounded to three digits: G differs in the fifth
        assert governing.utilization == pytest.approx(pull / count / areas[bolt] / 160e6, rel=1e-4)
    needed = {bolt: min(n for n in (3, 4, 6, 8) if pull / n / area <= 160e6) for bolt, area in areas.items()}
    fewest = {bolt: min(e.candidate.count for e in found.holding if e.candidate.size == bolt) for bolt in areas}
    assert fewest == needed


def test_torque_of_a_share_of_proof_by_hand():
    """ISO 898-1: class 8.8 has 580 MPa up to M16 and 600 MPa beyond; stress areas 157 and 245 mm². T = 0.2 d F."""
    found = size(parse_case(TIGHT, "f"), "main", Sizing(sizes=("M16", "M20"), preload_shares=(0.6,)))
    torques = {each.candidate.size: each.torque for each in (*found.holding, *found.failing)}
    # rounded to four figures before it is judged
    assert torques["M16"] == pytest.approx(0.2 * 0.016 * 0.6 * 580e6 * 157e-6, rel=5e-4)
    assert torques["M20"] == pytest.approx(0.2 * 0.020 * 0.6 * 600e6 * 245e-6, rel=5e-4)


def test_preload_is_written_where_no_friction_is_known():
    text = TIGHT.replace("torque: 120 N*m, nut_factor: 0.2", "preload: 40 kN")
    found = size(parse_case(text, "f"), "main", Sizing(preload_shares=(0.6,)))
    each = (*found.holding, *found.failing)[0]
    assert each.torque is None
    assert each.preload == pytest.approx(0.6 * 580e6 * 157e-6, rel=5e-4)


def test_standard_drillings_are_those_of_the_standards():
    """EN 1092-1 PN 16 DN 150: 8 M20 on 240 mm. ASME B16.5 class 150 NPS 6: 8 of 3/4 in on 9.5 in."""
    texts = (TIGHT, TIGHT.replace('M16, circle: 225 mm, first_at: 22.5 deg, class: "8.8"', "5/8 in, circle: 225 mm"))
    made = [c for text in texts for c in candidates(parse_case(text, "f"), "main", Sizing(standard=True))]
    drillings = {c.flange: (c.count, c.size, c.circle) for c in made}
    assert drillings["EN 1092-1 PN 16 DN 150"] == (8, "M20", pytest.approx(0.240))
    assert drillings["ASME B16.5 class 150 NPS 6"] == (8, "3/4 in", pytest.approx(9.5 * 0.0254))


def test_every_standard_flange_has_room_for_its_bolts_and_its_own_gasket():
    """The rules on room (wrench, gasket, rim) hold at all drillings of EN 1092-1, ASME B16.5 and AWWA C207 with their rings."""
    bores = [float(row["dn"]) / 1e3 for row in load("flange_en1092_1").rows] + [
        inches(row["nps"]) * 0.0254 for name in ("flange_b16_5", "flange_awwa_c207") for row in load(name).rows
    ]
    flanges = {each.designation: each for bore in set(bores) for each in flanges_for_bore(bore)}
    assert len(flanges) == sum(len(load(name).rows) for name in ("flange_en1092_1", "flange_b16_5", "flange_awwa_c207"))
    unknown = set()
    for name, each in flanges.items():
        text = BLANK_FLANGE.replace("180 mm", f"{each.bolt_circle + 0.1!r} m").replace("bore: 100 mm", "bore: 5 mm")
        try:
            ring = f"gasket: {{inside: 6 mm, outside: {gasket_ring(name).outside!r} m}}"
        except NotInTable:
            ring = "note: no ring is tabled for this flange"
        text = re.sub("gasket: .*", ring, text)
        study = parse_case(text, name)
        try:
            fitted = fit(study, "main", candidates(study, "main", Sizing(flanges=(name,)))[0]).joints["main"]
            assert fitted.gasket is None or fitted.gasket.rim == study.joints["main"].gasket.rim
            assert (fitted.flange.outside, fitted.flange.hole) == (each.outside, each.hole)
        except MisfitError as error:
            assert "is not in table threads_inch" in str(error)
            unknown.add(each.bolt)
    assert unknown <= {"2-3/4 in", "3 in", "3-1/2 in"}  # beyond the threads that the tables hold


def test_weight_and_order():
    allowed = Sizing(counts=(8, 10, 12), sizes=ALLOWED.sizes)
    found = size(parse_case(TIGHT, "f"), "main", allowed, rank="lightest")
    # steel of 7850 kg/m³, the shank over grip and four diameters
    for each in found.holding:
        d = {"M12": 0.012, "M16": 0.016, "M20": 0.020, "3/4 in": 0.01905}[each.candidate.size]
        assert each.mass == pytest.approx(each.candidate.count * 7850 * math.pi / 4 * d**2 * (0.050 + 4 * d))
    keys = {
        "lightest": lambda each: each.mass,
        "fewest": lambda each: each.candidate.count,
        "margin": lambda each: each.decides.utilization,
    }
    for rank, key in keys.items():
        ranked = size(parse_case(TIGHT, "f"), "main", allowed, rank=rank).holding
        assert {each.candidate for each in ranked} == {each.candidate for each in found.holding}
        values = [key(each) for each in ranked]
        assert values == sorted(values)


lists = st.fixed_dictionaries(
    {
        "counts": st.lists(st.sampled_from([1, 2, 3, 4, 6, 8, 12, 20]), min_size=1, max_size=3, unique=True),
        "sizes": st.lists(st.sampled_from(["M12", "M16", "M20", "5/8 in"]), min_size=1, max_size=2, unique=True),
        "circles": st.lists(st.sampled_from([0.19, 0.22, 0.23, 0.25, 0.29]), min_size=1, max_size=2, unique=True),
    }
)


def holding(text, allowed, robust=False):
    found = size(
        parse_case(text, "f"), "main", Sizing(**{key: tuple(values) for key, values in allowed.items()}), robust=robust
    )
    return {each.candidate: each.decides.utilization for each in found.holding}


@settings(max_examples=15)
@given(lists, lists)
def test_more_to_choose_from_never_loses_a_choice(few, more):
    union = {key: tuple(dict.fromkeys([*few[key], *more[key]])) for key in few}
    small, large = holding(TIGHT, few), holding(TIGHT, union)
    assert small.keys() <= large.keys()
    assert [large[key] for key in small] == pytest.approx(list(small.values()), rel=1e-9)


@settings(max_examples=15)
@given(lists)
def test_robust_is_a_part_of_plain(allowed):
    assert holding(TIGHT, allowed, robust=True).keys() <= holding(TIGHT, allowed).keys()


@settings(max_examples=15)
@given(
    lists,
    st.sampled_from([("140 MPa", "{} MPa", 140), ("85 MPa", "{} MPa", 85), ("90 MPa", "{} MPa", 90)]),
    st.floats(1.0, 5.0),
)
def test_more_allowable_never_loses_a_choice(allowed, which, factor):
    old, form, value = which
    assert holding(TIGHT, allowed).keys() <= holding(TIGHT.replace(old, form.format(value * factor)), allowed).keys()


def test_units_of_file_and_lists_change_nothing():
    us = TIGHT.replace("circle: 225 mm", f"circle: {225 / 25.4!r} in").replace("grip: 50 mm", f"grip: {50 / 25.4!r} in")
    us = (
        us.replace("units: metric", "")
        .replace("title:", "units: us\ntitle:")
        .replace("140 MPa", f"{140e6 / 6894.757293168361!r} psi")
    )
    words = {"counts": "8,12", "sizes": "M16, M20", "torques": "145 N*m, 90 ft*lbf"}
    ours = size(parse_case(TIGHT, "f"), "main", sizing_of_words({**words, "circles": "225, 240 mm"}))
    theirs = size(
        parse_case(us, "f"), "main", sizing_of_words({**words, "circles": f"{225 / 25.4!r}, {240 / 25.4!r} in"})
    )
    for one, other in ((ours.holding, theirs.holding), (ours.failing, theirs.failing)):
        assert [(e.candidate.count, e.candidate.size, e.governing.check) for e in one] == [
            (e.candidate.count, e.candidate.size, e.governing.check) for e in other
        ]
        assert [e.torque for e in one] == pytest.approx([e.torque for e in other], rel=1e-12)
        assert [e.governing.utilization for e in one] == pytest.approx(
            [e.governing.utilization for e in other], rel=1e-9
        )


@pytest.mark.parametrize(
    ("allowed", "why"),
    [
        (Sizing(circles=(0.14,)), "stand in the gasket"),
        (Sizing(circles=(0.285,)), "break the rim"),
        (Sizing(counts=(60,)), "overlap"),
        (Sizing(counts=(2,)), "cannot balance"),
        (Sizing(counts=(1,)), "cannot balance"),
        (Sizing(sizes=("M42",), classes=("8.8",), circles=(0.245,)), "does not cover"),
        (Sizing(torques=(500.0,)), "break while being tightened"),
    ],
)
def test_what_cannot_be_is_said_and_the_others_run(allowed, why):
    found = size(parse_case(TIGHT, "f"), "main", allowed)
    assert not found.holding
    assert [why in reason for _, reason in found.impossible] == [True]
    values = {
        name: (*getattr(allowed, name), *extra)
        for name, extra in (("counts", (8,)), ("sizes", ("M16",)), ("circles", (0.225,)), ("torques", (120.0,)))
    }
    joined = size(parse_case(TIGHT, "f"), "main", Sizing(**values, classes=("8.8",)))
    assert len(joined.holding) + len(joined.failing) > 0


def test_bolts_in_the_bore_without_a_gasket():
    found = size(parse_case(ELBOW, "f"), "main", Sizing(circles=(0.11,)))
    assert "stand in the bore" in found.impossible[0][1]


def test_wrench_room_is_kept_where_the_user_says_nothing_of_it():
    """Taylor Forge spacing for 3/4 in, the inch size next above M16, is 1-3/4 in (from memory): 12 on 160 mm are 41.4 mm apart."""
    found = size(parse_case(ELBOW, "f"), "main", Sizing(counts=(8, 12)))
    assert [each.candidate.count for each in found.holding] == [8]
    assert "no room for a wrench" in found.impossible[0][1]
    own = ELBOW.replace("bolt_shear: 95 MPa", "bolt_shear: 95 MPa, bolt_spacing_least: 40 mm")
    assert {e.candidate.count for e in size(parse_case(own, "f"), "main", Sizing(counts=(8, 12))).holding} == {8, 12}


def test_what_was_held_is_said():
    text = ELBOW.replace("bolt_tension: 160 MPa", "bolt_tension: 20 kN")
    held = " ".join(size(parse_case(text, "f"), "main", Sizing(sizes=("M12", "M20"))).notes)
    assert "force per bolt of bolt_tension was held for every size" in held
    held = " ".join(size(parse_case(TIGHT, "f"), "main", Sizing(sizes=("M16", "M20"), classes=("8.8", "10.9"))).notes)
    assert "torque per bolt was held" in held
    assert "held for every class" in held
    threads = TIGHT.replace("allow:\n", "allow:\n  bolt_thread_shear: 400 MPa\n  endurance_limit: 45 MPa\n", 1)
    assert threads != TIGHT
    both = " ".join(size(parse_case(threads, "f"), "main", Sizing(sizes=("M16",), classes=("8.8", "4.6"))).notes)
    assert "bolt_thread_shear and endurance_limit were held for every class; write those of the class chosen" in both
    assert "greatest bolt spacing" not in held
    assert (
        "no greatest bolt spacing is given" in size(parse_case(BLANK_FLANGE, "f"), "main", Sizing(counts=(8,))).notes[0]
    )
    missing = TIGHT.replace("first_at", "missing: [3], first_at")
    held = " ".join(size(parse_case(missing, "f"), "main", Sizing(counts=(8,))).notes)
    assert "missing are there" in held


def test_sizing_of_the_file_of_the_joint_and_of_the_call():
    text = TIGHT.replace("allow:\n", "sizing: {counts: [8, 12], sizes: M20}\nallow:\n")
    text = text.replace("    grip:", "    sizing: {counts: [16], circles: [225, 240 mm]}\n    grip:")
    study = parse_case(text, "f")
    assert chosen_sizing(study, "main", Sizing(sizes=("M16",))) == Sizing((16,), ("M16",), (0.225, 0.24))
    assert chosen_sizing(study, "main", Sizing()).sizes == ("M20",)
    assert not any("sizing" in path for path in numeric_paths(text, "f"))


def test_schema_takes_what_the_reader_takes():
    for sizing in (
        {"counts": [8, 12], "sizes": ["M16", "3/4 in"], "circles": [225, "240 mm"], "classes": ["8.8", 10.9]},
        {"counts": "8, 12", "torques": ["90 N*m"], "preload_share": "60 %", "standard": "yes"},
    ):
        tree = {**yaml.safe_load(TIGHT), "sizing": sizing}
        assert not list(Draft202012Validator(schema()).iter_errors(tree))
        assert parse_case(yaml.safe_dump(tree), "f").sizing.counts == (8, 12)


def test_problems_of_sizing_in_a_file_have_their_line():
    text = TIGHT.replace(
        "allow:\n", "sizing: {counts: [8, x], sizes: [M13], classes: [8.9], circles: [], torque: 3}\nallow:\n"
    )
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f.yaml")
    said = str(caught.value)
    for words in ("'x' is not a whole number", "M12; M14", "class '8.9'", "an empty list", "unknown key 'torque'"):
        assert words in said
    assert len({problem.line for problem in caught.value.problems}) == 1


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "tight.yaml"
    path.write_text(TIGHT)
    return path


def run(*words):
    return CliRunner().invoke(command, [str(word) for word in words])


TWO_JOINTS = TIGHT.replace("allow:\n", "  other:\n    at: outlet\n    bolts: 8 x M16 on 180 mm\nallow:\n").replace(
    "outlet: capped", "outlet: {flow_out: 0 L/s, pressure: 12 bar}"
)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "nothing to choose from"),
        (("--counts", ""), "counts"),
        (("--counts", "4,x", "--sizes", "M13", "--classes", "8.9", "--circles", "160"), "4 problems found"),
        (("--counts", "0"), "whole number from 1"),
        (("--preload-share", "160 %"), "100 %"),
        (("--flanges", "EN 1092-1 PN 17 DN 100"), "PN 17"),
        (("--counts", "8", "--joint", "mian"), "no joint 'mian'"),
        (("--counts", "8", "--option", "none such"), "none such"),
        (("--counts", "8", "--write", "{file}"), "--force"),
        (("--counts", "8", "--write", "{file}.new", "--take", "7"), "only 1 of the candidates hold"),
    ],
)
def test_bad_input_is_said_and_ends_with_two(file, words, said):
    result = run(file, *(word.format(file=file) for word in words))
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output
    assert not file.with_suffix(".yaml.new").exists()


def test_several_joints_need_a_name(tmp_path):
    path = tmp_path / "two.yaml"
    path.write_text(TWO_JOINTS)
    result = run(path, "--counts", "8")
    assert result.exit_code == 2
    assert "2 joints (main, other)" in result.output


def test_bolts_that_nothing_can_be_said_of():
    uneven = TIGHT.replace("torque: 120 N*m", "torque: [120, 120, 120, 120, 120, 120, 120, 90 N*m]")
    with pytest.raises(StudyError, match="differs from bolt to bolt"):
        size(parse_case(uneven, "f"), "main", Sizing(counts=(8,)))
    places = TIGHT.replace(
        BOLTS,
        "bolts: [{x: 110 mm, y: 0 mm, size: M16}, {x: -60 mm, y: 95 mm, size: M16}, {x: -60 mm, y: -95 mm, size: M12}]",
    )
    with pytest.raises(StudyError, match="name the sizes"):
        size(parse_case(places, "f"), "main", Sizing(counts=(8,)))
    with pytest.raises(StudyError, match="name the bolt circles"):
        size(parse_case(places, "f"), "main", Sizing(sizes=("M16",)))
    found = size(parse_case(places, "f"), "main", Sizing(counts=(8,), sizes=("M16",), circles=(0.225,)))
    assert found.holding + found.failing
    no_class = TIGHT.replace(', class: "8.8"', "")
    with pytest.raises(StudyError, match="needs the class"):
        size(parse_case(no_class, "f"), "main", Sizing(preload_shares=(0.5,)))
    bare_torque = TIGHT.replace(", nut_factor: 0.2", "")
    with pytest.raises(CaseFileError, match="gives no preload by itself"):
        parse_case(bare_torque, "f")
    stiff = TIGHT.replace('class: "8.8"', 'class: "8.8", stiffness: 500 kN/mm')
    with pytest.raises(StudyError, match="bolt stiffness given belongs"):
        size(parse_case(stiff, "f"), "main", Sizing(sizes=("M20",)))
    with pytest.raises(StudyError, match="more than the 100,000"):
        size(
            parse_case(TIGHT, "f"),
            "main",
            Sizing(counts=tuple(range(1, 401)), circles=tuple(0.2 + i / 1e4 for i in range(300))),
        )


def test_json_is_stable_and_text_fits(file):
    words = (
        file,
        "--counts",
        "4,8,12",
        "--sizes",
        "M12,M16,M20",
        "--circles",
        "220, 240 mm",
        "--classes",
        "8.8, 10.9",
    )
    result = run(*words, "--json")
    data = json.loads(result.output)
    assert {"count", "size", "circle_m", "utilization", "governing_check", "class", "torque_Nm"} <= data["ranked"][
        0
    ].keys()
    assert result.exit_code == 0
    assert data["verdict"] == "holds"
    assert all(each["utilization"] <= 1 for each in data["ranked"])
    assert all(each["utilization"] > 1 for each in data["misses"])
    counts = [each["count"] for each in data["ranked"]]
    assert counts == sorted(counts)
    words = tuple("4,8,12,60" if word == "4,8,12" else word for word in words)
    for width in (80, 100):
        for more in ((), ("--robust",), ("--top", "200")):
            text = run(*words, "--width", width, *more).output
            assert max(map(len, text.splitlines())) <= width
    text = run(*words, "--width", 80).output
    for said in (
        "HOLDS:",
        "What holds",
        "First choice",
        "torque to use",
        "What misses",
        "What cannot be",
        "Held while",
        "Assumptions",
    ):
        assert said in text
    assert "review by a licensed engineer" in " ".join(text.split())


def test_nothing_holds_names_the_nearest_and_writes_nothing(file, tmp_path):
    target = tmp_path / "new.yaml"
    result = run(file, "--counts", "4,8", "--torques", "20 N*m", "--write", target)
    assert result.exit_code == 1
    said = " ".join(result.output.split())
    assert "DOES NOT HOLD: none of 2 candidates holds" in said
    assert "Nearest is 8 x M16" in said
    assert not target.exists()
    result = run(file, "--counts", "1,2")
    assert result.exit_code == 1
    assert "cannot balance" in " ".join(result.output.split())
    assert "review by a licensed engineer" in " ".join(result.output.split())
    assert json.loads(run(file, "--counts", "1", "--json").output)["ranked"] == []


def test_a_needed_check_that_is_not_made_ends_with_three(tmp_path):
    path = tmp_path / "e.yaml"
    path.write_text(ELBOW.replace(", bolt_shear: 95 MPa", ""))
    result = run(path, "--counts", "4,8")
    assert result.exit_code == 3
    assert "NOT COMPLETE" in result.output


def written(path, tmp_path, *words):
    target = tmp_path / "new.yaml"
    result = run(path, *words, "--write", target, "--json", "--force")
    assert result.exit_code == 0, result.output
    taken = json.loads(result.stdout)["ranked"][0]
    verdict = assess(parse_case(target.read_text(), "new"))
    assert float(verdict.governing[1].utilization) == pytest.approx(taken["utilization_all_there"], rel=1e-9)
    return target.read_text()


def test_the_choice_is_written_in_place_and_all_else_stays(file, tmp_path):
    new = written(
        file,
        tmp_path,
        "--counts",
        "12",
        "--sizes",
        "M20",
        "--circles",
        "240 mm",
        "--classes",
        "10.9",
        "--preload-share",
        "30 %",
    )
    before, after = TIGHT.splitlines(), new.splitlines()
    changed = [(old, now) for old, now in zip(before, after, strict=True) if old != now]
    assert changed == [
        (
            f"    {BOLTS}   # as delivered",
            '    bolts: {count: 12, size: M20, circle: 240 mm, first_at: 15 deg, class: "10.9"}   # as delivered',
        ),
        # ISO 898-1: 10.9 has a proof stress of 830 MPa; 0.2 × 20 mm × 0.3 × 830 MPa × 245 mm² to four figures
        (
            "    tightening: {torque: 120 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}  # dry",
            "    tightening: {torque: 244 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}  # dry",
        ),
    ]


BLOCK = """\
    bolts:
      count: 8          # counted on site
      size: "M16"
      circle: 225 mm

      missing: [3]      # lost
      class: 8.8
"""


@pytest.mark.parametrize(
    ("old", "new", "stays"),
    [
        (f"    {BOLTS}   # as delivered\n", BLOCK, ["# counted on site", "# lost"]),
        (f"    {BOLTS}", "    bolts: 8 x M16 on 225 mm", ["# as delivered"]),
        ("first_at: 22.5 deg,", "missing: [1, 2], diameter: 16 mm, tensile_area: 157 mm^2,", ["# as delivered"]),
        ("torque: 120 N*m", "torque: [120, 120, 120, 120, 120, 120, 120, 120 N*m]", ["# dry"]),
        (
            f"    {BOLTS}   # as delivered\n    gasket: {{inside: 155 mm, outside: 200",
            "    flange: EN 1092-1 PN 16 DN 150\n    gasket: {inside: 155 mm, outside: 200",
            [],
        ),
    ],
)
@pytest.mark.parametrize(
    "words",
    [
        ("--counts", "12", "--circles", "240 mm", "--classes", "8.8"),
        ("--sizes", "M20", "--circles", "240 mm", "--classes", "10.9"),
    ],
)
def test_other_ways_to_write_bolts_are_kept(tmp_path, old, new, stays, words):
    text = TIGHT.replace(old, new)
    assert text != TIGHT
    if "PN 16 DN 150" in new:
        text = text.replace("    flange: {outside: 290 mm, thickness: 22 mm}\n", "")
        words = [{"12": "8"}.get(word, word) for word in words]  # EN 1092-1: it has 8 holes on 240 mm
    path = tmp_path / "odd.yaml"
    path.write_text(text)
    after = written(path, tmp_path, *words, "--torques", "100 N*m")
    for comment in stays:
        assert comment in after
    assert "missing" not in after


def test_line_ends_stay(tmp_path):
    path = tmp_path / "crlf.yaml"
    path.write_bytes(TIGHT.replace(f"    {BOLTS}   # as delivered\n", BLOCK).replace("\n", "\r\n").encode())
    written(path, tmp_path, "--counts", "12", "--classes", "10.9", "--preload-share", "40 %")
    raw = (tmp_path / "new.yaml").read_bytes()
    assert raw.count(b"\r\n") == raw.count(b"\n") == path.read_bytes().count(b"\n")


def test_an_anchor_shared_with_another_joint_is_not_written_over(tmp_path):
    text = TWO_JOINTS.replace("bolts: {count", "bolts: &b {count").replace("bolts: 8 x M16 on 180 mm", "bolts: *b")
    path = tmp_path / "shared.yaml"
    path.write_text(text)
    target = tmp_path / "new.yaml"
    result = run(path, "--joint", "main", "--counts", "12", "--circles", "225 mm", "--write", target)
    assert result.exit_code == 2
    assert "shared with another place" in result.output
    assert not target.exists()


def test_command_imports_nothing_heavy_to_be_listed():
    code = "import sys, anchorsize.cli.size; sys.exit(bool({'numpy', 'pint', 'pandas', 'pydantic'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


WRITTEN = [
    "{a: 1, b: [3, 4], c: x}",
    "\n      a: 1 # one\n      b: [3, 4]   # two\n      c: x\n",
    "\n      a: 1\n      b:\n        - 3\n        - 4\n      # between\n\n      c: x",
    "{\n      a: 1, # one\n      b: [3, 4], # two\n      c: x # three\n    }",
]
CHANGES = [{"a": "9"}, {"b": "9"}, {"c": "9"}, {"d": "9"}, {"a": None}, {"b": None}, {"c": None}]
CHANGES += [{"a": "7", "b": None, "d": "8"}, {"b": None, "c": None}, {"a": None, "b": None}]


@pytest.mark.parametrize("block", WRITTEN)
@pytest.mark.parametrize("values", CHANGES, ids=str)
def test_a_change_in_place_keeps_every_other_value_and_comment(block, values):
    """Against what a general YAML reader makes of the text before and after."""
    text = f"top: 1  # t\nj:\n  m:  # j\n    z: 0\n    bolts: {block}\n    tail: 2 # end\nlast: [1, 2]\n"
    new = change(text, ("j", "m", "bolts"), values, {})
    wanted = yaml.safe_load(text)
    for key, value in values.items():
        if value is None:
            del wanted["j"]["m"]["bolts"][key]
        else:
            wanted["j"]["m"]["bolts"][key] = int(value)
    assert yaml.safe_load(new) == wanted
    assert re.findall("#.*", new) == re.findall("#.*", text)


def flat(output):
    return " ".join(output.split())


TWELVE = TIGHT.replace("circle: 225 mm", "circle: 240 mm").replace("greatest: 180 mm", "greatest: 85 mm")


def test_one_bolt_lost_is_judged_for_what_fails_whole_and_decides_which_is_nearest():
    """Chords of the circle by hand: 8 on 240 mm stand 91.8 mm apart and 169.7 with one lost, 12 stand 62.1 and 120 mm apart."""
    found = size(parse_case(TWELVE, "f"), "main", Sizing(counts=(8, 12)), robust=True)
    assert [each.candidate.count for each in found.failing] == [12, 8]
    for each in found.failing:
        pitch = math.pi / each.candidate.count
        assert each.governing.utilization == pytest.approx(max(240 * math.sin(pitch) / 85, each.loaded.utilization))
        assert each.lost.utilization == pytest.approx(240 * math.sin(2 * pitch) / 85)
        assert each.decides is each.lost
    plain = size(parse_case(TWELVE, "f"), "main", Sizing(counts=(8, 12)))
    assert ([e.candidate.count for e in plain.holding], [e.candidate.count for e in plain.failing]) == ([12], [8])


def test_checks_that_fail_are_counted_with_each_bolt_lost(tmp_path):
    """Against one file for every bolt, with that bolt named as missing."""
    path = tmp_path / "twelve.yaml"
    path.write_text(TWELVE.replace("torque: 120", "torque: 45"))
    data = json.loads(run(path, "--counts", "8,12", "--robust", "--json").output)
    assert len(data["misses"]) == 2
    for each in data["misses"]:
        failing, worst = set(), 0.0
        for lost in (None, *range(1, each["count"] + 1)):
            missing = "" if lost is None else f"missing: [{lost}], "
            text = path.read_text().replace(
                "count: 8, size: M16, circle: 240 mm, first_at: 22.5 deg",
                f"count: {each['count']}, size: M16, circle: 240 mm, {missing}first_at: {180 / each['count']} deg",
            )
            cases = assess(parse_case(text, "f")).cases
            made = [(name, check) for name, case in cases.items() for check in case.checks]
            failing |= {(name, check.check, check.where) for name, check in made if not check.holds}
            if lost is not None:
                worst = max(worst, *(float(check.utilization) for _, check in made))
        assert each["checks_failing"] == len(failing)
        assert each["utilization_one_lost"] == pytest.approx(worst, rel=1e-9)
        assert each["worst_lost_bolt"] is not None


@pytest.mark.parametrize("robust", [False, True])
def test_where_layout_decides_the_checks_under_load_break_the_tie(robust):
    orders = []
    for sizes in (("M16", "M20"), ("M20", "M16")):
        for torques in ((100.0, 120.0, 140.0), (140.0, 120.0, 100.0)):
            found = size(
                parse_case(TIGHT.replace("greatest: 180", "greatest: 90" if not robust else "greatest: 180"), "f"),
                "main",
                Sizing(counts=(8,), sizes=sizes, torques=torques),
                rank="margin",
                robust=robust,
            )
            decides = [each.decides for each in found.holding]
            assert {each.check for each in decides} == {"widest bolt gap"}
            assert len({each.utilization for each in decides}) == 1
            assert len(decides) == 6
            loaded = [
                max(e.loaded.utilization, 0.0 if e.lost_loaded is None else e.lost_loaded.utilization)
                for e in found.holding
            ]
            assert loaded == sorted(loaded)
            orders.append([each.candidate for each in found.holding])
    assert all(order == orders[0] for order in orders)


def test_a_standard_flange_is_judged_and_written_with_its_own_dimensions(tmp_path):
    """EN 1092-1 PN 40 DN 150: outside 300 mm, 28 mm thick, 8 holes of 26 mm for M24 on 250 mm; past the rim of the file's."""
    path = tmp_path / "standard.yaml"
    path.write_text(TIGHT.replace("torque: 120", "torque: 200"))
    name = "EN 1092-1 PN 40 DN 150"
    text = written(path, tmp_path, "--flanges", name)
    assert f"    flange: {{designation: {name}}}\n" in text
    joint = parse_case(text, "new").joints["main"]
    assert (joint.flange.outside, joint.flange.thickness, joint.flange.hole) == pytest.approx((0.300, 0.028, 0.026))
    assert joint.flange.designation == name
    assert (len(joint.bolts.numbers), joint.bolts.sizes[0], joint.bolts.circle) == (8, "M24", pytest.approx(0.25))
    found = size(parse_case(path.read_text(), "f"), "main", Sizing(flanges=(name,)))
    bearing = {c.check: c for c in found.shown.cases["test"].checks}["hole bearing"]
    shear = float(found.shown.cases["test"].joints["main"].bolt_shear.max())
    assert float(bearing.demand) == pytest.approx(shear / (0.024 * 0.028))
    held = " ".join(found.notes)
    assert "its own drilling, outside, thickness, hole and raised face" in held
    assert name in run(path, "--flanges", name).output


@pytest.mark.parametrize(
    "flange_text",
    ["", "    flange: EN 1092-1 PN 16 DN 150\n", "    flange:\n      outside: 290 mm  # old\n      thickness: 22 mm\n"],
)
def test_a_standard_flange_is_written_whatever_stood_there(tmp_path, flange_text):
    path = tmp_path / "other.yaml"
    path.write_text(TIGHT.replace("    flange: {outside: 290 mm, thickness: 22 mm}\n", flange_text))
    text = written(path, tmp_path, "--flanges", "ASME B16.5 class 300 NPS 6")
    assert parse_case(text, "new").joints["main"].flange == replace(
        parse_case(TIGHT, "f").joints["main"].flange,
        # ASME B16.5, class 300 NPS 6: outside 12.5 in, 1.38 in thick, 7/8 in holes
        outside=12.5 * 0.0254,
        thickness=pytest.approx(1.38 * 0.0254, abs=0.2e-3),
        hole=0.875 * 0.0254,
        designation="ASME B16.5 class 300 NPS 6",
        raised_face=pytest.approx(8.5 * 0.0254),
        face_height=pytest.approx(0.06 * 0.0254),
    )


def test_the_gasket_goes_only_where_it_does_not_fit(tmp_path):
    """EN 1514-1 form IBC, DN 150: outside 207 mm for PN 6; bolts of PN 6 leave 225 − 16 = 209 mm free, those of PN 16 220 mm."""
    path = tmp_path / "wide.yaml"
    path.write_text(TIGHT.replace("outside: 200 mm", "outside: 215 mm").replace("circle: 225", "circle: 240"))
    names = ("EN 1092-1 PN 6 DN 150", "EN 1092-1 PN 16 DN 150")
    study = parse_case(path.read_text(), "f")
    fitted = {c.flange: fit(study, "main", c).joints["main"] for c in candidates(study, "main", Sizing(flanges=names))}
    assert fitted[names[0]].gasket.rim == pytest.approx(0.207)
    assert (fitted[names[0]].gasket.m, fitted[names[0]].gasket.modulus) == (2, 400e6)
    assert fitted[names[1]].gasket.rim == study.joints["main"].gasket.rim
    both = size(study, "main", Sizing(flanges=names))
    assert f"took the place of the file's gasket with {names[0]};" in " ".join(both.notes)
    (kept,) = (each for each in (*both.holding, *both.failing) if each.candidate.flange == names[1])
    assert kept.held == ("gasket ring of the file kept: it is not that of a tabled flange",)
    text = written(path, tmp_path, "--flanges", names[0])
    assert "outside: 207 mm, thickness: 2 mm" in text


def test_a_rating_from_the_table_goes_with_the_flange(tmp_path):
    """Carbon steel at 20 °C is rated at the PN in bar."""
    path = tmp_path / "rated.yaml"
    rated = "flange: {designation: EN 1092-1 PN 16 DN 150, rating: from table}"
    path.write_text(
        TIGHT.replace("flange: {outside: 290 mm, thickness: 22 mm}", rated).replace(
            "density: 1000 kg/m^3", "temperature: 20 degC"
        )
    )
    text = written(path, tmp_path, "--flanges", "EN 1092-1 PN 40 DN 150", "--torques", "200 N*m")
    joint = parse_case(text, "new").joints["main"]
    assert joint.flange.rating == pytest.approx(40e5)
    assert flange_rating("EN 1092-1 PN 40 DN 150", 293.15).pressure == pytest.approx(40e5)
    study = parse_case(path.read_text(), "f")
    names = tuple(f"EN 1092-1 PN {pn} DN 150" for pn in (16, 40))
    found = size(study, "main", Sizing(flanges=names, torques=(200.0,)))
    assert "rating followed from the table" in " ".join(found.notes)
    given = path.read_text().replace("rating: from table", "rating: 12 bar")
    held = size(parse_case(given, "f"), "main", Sizing(flanges=names, torques=(200.0,)))
    assert "rating was held" in " ".join(held.notes)
    assert held.shown.study.joints["main"].flange.rating == pytest.approx(12e5)


@pytest.mark.parametrize("temperature", ["density: 1000 kg/m^3", "temperature: 20 degC"])
def test_a_weaker_flange_never_keeps_the_rating_given(tmp_path, temperature):
    """A PN 10 flange of carbon steel bears 10 bar at 20 °C, whatever the file gives for its own; a test at 12 bar fails it."""
    path = tmp_path / "rated.yaml"
    rated = "flange: {outside: 290 mm, thickness: 22 mm, rating: 16 bar}"
    text = TIGHT.replace("flange: {outside: 290 mm, thickness: 22 mm}", rated)
    text = text.replace("density: 1000 kg/m^3", temperature)
    names = tuple(f"EN 1092-1 PN {pn} DN 150" for pn in (6, 10, 40))
    found = size(parse_case(text, "f"), "main", Sizing(flanges=names, torques=(200.0,)))
    ((weak,), (strong,), ((unknown, why),)) = found.failing, found.holding, found.impossible
    assert (weak.candidate.flange, weak.governing.check) == (names[1], "flange rating")
    assert weak.governing.utilization >= 12 / 10
    assert strong.candidate.flange == names[2]
    assert unknown.flange == names[0]
    assert "the rating of the file is that of another flange" in why  # PN 6 is not in the table
    path.write_text(
        text.replace("pressure: 12 bar", "pressure: 1 bar").replace("4 bar}", "1 bar}").replace("3.5", "0.9")
    )
    new = written(path, tmp_path, "--flanges", names[1], "--torques", "200 N*m")
    assert "flange: {designation: EN 1092-1 PN 10 DN 150, rating: 10 bar}" in new
    own = text.replace("outside: 290 mm, thickness: 22 mm", f"designation: {names[0]}")
    (kept,) = size(parse_case(own, "f"), "main", Sizing(flanges=names[:1])).holding
    assert kept.candidate.flange == names[0]


def test_a_standard_flange_that_nothing_rates_is_said():
    said = " ".join(size(parse_case(TIGHT, "f"), "main", Sizing(standard=True)).notes)
    assert "nothing judges whether a standard flange bears the pressure" in said


HOLED = "flange: {outside: 290 mm, thickness: 22 mm, hole: 18 mm}"


@pytest.mark.parametrize(
    ("stood", "bolt", "hole", "writes"),
    [
        (HOLED, "M20", 0.022, "hole: 22 mm"),  # ISO 273, medium series
        (HOLED, "3/4 in", 0.875 * 0.0254, "hole: 22.225 mm"),  # ASME B16.5: bolt + 1/8 in
        (HOLED, "M16", 0.018, "hole: 18 mm"),
        ("flange: EN 1092-1 PN 6 DN 150", "M20", 0.022, "{designation: EN 1092-1 PN 6 DN 150, hole: 22 mm}"),
    ],
)
def test_a_hole_too_small_for_the_bolt_is_written_anew(tmp_path, stood, bolt, hole, writes):
    path = tmp_path / "holed.yaml"
    path.write_text(TIGHT.replace("flange: {outside: 290 mm, thickness: 22 mm}", stood))
    count = "8" if "PN 6" in stood else "10"  # EN 1092-1, PN 6, DN 150: 8 holes on 225 mm
    text = written(path, tmp_path, "--sizes", bolt, "--circles", "225 mm", "--counts", count)
    assert writes in text
    assert parse_case(text, "new").joints["main"].flange.hole == pytest.approx(hole)


def test_a_hole_that_no_table_gives_is_no_choice():
    study = parse_case(TIGHT.replace("flange: {", "flange: {hole: 18 mm, "), "f")
    with pytest.raises(MisfitError, match="no clearance hole is tabled for a bolt of 68 mm"):
        seat(study, study.joints["main"], None, 0.068)


@pytest.mark.parametrize(
    ("bolt", "hole"),
    [
        (0.008, 0.009),  # ISO 273, medium series
        (0.024, 0.026),
        (0.039, 0.042),
        (0.5 * 0.0254, 0.625 * 0.0254),  # ASME B16.5: bolt + 1/8 in
        (1.25 * 0.0254, 1.375 * 0.0254),
    ],
)
def test_clearance_holes_are_those_of_the_standards(bolt, hole):
    found, origin = clearance_hole(bolt)
    assert found == pytest.approx(hole, rel=1e-12)
    assert origin.table == "clearance_holes"


def test_holes_must_stay_inside_the_rim():
    text = TIGHT.replace("thickness: 22 mm}", "thickness: 22 mm, hole: 30 mm}")
    found = size(parse_case(text, "f"), "main", Sizing(circles=(0.262,)))
    assert "break the rim" in found.impossible[0][1]


US = TIGHT.replace("title:", "units: us\ntitle:").replace("torque: 120 N*m", "torque: 90 ft*lbf")


@pytest.mark.parametrize(
    ("text", "words", "writes"),
    [
        (TIGHT, ("--torques", "80 ft*lbf"), "torque: 80 ft*lbf"),
        (US, ("--torques", "80 ft*lbf"), "torque: 80 ft*lbf"),
        (US, ("--torques", "110 N*m"), "torque: 110 N*m"),
        (TIGHT.replace("120 N*m", "120 N·m"), ("--torques", "110 N*m"), "torque: 110 N·m"),
        (TIGHT.replace("120 N*m", "1.2 kgf*m"), ("--torques", "11 kgf*m"), "torque: 11 kgf*m"),
        (TIGHT, ("--torques", "110.1234567 N*m"), "torque: 110.1234567 N*m"),
        # ISO 898-1: 0.2 × 16 mm × 0.4 × 580 MPa × 157 mm² = 116.56 N·m = 85.97 ft·lbf
        (US, ("--preload-share", "40 %"), "torque: 85.97 ft*lbf"),
        (TIGHT, ("--preload-share", "40 %"), "torque: 116.6 N*m"),
        (TIGHT.replace("torque: 120 N*m, nut_factor: 0.2", "preload: 35 kN"), ("--preload-share", "40 %"), "36.42 kN"),
        (US.replace("circle: 225 mm", "circle: 8.875 in"), ("--circles", "9.25 in"), "circle: 9.25 in"),
        (US, ("--circles", "240 mm"), "circle: 240 mm"),
    ],
)
def test_values_are_written_as_people_write_them(tmp_path, text, words, writes):
    path = tmp_path / "units.yaml"
    path.write_text(text)
    assert writes in written(path, tmp_path, "--counts", "8", *words)


@given(
    st.floats(1e-3, 1e5), st.sampled_from(["length", "moment", "force"]), st.sampled_from(["metric", "us"]),
    st.sampled_from([None, "12 kgf*m", "3 in", "7 kN", "[1, 2]", "from table"]),
)  # fmt: skip
def test_a_value_written_is_read_back_the_same(value, kind, system, before):
    assert parse_quantity(quantity_text(value, kind, system, before), kind) == pytest.approx(value, rel=2e-12)


def test_a_face_that_opens_never_reads_as_unlimited(file):
    words = (file, "--counts", "8", "--torques", "1 N*m, 5 N*m")
    data = json.loads(run(*words, "--json").output)
    assert all(each["utilization"] is None and "utilization" in each["infinite"] for each in data["misses"])
    said = run(*words, "--width", 80).output
    assert "beyond any" in said
    assert "unlimited" not in said.partition("Not checked")[0]
    held = json.loads(run(file, "--counts", "8", "--json").output)["ranked"]
    assert held[0]["infinite"] == []


def test_what_cannot_be_has_class_torque_and_standard_and_is_merged(file):
    words = ("--counts", "8,60", "--classes", "8.8, 10.9", "--torques", "100, 120 N*m", "--width", 240)
    said = run(file, *words).output
    wanted = (
        "60 x M16 on 225.0 mm, class 8.8 or 10.9, torque 100.0 N·m or torque 120.0 N·m, 4 candidates: the bolts overlap"
    )
    assert said.count("the bolts overlap") == 1
    assert wanted in said
    standard = run(file, "--flanges", "EN 1092-1 PN 6 DN 65", "--classes", "8.8", "--width", 240).output
    assert "4 x M12 on 130.0 mm of EN 1092-1 PN 6 DN 65, class 8.8: the bolts stand in the bore" in standard


@pytest.mark.parametrize("width", [80, 100])
@pytest.mark.parametrize("classes", ["8.8", "8.8, 10.9"])
def test_no_column_goes_without_a_word(file, width, classes):
    words = ("--counts", "8,12", "--sizes", "M16,M20", "--circles", "240 mm", "--classes", classes, "--robust")
    said = run(file, *words, "--width", width).output
    table = flat(said.partition("What holds")[2].partition("First choice")[0])
    head, *notes = re.split(" 1 (?=8 x)|the same in every row:|left out at this width:", table)
    assert len(notes) >= 1
    for column, name in (
        ("torque", "torque"),
        ("class", "class"),
        ("preload", "mean preload"),
        ("weigh", "weight of the bolts"),
        ("under", "under load"),
        ("worst", "worst lost bolt"),
    ):
        assert (column in head) != any(name in note for note in notes[1:])


def test_the_headline_says_what_is_open(file, tmp_path):
    said = flat(run(file, "--counts", "8").output.partition("What holds")[0])
    assert "4 further checks were not made for want of input (listed below)." in said
    assert "NO TORQUE" not in said
    path = tmp_path / "dry.yaml"
    path.write_text(ELBOW)
    result = run(path, "--counts", "8")
    assert result.exit_code == 0
    assert "NO TORQUE CAN BE NAMED: the file says nothing of the tightening" in flat(
        result.output.partition("What holds")[0]
    )
    assert json.loads(run(path, "--counts", "8", "--json").output)["no_torque"].startswith("NO TORQUE CAN BE NAMED")
    assert json.loads(run(file, "--counts", "8", "--json").output)["no_torque"] is None
    path.write_text(TIGHT.replace("torque: 120 N*m, nut_factor: 0.2", "preload: 37.5 kN"))
    result = run(path, "--counts", "8")
    assert "links no torque to it" in flat(result.output.partition("What holds")[0])


def test_the_first_choice_can_be_worked_out_again(tmp_path):
    """Stress is tension over area; class 8.8 is proofed at 580 MPa up to M16 and M16 has 157 mm² (ISO 898-1)."""
    path = tmp_path / "tight.yaml"
    path.write_text(TIGHT.replace("bolt_tension: 140 MPa", "bolt_tension: 30 MPa"))
    data = json.loads(run(path, "--counts", "8", "--json").output)
    given, figures = data["ranked"][0], data["first_choice"]
    assert (figures["tensile_area_m2"], figures["proof_strength_Pa"]) == (pytest.approx(157e-6), 580e6)
    governs = figures["governing_under_load"]
    assert (governs["check"], governs["allowable"]) == ("tension with shear", 1.0)
    shares = governs["external_tension_N"] / 157e-6 / 30e6, governs["shear_N"] / 157e-6 / 85e6
    assert governs["demand"] == pytest.approx(sum(shares))  # the linear form is taken where none is chosen
    assert given["utilization_under_load"] == pytest.approx(sum(shares))
    # two springs side by side: 8 bolts of 205 GPa × 157 mm² / 50 mm, the ring of 155/200 mm at 400 MPa over 2 mm
    bolts, face = 8 * 205e9 * 157e-6 / 0.050, 400e6 / 0.002 * math.pi / 4 * (0.200**2 - 0.155**2)
    assert figures["load_factor"] == pytest.approx(bolts / (bolts + face), rel=1e-6)
    said = flat(run(path, "--counts", "8", "--width", 80).output)
    for words in ("tensile area 157.0 mm²", "proof strength 580.0 MPa", "load factor C 0.", "external tension"):
        assert words in said
    assert "torque from" in said


def test_a_check_of_the_joint_as_a_whole_names_the_bolt_that_another_case_pulls_harder():
    """Gasket seating is used alike in every case and told for the first; the bolts are pulled most in the hydrostatic one."""
    text = TIGHT.replace("y: 11 MPa", "y: 30 MPa").replace("12 bar}, outlet: capped", "5 bar}, outlet: capped")
    text = text.replace(
        "60 L/s, pressure: 4 bar}, outlet: {pressure: 3.5 bar", "20 L/s, pressure: 2 bar}, outlet: {pressure: 1.5 bar"
    )
    found = size(parse_case(text, "f"), "main", Sizing(counts=(8,)))
    words = " ".join(figures_words(found, found.shown))
    assert "gasket seating" in words
    pulls = {name: case.joints["main"].external_tension for name, case in found.shown.cases.items()}
    most = max(pulls["test"])
    assert most > max(pulls["run"])
    told = re.search(
        r"in 'run' bolt (\d), pulled most there \(of all cases bolt (\d) in 'test', ([\d,]+) N\), has external", words
    )
    assert told
    assert int(told[1]) == 1 + int(np.argmax(pulls["run"]))
    assert int(told[2]) == 1 + int(np.argmax(pulls["test"]))
    assert float(told[3].replace(",", "")) == pytest.approx(most, abs=0.5)


def test_weight_has_the_density_in_the_units_of_the_file(tmp_path, file):
    path = tmp_path / "us.yaml"
    path.write_text(US)
    # 7850 kg/m³ over 0.45359237 kg per (0.3048 m)³
    assert "steel of 490.1 lb/ft³" in flat(run(path, "--counts", "8").output)
    assert "steel of 7,850 kg/m³" in flat(run(file, "--counts", "8").output)


def test_what_no_bolt_mends_is_said_under_the_headline(tmp_path):
    """12 bar on a flange rated 8 bar fails whatever the bolts; with a rating of 16 bar nothing is said."""
    path = tmp_path / "rated.yaml"
    rated = "flange: {outside: 290 mm, thickness: 22 mm, rating: RATED}"
    text = TIGHT.replace("flange: {outside: 290 mm, thickness: 22 mm}", rated)
    path.write_text(text.replace("RATED", "8 bar"))
    said = CliRunner().invoke(command, [str(path), "--counts", "4,8", "--sizes", "M16,M20"])
    assert said.exit_code == 1
    rating = [
        f"flange rating of joint 'main' in '{case}'" for case in ("run", "test")
    ]  # in 'run' by its bending moment
    head = " ".join(said.output.split("Rests on")[0].split())
    assert head.endswith(f"Fails whatever the bolts: {'; '.join(rating)}.")
    path.write_text(text.replace("RATED", "16 bar"))
    assert "whatever the bolts" not in CliRunner().invoke(command, [str(path), "--counts", "4,8"]).output


def test_doubtful_input_stands_under_the_headline(tmp_path):
    """Water that would leave the elbow with 100 bar."""
    path = tmp_path / "gain.yaml"
    path.write_text(TIGHT.replace("pressure: 3.5 bar", "pressure: 100 bar"))
    head = CliRunner().invoke(command, [str(path), "--counts", "4,8"]).output.split("Rests on")[0]
    assert "Doubtful input: in 'run': The data contradict themselves" in " ".join(head.split())
    told = json.loads(CliRunner().invoke(command, [str(path), "--counts", "4,8", "--json"]).output)["warnings"]
    assert ("energy gained", True) in {(w["kind"], w["doubtful"]) for w in told}
