"""Lines that describe a chain: every dimension given must be found in them, in the unit asked for."""

import numpy as np

from anchorsize.mechanics.segments import Bend, Cap, Miter, Straight, Taper, Tee
from anchorsize.mechanics.shape_lines import describe


def test_every_segment_has_its_line():
    tee = Tee(0.5, 0.25, (0, 1, 0), 0.08, 0.2, np.pi / 4, 0.004, beyond=(Cap(0.01),))
    chain = (
        Straight(0.3),
        Bend(np.pi / 2, 0.152, (0, 0, 1), 0.09, 0.005),
        tee,
        Miter(0.5, 0.4, (1, 0, 0), 2),
        Taper(0.1, 0.05),
    )
    assert describe(0.1023, chain, 0.006, "mm", 1e-3) == (
        "starts with bore 102.3 mm, wall 6 mm",
        "straight, 300 mm long",
        "bend, 90° toward [0, 0, 1], centerline radius 152 mm, to bore 90 mm, to wall 5 mm",
        "run, 500 mm long, with a branch 200 mm long at 250 mm, 45° from the run toward [0, 1, 0]",
        "  branch: starts with bore 80 mm, wall 4 mm",
        "  branch: flat cap, 10 mm thick",
        "mitered bend, 28.648° toward [1, 0, 0] in 2 cuts, centerline radius 400 mm",
        "taper, 100 mm long, to bore 50 mm",
    )


def test_arrays_show_their_span():
    toward = np.array([[0, 0, 1], [0, 1, 0]])
    lines = describe(np.array([0.0508, 0.1016]), (Bend([0.5, 0.5], 0.254, toward),), unit="in", unit_length=0.0254)
    assert lines[0] == "starts with bore 2 to 4 in"
    assert lines[1] == "bend, 28.648° toward directions that vary, centerline radius 10 in"


def test_metres_unless_said_and_a_branch_takes_the_wall_where_it_leaves():
    tee = Tee(0.5, 0.25, (0, 1, 0), 0.08, 0.2, np.pi / 2, None)
    lines = describe(0.1, (Bend(np.pi / 2, 0.15, (0, 0, 1), 0.09, 0.005), Straight(2.0), tee), 0.006)
    assert lines[0] == "starts with bore 0.1 m, wall 0.006 m"
    assert lines[2] == "straight, 2 m long"
    assert lines[4] == "  branch: starts with bore 0.08 m, wall 0.005 m"
