"""The fitting in space and from where it is looked at: views, openings across their bore, the body as a quiet outline."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from anchorsize.mechanics.frames import joint_frame
from anchorsize.present.pictures.style import clean
from anchorsize.study import Array, Joint, Opening, Study

Direction: TypeAlias = Literal["side", "flange"]

AROUND = 72  # corners of a circle that is drawn
TURNS = 36  # directions in which the outline of a piece of the body is found
PIECES = 12  # of the body from opening to opening
FLAT_SHARE = 0.35
"""Spread along `up` over the level spread under which a fitting counts as lying flat, and is shown from above [-]."""
ALIGNED = 1e-6
BENT = 0.08
"""Sum of the sines of the angles at both ends of a tube, times 2.5, under which it is drawn straight [-]."""
STEP = 0.07
"""Distance of the places on the page that letters are kept clear of [in]."""


@dataclass(frozen=True)
class View:
    """A parallel projection: unit vectors (3,) to the right and upward on the page, and what the view is called."""

    right: Array
    upward: Array
    title: str

    @property
    def to_eye(self) -> Array:
        """Unit vector from the page to the reader."""
        return np.cross(self.right, self.upward)

    def flat(self, points: Array) -> Array:
        """Places or directions (..., 3) as seen on the page (..., 2) [m]."""
        return np.stack([points @ self.right, points @ self.upward], axis=-1)

    @property
    def axes(self) -> tuple[str, str]:
        """What the page's two directions are called."""
        return direction_name(self.right), direction_name(self.upward)


def direction_name(vector: Array) -> str:
    """A direction in words: ``x``, ``−y`` or its parts."""
    main = int(np.argmax(np.abs(vector)))
    if abs(abs(vector[main]) - 1.0) < ALIGNED:
        return f"{'−' if vector[main] < 0 else ''}{'xyz'[main]}"
    return f"along ({', '.join(f'{part:.2f}'.replace('-', '−') for part in vector + 0.0)})"


def view(study: Study, direction: Direction, joint: str | None = None) -> View:
    """The view along the axis of a joint toward its pipe, or the one across the first that shows the most of the fitting.

    ``joint`` is the one that a flange view looks along, the first of the file where it is None.
    """
    return _flange_view(study, joint) if direction == "flange" else _side_view(study)


def main_joint(study: Study) -> Joint | None:
    """The joint that the views follow: the first of the file."""
    return next(iter(study.joints.values()), None)


def _axis(study: Study) -> Array:
    joint = main_joint(study)
    opening = next(iter(study.openings.values())) if joint is None else study.openings[joint.at]
    return np.asarray(opening.outward)


def _flange_view(study: Study, named: str | None) -> View:
    joint = main_joint(study) if named is None else study.joints[named]
    if joint is None:
        axis = _axis(study)
        first = study.up if np.linalg.norm(np.cross(study.up, axis)) > ALIGNED else np.eye(3)[0]
        e1, e2 = joint_frame(axis, first)
        return View(e2, e1, "along the axis of the first opening, from the fitting outward")
    e1, e2 = joint_frame(study.openings[joint.at].outward, joint.reference)
    whose = f" of joint '{clean(joint.name)}'" if len(study.joints) > 1 else ""
    return View(e2, e1, f"flange view{whose}, from fitting to pipe")


def _side_view(study: Study) -> View:
    """Across the joint axis: with `up` on the page, or from above where the fitting lies flat."""
    axis, up = _axis(study), study.up
    spread = _spread(study)
    level = axis - (axis @ up) * up
    if np.linalg.norm(level) < 1e-3:  # the axis is vertical: the plane of the greatest level spread
        return _upright(_leading(spread - (spread @ up)[:, None] * up, up), up)
    across = np.cross(up, level / np.linalg.norm(level))
    rise, sweep = np.ptp(spread @ up), np.ptp(spread @ across)
    if rise < FLAT_SHARE * sweep and abs(axis @ up) < 1e-3:
        right = _forward(axis)
        return View(right, np.cross(up, right), "plan view, from above")
    return _upright(level / np.linalg.norm(level), up)


def _upright(level: Array, up: Array) -> View:
    right = _forward(level)
    eye = direction_name(np.cross(right, up))
    return View(right, up, f"side view, seen from\u00a0{eye}" if eye[-1] in "xyz" else "side view")


def _spread(study: Study) -> Array:
    """Places that the view should keep apart: the openings, where their jets point, and the centerline where it is known."""
    centers = np.stack([np.asarray(each.center) for each in study.openings.values()])
    bores = np.array([bore(each) for each in study.openings.values()])
    ahead = centers + bores[:, None] * np.stack([np.asarray(each.outward) for each in study.openings.values()])
    return np.concatenate([centers, ahead, centerline(study)])


def centerline(study: Study) -> Array:
    """Places (n, 3) [m] along the centerline of the fitting's shape, none where it has no shape."""
    line = study.fitting.centerline
    return np.zeros((0, 3)) if line is None else line.reshape(-1, 3)


def _leading(level: Array, up: Array) -> Array:
    """The level direction along which places are spread the most; some level direction where they are not."""
    _, sizes, directions = np.linalg.svd(level - level.mean(axis=0))
    if sizes[0] > ALIGNED:
        main = np.asarray(directions[0])
        return np.asarray(main / np.linalg.norm(main))
    start = np.eye(3)[int(np.argmin(np.abs(up)))]
    flat = start - (start @ up) * up
    return np.asarray(flat / np.linalg.norm(flat))


def _forward(vector: Array) -> Array:
    """The vector or its opposite, so that its greatest part is positive: axes then run the usual way."""
    main = int(np.argmax(np.abs(vector) - 1e-9 * np.arange(3)))
    return np.asarray(vector if vector[main] > 0 else -vector) + 0.0


def bore(opening: Opening) -> float:
    """Diameter of a round opening of the same area [m]."""
    return float(np.sqrt(4.0 * float(opening.area) / np.pi))


def disk(center: Array, normal: Array, diameter: float) -> Array:
    """The closed rim of a disk in space (n, 3) [m]."""
    aside = np.eye(3)[int(np.argmin(np.abs(normal)))]
    first, second = joint_frame(normal, aside)
    turn = np.linspace(0.0, 2.0 * np.pi, AROUND + 1)[:, None]
    return np.asarray(center + 0.5 * diameter * (np.cos(turn) * first + np.sin(turn) * second))


def body(study: Study, seen: View) -> list[Array]:
    """The fitting as convex pieces (n, 2) [m] on the page: the pipe along the centerline of its shape.

    Without a shape only the openings are known, and the outline is a smooth guess: a tube from opening to opening, or to where all
    of them meet.
    """
    if study.fitting.centerline is not None and study.fitting.widths is not None:
        return _pipe(study.fitting.centerline, study.fitting.widths, seen)
    openings = list(study.openings.values())
    if len(openings) == 1:
        only = openings[0]
        inward = -np.asarray(only.outward)
        end = only.center + _depth(study, only) * inward
        return _tube((only.center, inward), (end, inward), (bore(only), bore(only)), seen)
    if len(openings) == 2:
        first, last = openings
        return _tube((first.center, -first.outward), (last.center, last.outward), (bore(first), bore(last)), seen)
    hub = _meeting(openings)
    pieces = [disk_flat(seen.flat(hub), max(bore(each) for each in openings))]
    for opening in openings:
        reach = hub - opening.center
        if np.linalg.norm(reach) > ALIGNED:
            way = reach / np.linalg.norm(reach)
            pieces += _tube((opening.center, -opening.outward), (hub, way), (bore(opening), bore(opening)), seen)
    return pieces


def _pipe(chords: Array, widths: Array, seen: View) -> list[Array]:
    """Pieces of pipe along straight pieces (n, 2, 3) [m], ``widths`` (n, 2) [m] at their ends, each cut in the middle of the angle
    to the next.
    """
    lengths = np.linalg.norm(chords[:, 1] - chords[:, 0], axis=-1)
    kept = lengths > ALIGNED * lengths.max()
    chords, widths = chords[kept], widths[kept]
    along = (chords[:, 1] - chords[:, 0]) / lengths[kept, None]
    joined = np.linalg.norm(chords[1:, 0] - chords[:-1, 1], axis=-1) < ALIGNED * lengths.max()
    cuts = np.stack([along, along], axis=1)  # normals of the planes at both ends
    between = np.where(joined[:, None], along[1:] + along[:-1], along[1:])
    cuts[1:, 0] = between
    cuts[:-1, 1] = np.where(joined[:, None], between, along[:-1])
    slid = along[:, None, :, None] * cuts[:, :, None, :]  # along the pipe into the plane of the cut
    slid = np.eye(3) - slid / (cuts * along[:, None]).sum(axis=-1)[..., None, None]
    round_it = np.eye(3) - along[:, None, :, None] * along[:, None, None, :]
    rims = slid @ round_it @ np.swapaxes(slid, -1, -2)
    return _hulls(seen.flat(chords), rims, 0.5 * widths[..., None], seen)


def _depth(study: Study, only: Opening) -> float:
    """How far a fitting with one opening reaches [m]: twice as far as its centers lie, a blank's thickness at least."""
    centers = [each for each in (study.fitting.mass_center, study.fitting.contents_center) if each is not None]
    reach = [2.0 * float((np.asarray(only.center) - each) @ only.outward) for each in centers]
    return max(0.3 * bore(only), *reach, 0.0)


def _meeting(openings: Sequence[Opening]) -> Array:
    """The place nearest to the axes of all openings, in least squares; their middle where the axes run side by side."""
    centers = np.stack([np.asarray(each.center) for each in openings])
    normals = np.stack([np.asarray(each.outward) for each in openings])
    across = np.eye(3) - normals[:, :, None] * normals[:, None, :]
    middle = centers.mean(axis=0)
    right_side = np.einsum("nij,nj->i", across, centers - middle)
    return np.asarray(middle + np.linalg.lstsq(across.sum(axis=0), right_side, rcond=1e-6)[0])


def _tube(start: tuple[Array, Array], end: tuple[Array, Array], bores: tuple[float, float], seen: View) -> list[Array]:
    """Pieces of a tube along a smooth line that leaves ``start`` and reaches ``end`` in their directions."""
    (p0, d0), (p3, d3) = start, end
    reach = 0.4 * float(np.linalg.norm(p3 - p0))
    p1, p2 = p0 + reach * d0, p3 - reach * d3
    straight = np.linalg.norm(np.cross(p3 - p0, d0)) + np.linalg.norm(np.cross(p3 - p0, d3)) < BENT * reach
    t = np.linspace(0.0, 1.0, 2 if straight else PIECES + 1)[:, None]
    u = 1.0 - t
    places = u**3 * p0 + 3 * u * u * t * p1 + 3 * u * t * t * p2 + t**3 * p3
    along = u * u * (p1 - p0) + 2 * u * t * (p2 - p1) + t * t * (p3 - p2)
    lengths = np.linalg.norm(along, axis=-1, keepdims=True)
    normals = np.where(lengths > 0.0, along / np.where(lengths > 0.0, lengths, 1.0), d0)
    disks = np.eye(3) - normals[:, :, None] * normals[:, None, :]
    middles, rims, radii = (
        np.stack([each[:-1], each[1:]], axis=1)
        for each in (seen.flat(places), disks, 0.5 * (u * bores[0] + t * bores[1]))
    )
    return _hulls(middles, rims, radii, seen)


def _hulls(middles: Array, rims: Array, radii: Array, seen: View) -> list[Array]:
    """Convex outlines (m, 2) [m] of what lies between two rims on the page, (n, 2, ...) of each.

    A rim of half axes r a and r b (at right angles in some plane or not) has R = a aᵀ + b bᵀ (3, 3), that is 1 − n nᵀ for a disk of
    normal n. Seen along the page direction w (in space) it reaches r √(wᵀ R w) from its middle, at the place r R w/√(wᵀ R w); the
    outline of two takes in every direction the one that reaches farther.
    """
    turn = np.linspace(0.0, 2.0 * np.pi, TURNS, endpoint=False)
    on_page = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    in_space = on_page @ np.stack([seen.right, seen.upward])
    across = in_space @ rims
    size = np.sqrt(np.maximum((across * in_space).sum(axis=-1, keepdims=True), 0.0))
    places = middles[..., None, :] + radii[..., None] * seen.flat(across / np.where(size > ALIGNED, size, 1.0))
    reach = (places * on_page).sum(axis=-1)
    chosen = np.where((reach[:, 1] >= reach[:, 0])[..., None], places[:, 1], places[:, 0])
    apart = np.hypot(*np.moveaxis(chosen - np.roll(chosen, 1, axis=1), -1, 0)) > ALIGNED * radii[:, 1]
    return [outline[kept] for outline, kept in zip(chosen, apart, strict=True)]


def silhouette(pieces: Sequence[Array], step: float) -> Array:
    """Places (n, 2) along the rim of a union of convex pieces (m, 2), no farther apart than ``step``, inside none of them."""
    corners = np.concatenate(pieces)
    sides = np.concatenate([np.concatenate([piece[1:], piece[:1]]) - piece for piece in pieces])
    lengths = np.maximum(np.hypot(*sides.T), 1e-12)
    ends = np.cumsum(lengths)
    at = np.arange(0.0, ends[-1], step)
    on = np.searchsorted(ends, at, side="right").clip(max=len(ends) - 1)
    rim = corners[on] + sides[on] * (1.0 - (ends[on] - at) / lengths[on])[:, None]
    outward = np.stack([sides[:, 1], -sides[:, 0]], axis=-1) / lengths[:, None]
    just_off = rim + 1e-3 * step * outward[on]  # in the next piece where an edge is shared
    beyond = just_off @ outward.T - (corners * outward).sum(axis=-1)
    first = np.cumsum([0, *(len(piece) for piece in pieces[:-1])])
    inside = np.maximum.reduceat(beyond, first, axis=1) < 0.0
    return np.asarray(rim[~inside.any(axis=1)])


def along_line(points: Array, step: float) -> Array:
    """Places (m, 2) along a broken line (n, 2), no farther apart than ``step``."""
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    count = max(2, int(np.ceil(lengths[-1] / step)) + 1)
    at = np.linspace(0.0, lengths[-1], count)
    return np.stack([np.interp(at, lengths, points[:, i]) for i in (0, 1)], axis=-1)


def disk_flat(middle: Array, diameter: float) -> Array:
    """Corners (n, 2) [m] of a circle on the page."""
    turn = np.linspace(0.0, 2.0 * np.pi, AROUND, endpoint=False)
    return np.asarray(middle + 0.5 * diameter * np.stack([np.cos(turn), np.sin(turn)], axis=-1))
