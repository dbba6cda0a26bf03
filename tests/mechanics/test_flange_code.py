"""Code gasket loads, bolt area and equivalent pressure against a published calculation and a ring's statics."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from anchorsize.mechanics import flange_code as fc

KGF = 9.80665
KG_PER_CM2 = KGF / 1e-4

pressures = st.floats(1e3, 1e7)
moments = st.floats(0.0, 1e5)
pulls = st.floats(0.0, 1e6)
diameters = st.floats(0.02, 2.0)


def test_tongue_and_groove_flange() -> None:
    """Engineer's calculation sheet to ASME VIII-1 App. 2 (printed), all in kg and cm as the sheet has them.

    Printed: H 7846.481, Hp 3753.36, Wm1 11599.84, Wm2 39539.14 kg; Am 5.918 and 20.091 cm². The effective width went in as
    8.91 mm rounded or not, and y in psi by 0.070307 kg/cm²: 0.005 mm on 8.91 mm is 0.06 %, which bounds what hangs on b.
    """
    p, G, b, m, y = 5 * KG_PER_CM2, 0.447, 8.91e-3, 3.0, 4495 * 0.070307 * KG_PER_CM2
    Hp = fc.gasket_load_in_service(p, G, b, m)
    Wm1 = fc.operating_bolt_load(p, G, b, m)
    Wm2 = fc.seating_bolt_load(G, b, y)
    assert (Wm1 - Hp) / KGF == pytest.approx(7846.481, abs=0.0005)
    assert Hp / KGF == pytest.approx(3753.36, rel=6e-4)
    assert Wm1 / KGF == pytest.approx(11599.84, abs=6e-4 * 3753.36)
    assert Wm2 / KGF == pytest.approx(39539.14, rel=6e-4)
    area = fc.bolt_area_required(11599.84 * KGF, 39539.14 * KGF, 1960 * KG_PER_CM2, 1968 * KG_PER_CM2)
    assert area.operating * 1e4 == pytest.approx(5.918, abs=0.0005)
    assert area.seating * 1e4 == pytest.approx(20.091, abs=0.0005)
    assert area.required == area.seating


@given(moment=moments, pull=pulls, pressure=pressures, G=diameters)
def test_equivalent_pressure_unloads_the_ring_alike(moment: float, pull: float, pressure: float, G: float) -> None:
    """The line load at the most unloaded point of a thin ring, from statics, is that of the equivalent pressure.

    A moment changes the line load by w cos θ with M = ∫ w cos²θ a² dθ; a pull by F/(2πa), a pressure by p a/2.
    """
    a = G / 2
    resisting, _ = quad(lambda angle: np.cos(angle) ** 2 * a**2, 0.0, 2 * np.pi)
    drop = moment / resisting + pull / (2 * np.pi * a) + pressure * a / 2
    assert fc.equivalent_pressure(pressure, moment, pull, G) * a / 2 == pytest.approx(drop, rel=1e-9)


@given(moment=moments, pull=pulls, pressure=pressures, G=diameters)
def test_equivalent_pressure_does_not_credit_a_closing_load(
    moment: float, pull: float, pressure: float, G: float
) -> None:
    assert fc.equivalent_pressure(pressure, -moment, -pull, G) == fc.equivalent_pressure(pressure, moment, 0.0, G)
    assert fc.equivalent_pressure(pressure, moment, pull, G) >= pressure


@given(pressure=pressures, G=diameters, m=st.floats(0.0, 6.5), scale=st.floats(0.1, 10))
def test_loads_scale_with_pressure_and_size(pressure: float, G: float, m: float, scale: float) -> None:
    load = fc.operating_bolt_load(pressure, G, 0.02 * G, m)
    assert fc.operating_bolt_load(scale * pressure, G, 0.02 * G, m) == pytest.approx(scale * load, rel=1e-12)
    assert fc.operating_bolt_load(pressure, scale * G, 0.02 * scale * G, m) == pytest.approx(scale**2 * load, rel=1e-12)


def test_self_energizing_gasket_and_vacuum_ask_for_no_clamp() -> None:
    assert fc.gasket_load_in_service([1e6, -5e4], 0.2, 0.005, [0.0, 3.0]).tolist() == [0.0, 0.0]
    assert fc.operating_bolt_load(-5e4, 0.2, 0.005, 3.0) == 0.0


@given(loads=st.tuples(pulls, pulls), stresses=st.tuples(pressures, pressures))
def test_required_area_is_enough_for_both(loads: tuple[float, float], stresses: tuple[float, float]) -> None:
    area = fc.bolt_area_required(*loads, *stresses)
    least = 1e-300  # numbers so small are no longer kept to 1e-12
    assert area.required * stresses[0] >= loads[0] * (1 - 1e-12) - least
    assert area.required * stresses[1] >= loads[1] * (1 - 1e-12) - least


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: fc.seating_bolt_load(0.0, 0.005, 1e7), "gasket reaction diameter must be greater than zero"),
        (lambda: fc.seating_bolt_load(0.2, 0.005, -1.0), "seating stress y must not be negative"),
        (lambda: fc.gasket_load_in_service(1e6, 0.2, 0.005, -1.0), "gasket factor m must not be negative"),
        (lambda: fc.bolt_area_required(1e4, 1e4, 0.0, 1e8), "allowable bolt stress, hot must be greater than zero"),
    ],
)
def test_bad_input_is_named(call, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=message):
        call()
