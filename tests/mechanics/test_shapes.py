"""Built fittings against a triangle mesh, Monte Carlo, published pipe weights and what must not matter."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from anchorsize.mechanics.centerline import path_moment, piece_end
from anchorsize.mechanics.segments import Bend, Cap, Miter, Straight, Taper, Tee, faults, taper_in_leg
from anchorsize.mechanics.shapes import build

Z = (0.0, 0.0, 1.0)
MIXED = (
    Straight(0.12),
    Bend(1.1, 0.2, (0.2, 0.0, 1.0), end_bore=0.07),
    Taper(0.15, 0.05),
    Bend(2.0, 0.16, (0.0, 1.0, 0.3)),
    Straight(0.05),
)
angle = st.floats(0.05, 3.0)
size = st.floats(0.02, 0.5)


def _rings(bore, segments, start, direction, count=500):
    """Walk a chain in small steps, turning by rotation vectors; yield center, direction and radius of each ring.

    Written apart from the code under test: nothing here knows an arc formula.
    """
    at, d, r = np.array(start, float), np.array(direction, float), bore / 2
    d /= np.linalg.norm(d)
    yield at, d, r
    for segment in segments:
        end = getattr(segment, "end_bore", None)
        r1 = r if end is None else end / 2
        if isinstance(segment, Bend):
            axis = np.cross(d, segment.toward)
            axis /= np.linalg.norm(axis)
            center = at + segment.radius * np.cross(axis, d)
            first_arm, first_d = at - center, d
            for k in range(1, count + 1):
                turned = Rotation.from_rotvec(axis * segment.turn * k / count)
                at, d = center + turned.apply(first_arm), turned.apply(first_d)
                yield at, d, r + (r1 - r) * k / count
        else:
            first = at
            for k in range(1, count + 1):
                at = first + d * segment.length * k / count
                yield at, d, r + (r1 - r) * k / count
        r = r1


def _mesh(rings, sides=96):
    """Return the wall triangles and the two end fans of a tube through the rings, turned along without twist."""
    psi = 2 * np.pi * np.arange(sides) / sides
    keep_area = np.sqrt((2 * np.pi / sides) / np.sin(2 * np.pi / sides))
    points, e1 = [], None
    for at, d, r in rings:
        e1 = np.eye(3)[np.argmin(np.abs(d))] if e1 is None else e1
        e1 = e1 - d * (e1 @ d)
        e1 /= np.linalg.norm(e1)
        e2 = np.cross(d, e1)
        points.append(at + keep_area * r * (np.cos(psi)[:, None] * e1 + np.sin(psi)[:, None] * e2))
    p = np.array(points)
    q = np.roll(p, -1, axis=1)
    wall = np.concatenate(
        [np.stack([p[:-1], q[:-1], p[1:]], axis=-2), np.stack([q[:-1], q[1:], p[1:]], axis=-2)]
    ).reshape(-1, 3, 3)
    ends = np.concatenate(
        [
            np.stack([np.broadcast_to(rings[0][0], p[0].shape), q[0], p[0]], axis=-2),
            np.stack([np.broadcast_to(rings[-1][0], p[-1].shape), p[-1], q[-1]], axis=-2),
        ]
    )
    return wall, ends


def _volume_and_center(triangles):
    parts = np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])) / 6
    volume = parts.sum()
    return volume, (parts[:, None] * triangles.sum(axis=1) / 4).sum(axis=0) / volume


def _area_vector(triangles):
    return np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]).sum(axis=0) / 2


def test_chain_in_space_against_a_mesh():
    """Contents, centers, openings and the closing of the surface; the mesh is good to about (step)², 1e-5 here."""
    start, direction = (0.3, -0.2, 0.5), (1.0, 0.4, -0.2)
    built = build(0.1, MIXED, start=start, direction=direction)
    rings = list(_rings(0.1, MIXED, start, direction))
    wall, ends = _mesh(rings)
    volume, center = _volume_and_center(np.concatenate([wall, ends]))
    assert built.contents == pytest.approx(volume, rel=2e-5)
    assert built.contents_center == pytest.approx(center, abs=1e-5)
    assert built.openings[1].center == pytest.approx(rings[-1][0], abs=1e-12)
    assert built.openings[1].outward == pytest.approx(rings[-1][1], abs=1e-12)
    assert built.openings[1].bore == pytest.approx(0.05)
    # Uniform pressure on the closed surface gives no net force: the wall's area vector and the openings' cancel.
    openings = sum(opening.area * opening.outward for opening in built.openings)
    assert _area_vector(wall) + openings == pytest.approx(0.0, abs=1e-5 * built.openings[0].area)


def test_wall_against_a_mesh():
    """The wall is the outside tube less the inside one; walls of the mesh tubes differ by 1e-5 of a larger volume."""
    segments = (Bend(1.2, 0.25, Z, end_bore=0.07, end_wall=0.006), Straight(0.1))
    outer = (Bend(1.2, 0.25, Z, end_bore=0.082), Straight(0.1))
    built = build(0.1, segments, wall=0.01)
    pairs = []
    for bore, chain in ((0.1, segments), (0.12, outer)):
        wall, ends = _mesh(list(_rings(bore, chain, (0, 0, 0), (1, 0, 0))))
        pairs.append(_volume_and_center(np.concatenate([wall, ends])))
    (inside, inside_center), (outside, outside_center) = pairs
    assert built.wall_volume == pytest.approx(outside - inside, rel=1e-4)
    expected = (outside * outside_center - inside * inside_center) / (outside - inside)
    assert built.wall_center == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("outside_mm", "wall_mm", "kg_per_m", "tolerance"),
    # ASME B36.10M, Schedule 40, NPS 2, 3, 4, 6, 8: masses from memory. Half a digit; NPS 4 is printed 16.07 or 16.08
    # by edition, hence a whole digit there.
    [
        (60.3, 3.91, 5.44, 0.005),
        (88.9, 5.49, 11.29, 0.005),
        (114.3, 6.02, 16.07, 0.01),
        (168.3, 7.11, 28.26, 0.005),
        (219.1, 8.18, 42.55, 0.005),
    ],
)
def test_pipe_mass_per_meter(outside_mm, wall_mm, kg_per_m, tolerance):
    bore, wall = (outside_mm - 2 * wall_mm) / 1000, wall_mm / 1000
    built = build(bore, (Straight(1.0),), wall=wall)
    assert 7850 * built.wall_volume == pytest.approx(kg_per_m, abs=tolerance)
    # A bend of the same pipe has the same mass per length of centerline (Pappus).
    bend = build(bore, (Bend(np.pi / 2, 3 * bore, Z),), wall=wall)
    assert 7850 * bend.wall_volume / (1.5 * np.pi * bore) == pytest.approx(kg_per_m, abs=tolerance)


def _monte_carlo(inside, low, high, count=2_000_000):
    points = np.random.default_rng(20240611).uniform(low, high, (count, 3))
    hit = points[inside(points)]
    box = np.prod(np.subtract(high, low))
    share = len(hit) / count
    return box * share, hit.mean(axis=0), box * np.sqrt(share * (1 - share) / count)


def _in_cylinder(points, at, along, length, radius):
    along = np.asarray(along) / np.linalg.norm(along)
    arm = points - np.asarray(at)
    way = arm @ along
    off = np.linalg.norm(arm - way[:, None] * along, axis=1)
    return (way >= 0) & (way <= length) & (off <= radius)


@pytest.mark.parametrize(("bore", "lean"), [(0.2, np.pi / 2), (0.12, np.pi / 4), (0.15, 2.0)])
def test_tee_against_monte_carlo(bore, lean):
    """Union of two cylinders, and of the wall around them, within five standard errors of two million points."""
    wall, branch_wall = 0.02, 0.015
    tee = Tee(0.9, 0.4, Z, bore, 0.4, angle=lean, wall=branch_wall)
    built = build(0.2, (tee,), wall=wall)
    along = (np.cos(lean), 0, np.sin(lean))

    def inside(points):
        return _in_cylinder(points, (0, 0, 0), (1, 0, 0), 0.9, 0.1) | _in_cylinder(
            points, (0.4, 0, 0), along, 0.4, bore / 2
        )

    def outside(points):
        return _in_cylinder(points, (0, 0, 0), (1, 0, 0), 0.9, 0.12) | _in_cylinder(
            points, (0.4, 0, 0), along, 0.4, bore / 2 + branch_wall
        )

    low, high = (0, -0.13, -0.13), (0.9, 0.13, 0.5)
    volume, center, error = _monte_carlo(inside, low, high)
    assert built.contents == pytest.approx(volume, abs=5 * error)
    assert built.contents_center == pytest.approx(center, abs=1e-3)
    shell, shell_center, error = _monte_carlo(lambda p: outside(p) & ~inside(p), low, high)
    assert built.wall_volume == pytest.approx(shell, abs=5 * error)
    assert built.wall_center == pytest.approx(shell_center, abs=2e-3)
    run, branch = built.openings[2], built.openings[1]
    assert branch.name == "branch"
    assert branch.center == pytest.approx(np.array([0.4, 0, 0]) + 0.4 * np.array(along))
    assert branch.outward == pytest.approx(np.array(along))
    assert run.center == pytest.approx([0.9, 0, 0])


def test_branch_that_goes_on_and_ends_in_a_cap():
    tee = Tee(0.6, 0.3, Z, 0.1, 0.2, beyond=(Bend(np.pi / 2, 0.15, (1, 0, 0)), Straight(0.1)))
    built = build(0.1, (tee,))
    assert built.openings[1].center == pytest.approx([0.3 + 0.15 + 0.1, 0, 0.2 + 0.15])
    assert built.openings[1].outward == pytest.approx([1, 0, 0])
    capped = build(0.1, (replace(tee, beyond=(Cap(),)),))
    assert [opening.name for opening in capped.openings] == ["inlet", "outlet"]


def test_cap_adds_its_plate_and_no_opening():
    bare = build(0.1, (Straight(0.2),), wall=0.005)
    capped = build(0.1, (Straight(0.2), Cap(0.012)), wall=0.005)
    assert [opening.name for opening in capped.openings] == ["inlet"]
    assert capped.contents == pytest.approx(bare.contents)
    assert capped.wall_volume - bare.wall_volume == pytest.approx(np.pi * 0.055**2 * 0.012)


@pytest.mark.parametrize("cuts", [1, 2, 3])
def test_miter_against_monte_carlo(cuts):
    """Points of a miter: nearer to the axis of the piece between whose cutting planes they lie than the bore radius."""
    turn, radius, bore = np.pi / 2, 0.3, 0.2
    built = build(bore, (Miter(turn, radius, (0, 1, 0), cuts),))
    half = radius * np.tan(turn / (2 * cuts))

    def inside(points):
        found = np.zeros(len(points), bool)
        at = np.zeros(3)
        for piece in range(cuts + 1):
            middle = piece * turn / cuts
            d = np.array([np.cos(middle), np.sin(middle), 0])
            end = at + d * half * (2 if 0 < piece < cuts else 1)
            # a cut stands square to the mean of the directions before and after it, an open end to the piece itself
            before = middle - (turn / (2 * cuts) if piece else 0)
            behind = middle + (turn / (2 * cuts) if piece < cuts else 0)
            first = np.array([np.cos(before), np.sin(before), 0])
            last = np.array([np.cos(behind), np.sin(behind), 0])
            arm = points - at
            off = np.linalg.norm(arm - (arm @ d)[:, None] * d, axis=1)
            found |= (off <= bore / 2) & (arm @ first >= 0) & ((points - end) @ last <= 0)
            at = end
        return found

    volume, center, error = _monte_carlo(inside, (0, -0.15, -0.1), (0.45, 0.3, 0.1))
    assert built.contents == pytest.approx(volume, abs=5 * error)
    assert built.contents_center == pytest.approx(center, abs=1e-3)
    assert built.openings[1].center == pytest.approx([radius, radius, 0])
    assert built.openings[1].outward == pytest.approx([0, 1, 0], abs=1e-14)


def test_many_miters_become_a_bend():
    bend = build(0.1, (Bend(1.7, 0.2, Z),), wall=0.01)
    miter = build(0.1, (Miter(1.7, 0.2, Z, cuts=400),), wall=0.01)
    assert miter.contents == pytest.approx(bend.contents, rel=1e-5)  # tan x = x (1 + x²/3), x = 0.85/400
    assert miter.contents_center == pytest.approx(bend.contents_center, abs=1e-6)
    assert miter.wall_center == pytest.approx(bend.wall_center, abs=1e-6)


def _same(one, other):
    assert one.contents == pytest.approx(other.contents, rel=1e-11)
    assert one.contents_center == pytest.approx(other.contents_center, abs=1e-11)
    assert one.wall_volume == pytest.approx(other.wall_volume, rel=1e-10)
    assert one.wall_center == pytest.approx(other.wall_center, abs=1e-10)
    for first, second in zip(one.openings, other.openings, strict=True):
        assert first.center == pytest.approx(second.center, abs=1e-12)
        assert first.outward == pytest.approx(second.outward, abs=1e-12)
        assert path_moment(first.path) == pytest.approx(path_moment(second.path), rel=1e-12, abs=1e-12)


@given(st.floats(0.001, 1.0), st.floats(0.0, 1.0))
def test_splitting_a_straight_changes_nothing(length, share):
    whole = build(0.1, (Straight(length), Bend(1.0, 0.2, Z)), wall=0.01)
    split = build(0.1, (Straight(share * length), Straight((1 - share) * length), Bend(1.0, 0.2, Z)), wall=0.01)
    _same(whole, split)


@given(angle, st.floats(0.05, 0.95), size, st.floats(0.3, 1.0))
def test_a_bend_is_two_bends(turn, share, bore, taper):
    """The bore in between lies on the same straight line over the angle."""
    end, radius = taper * bore, 0.9 * bore
    middle = bore + (end - bore) * share
    whole = build(bore, (Bend(turn, radius, Z, end_bore=end),), wall=0.1 * bore)
    toward = (-np.sin(share * turn), 0, np.cos(share * turn))
    halves = (Bend(share * turn, radius, Z, end_bore=middle), Bend((1 - share) * turn, radius, toward, end_bore=end))
    _same(whole, build(bore, halves, wall=0.1 * bore))


@given(st.tuples(*[st.floats(-3.0, 3.0)] * 3), st.tuples(*[st.floats(-2.0, 2.0)] * 3))
def test_turning_and_moving_the_start_turns_and_moves_all(rotation_vector, shift):
    turned = Rotation.from_rotvec(rotation_vector)
    still = (Bend(1.0, 0.2, Z), Tee(0.6, 0.3, (0, 1, 0), 0.08, 0.3, angle=1.1), Miter(0.8, 0.3, Z, 2))
    moved = tuple(replace(segment, toward=turned.apply(segment.toward)) for segment in still)
    one = build(0.1, still, wall=0.01)
    other = build(0.1, moved, wall=0.01, start=shift, direction=turned.apply([1.0, 0, 0]))
    assert other.contents == pytest.approx(one.contents, rel=1e-12)
    assert other.contents_center == pytest.approx(turned.apply(one.contents_center) + shift, abs=1e-12)
    assert other.wall_center == pytest.approx(turned.apply(one.wall_center) + shift, abs=1e-11)
    for first, second in zip(one.openings, other.openings, strict=True):
        assert second.center == pytest.approx(turned.apply(first.center) + shift, abs=1e-12)
        assert second.outward == pytest.approx(turned.apply(first.outward), abs=1e-12)


@given(st.floats(0.05, 1.4), size, st.floats(0.6, 4.0))
def test_paths_lead_to_their_openings(turn, bore, ratio):
    tee = Tee(4 * bore, 2 * bore, Z, bore, 2 * bore, beyond=(Bend(turn, ratio * bore, (0, 1, 0)),))
    built = build(bore, (Bend(turn, ratio * bore, Z), tee), start=(1, 2, 3))
    for opening in built.openings:
        at = np.array([1.0, 2.0, 3.0])
        for piece in opening.path:
            assert piece.start == pytest.approx(at, abs=1e-11)
            at = piece_end(piece)
        assert at == pytest.approx(opening.center, abs=1e-11)


def test_batch_of_sizes_equals_one_by_one():
    bores, turns = np.array([0.05, 0.1, 0.15]), np.array([0.5, 1.0, 1.5])
    many = build(bores, (Bend(turns, 0.3, Z, end_bore=0.5 * bores), Straight(0.2)), wall=0.1 * bores)
    for k, (bore, turn) in enumerate(zip(bores, turns, strict=True)):
        one = build(bore, (Bend(turn, 0.3, Z, end_bore=0.5 * bore), Straight(0.2)), wall=0.1 * bore)
        assert many.contents[k] == pytest.approx(one.contents, rel=1e-14)
        assert many.wall_center[k] == pytest.approx(one.wall_center, rel=1e-12)
        assert many.openings[1].center[k] == pytest.approx(one.openings[1].center, rel=1e-14)
        assert many.openings[1].bore[k] == one.openings[1].bore


@pytest.mark.parametrize(
    ("segments", "message"),
    [
        ((Bend(1.0, 0.054, Z),), "segment 1 (bend): radius is under half the bore plus the wall"),
        ((Bend(1.0, 0.1, Z, end_bore=0.3),), "radius is under half the bore plus the wall"),
        ((Straight(1.0), Miter(1.0, 0.04, Z, 2)), "segment 2 (miter): radius is under half the bore"),
        ((Bend(7.0, 0.2, Z),), "turn must not be over a full turn"),
        ((Bend(-1.0, 0.2, Z),), "turn must be positive"),
        ((Miter(3.2, 0.2, Z, 1),), "each miter must turn by less than half a turn"),
        ((Miter(3.2, 0.2, Z, 0),), "cuts must be one or more"),
        ((Straight(-0.1),), "length must not be negative"),
        ((Taper(0.0, 0.05),), "segment 1 (taper): length must be positive"),
        ((Taper(0.1, -0.05),), "end_bore must be positive"),
        ((Taper(0.1, 0.05, end_wall=0.0),), "end_wall must be positive"),
        ((Cap(), Straight(1.0)), "nothing can follow a cap"),
        ((Cap(-0.01),), "thickness must not be negative"),
        ((Tee(0.6, 0.3, Z, 0.12, 0.2),), "the branch is wider than the run"),
        ((Tee(0.6, 0.3, Z, 0.08, 0.05),), "the branch ends inside the run"),
        ((Tee(0.6, 0.02, Z, 0.08, 0.2),), "the branch does not land within the length of the run"),
        ((Tee(0.6, 0.3, Z, 0.08, 0.2, angle=3.2),), "angle must lie between 0 and half a turn"),
        ((Tee(0.6, 0.3, Z, 0.08, 0.2, beyond=(Straight(-1.0),)),), "branch: segment 1 (straight): length"),
        ((Bend(1.0, 0.2, (1.0, 0.0, 0.0)),), "segment 1 (bend): 'toward' must have a part across the pipe"),
        ((Tee(0.6, 0.3, Z, 0.08, 0.2, name="inlet"),), "openings share a name: inlet, inlet, outlet"),
    ],
)
def test_impossible_shapes_are_refused(segments, message):
    with pytest.raises(ValueError) as caught:
        build(0.1, segments, wall=0.005)
    assert message in str(caught.value)


def test_all_faults_are_found_at_once():
    found = faults(-0.1, (Straight(-1.0), Bend(9.0, 0.2, Z)), wall=0.0)
    assert len(found) == 4
    assert found[0] == "the bore must be positive"
    assert found[1] == "the wall must be positive"


def test_walls_need_a_wall_to_begin_with():
    assert "end_wall needs a wall" in faults(0.1, (Taper(0.1, 0.05, end_wall=0.01),))[0]
    assert "needs a wall at the first opening" in faults(0.1, (Tee(0.6, 0.3, Z, 0.08, 0.2, wall=0.01),))[0]
    assert build(0.1, (Straight(1.0),)).wall_volume is None


def test_direction_of_no_length_is_refused():
    with pytest.raises(ValueError, match="the direction of the first opening has no length"):
        build(0.1, (Straight(1.0),), direction=(0, 0, 0))


def test_taper_in_a_leg():
    before, taper, after = taper_in_leg(0.5, Taper(0.2, 0.05), before=0.1)
    assert (before.length, taper.length) == (0.1, 0.2)
    assert after.length == pytest.approx(0.2)
    with pytest.raises(ValueError, match="is longer than the leg that holds it"):
        taper_in_leg(0.25, Taper(0.2, 0.05), before=0.1)


def test_a_chain_starts_at_the_origin_along_x_unless_said_otherwise():
    built = build(0.1, (Straight(2.0),))
    assert built.openings[0].center.tolist() == [0.0, 0.0, 0.0]
    assert built.openings[0].outward.tolist() == [-1.0, 0.0, 0.0]
    assert built.openings[1].center.tolist() == [2.0, 0.0, 0.0]


@pytest.mark.parametrize("direction", [*np.eye(3), *-np.eye(3), [1.0, -2.0, 3.0]])
def test_a_pipe_lies_along_its_direction_whichever_that_is(direction):
    """Wall volume of a tube by hand, (R² − r²)π L; its middle stands halfway along."""
    built = build(0.1, (Straight(3.0),), direction=direction, wall=0.01)
    unit = np.array(direction) / np.linalg.norm(direction)
    assert built.wall_volume == pytest.approx(np.pi * (0.06**2 - 0.05**2) * 3.0)
    assert built.wall_center == pytest.approx(1.5 * unit)
    assert built.contents_center == pytest.approx(1.5 * unit)


def test_directions_of_a_batch_are_their_rows():
    """More rows than there are axes, so that no row can be taken for one."""
    directions = np.array([[2.0, 0.0, 0.5], [-1.0, 3.0, 0.0], [0.0, 0.3, -4.0], [0.5, 2.0, 1.0], [3.0, -0.2, 1.0]])
    chain = (Straight(0.3), Bend(1.0, 0.2, (0.2, 0.3, 1.0), 0.08), Tee(0.6, 0.3, (1.0, 1.0, 1.0), 0.05, 0.3, 1.2))
    together = build(0.1, chain, direction=directions, wall=0.004)
    for row, direction in enumerate(directions):
        alone = build(0.1, chain, direction=direction, wall=0.004)
        assert together.contents_center[row] == pytest.approx(alone.contents_center, rel=1e-12)
        assert together.wall_center[row] == pytest.approx(alone.wall_center, rel=1e-12)
        for mine, other in zip(together.openings, alone.openings, strict=True):
            assert np.broadcast_to(mine.center, directions.shape)[row] == pytest.approx(other.center, abs=1e-12)
            assert mine.outward[row] == pytest.approx(other.outward, abs=1e-12)


@pytest.mark.parametrize("row", [0, 1])
def test_one_direction_of_no_length_is_refused(row):
    directions = np.ones((2, 3))
    directions[row] = 0.0
    with pytest.raises(ValueError, match="has no length"):
        build(0.1, (Straight(0.3),), direction=directions)


def test_a_cap_has_no_thickness_unless_said():
    tube = build(0.1, (Straight(3.0), Cap()), wall=0.01)
    assert tube.wall_volume == pytest.approx(np.pi * (0.06**2 - 0.05**2) * 3.0, rel=1e-12)


@pytest.mark.parametrize("lean", [0.8, 1.5, 2.2])
def test_a_leaning_branch_against_quadrature(lean):
    """First moment of what the branch adds to the run, summed over the lines of the branch in world axes.

    The line at u across and w beside the axis of the branch leaves the run where its height over the axis of the run
    is √(R² − w²). Gauss rule along the radius, even steps around: exact to rounding for a branch this much narrower.
    """
    R, r, length, at = 0.1, 0.05, 0.5, 0.4
    nodes, weights = np.polynomial.legendre.leggauss(40)
    rho, around = 0.5 * r * (nodes + 1.0), 2.0 * np.pi * np.arange(80) / 80
    u, w = rho[:, None] * np.cos(around), rho[:, None] * np.sin(around)
    element = np.broadcast_to((0.5 * r * weights * rho)[:, None] * 2.0 * np.pi / 80, u.shape)
    # meeting + s (cos, 0, sin) + u (−sin, 0, cos) + w (0, 1, 0) has the height s sin + u cos
    first = (np.sqrt(R**2 - w**2) - u * np.cos(lean)) / np.sin(lean)
    middle = 0.5 * (first + length)
    places = np.stack([at + middle * np.cos(lean) - u * np.sin(lean), w, middle * np.sin(lean) + u * np.cos(lean)])
    volume = element * (length - first)
    built = build(2.0 * R, (Tee(1.0, at, Z, 2.0 * r, length, lean),))
    run = np.pi * R**2
    assert built.contents == pytest.approx(run + volume.sum(), rel=1e-10)
    added = built.contents * built.contents_center - run * np.array([0.5, 0.0, 0.0])
    assert added == pytest.approx((places * volume).sum(axis=(1, 2)), rel=1e-8, abs=1e-12)
