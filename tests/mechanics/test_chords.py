"""Centerlines as straight pieces: every way through a shape, closed ones too, and how near the chords of a bend are to it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.mechanics.centerline import CHORDS, Arc, Line, path_chords, piece_chords
from anchorsize.mechanics.segments import Cap, Straight
from anchorsize.mechanics.shapes import build

X, Y, Z = np.eye(3)


@given(turn=st.floats(0.05, 3.0), radius=st.floats(0.01, 10.0))
def test_chords_of_an_arc_start_and_end_on_it_and_stay_near(turn, radius):
    """All ends lie on the circle about the center of curvature; the middles are off by the sagitta R (1 − cos half the angle)."""
    chords = piece_chords(Arc(X, Y, Z, np.asarray(radius), np.asarray(turn)))
    center = X + radius * Z
    assert np.linalg.norm(chords - center, axis=-1) == pytest.approx(radius, rel=1e-9)
    off = radius - np.linalg.norm(chords.mean(axis=-2) - center, axis=-1)
    assert off == pytest.approx(radius * (1 - np.cos(turn / (2 * CHORDS))), rel=1e-6, abs=1e-12)
    assert chords[1:, 0] == pytest.approx(chords[:-1, 1])
    length = np.linalg.norm(chords[:, 1] - chords[:, 0], axis=-1).sum()
    assert length == pytest.approx(radius * turn, rel=(turn / CHORDS) ** 2)


def test_a_quarter_turn_is_met_within_what_is_said():
    chords = piece_chords(Arc(np.zeros(3), X, Z, np.asarray(1.0), np.asarray(np.pi / 2)))
    assert np.max(1.0 - np.linalg.norm(chords.mean(axis=-2) - Z, axis=-1)) < 0.0013
    assert chords[-1, 1] == pytest.approx(X + Z)


def test_a_path_is_its_pieces_in_turn_with_batch_axes():
    far = np.array([[1.0, 0, 0], [2.0, 0, 0]])
    chords = path_chords((Line(np.zeros(3), far), Line(far, far + Z)))
    assert chords.shape == (2, 2, 2, 3)
    assert chords[1, 1] == pytest.approx(np.array([[2.0, 0, 0], [2.0, 0, 1.0]]))
    assert path_chords(()).shape == (0, 2, 3)


def test_arcs_of_a_batch_are_cut_one_by_one():
    starts, turns = np.array([[0.0, 0, 0], [3.0, 0, 1.0], [0, 2.0, 0]]), np.array([0.3, 1.0, 2.5])
    chords = piece_chords(Arc(starts, X, Z, np.asarray(1.5), turns))
    alone = [
        piece_chords(Arc(start, X, Z, np.asarray(1.5), np.asarray(turn)))
        for start, turn in zip(starts, turns, strict=True)
    ]
    assert chords.shape == (3, CHORDS, 2, 3)
    assert chords == pytest.approx(np.array(alone))


def test_the_plate_of_a_cap_lies_beyond_the_end_of_the_pipe():
    plate = build(0.1, (Straight(0.4), Cap(0.02)), wall=0.005).pieces[-1]
    assert piece_chords(plate.line) == pytest.approx(np.array([[[0.4, 0, 0], [0.42, 0, 0]]]))
