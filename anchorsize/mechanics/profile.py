"""Momentum-flux factor of velocity profiles in a round pipe.

beta = (1/A) ∫ (u/V)² dA, with V the mean velocity: what multiplies rho Q²/A in the thrust of an opening.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from anchorsize.mechanics.inputs import Array, positive

beta_laminar = 4.0 / 3.0
"""Factor of the parabolic profile of laminar flow [-]: Cengel & Cimbala, Fluid Mechanics, Example 6-1."""

# Exponent n of u/U = (1 − r/R)^(1/n) measured in smooth pipes by Nikuradse, against the Reynolds number of the
# mean velocity; as listed in Schlichting, Boundary-Layer Theory, chapter on pipe flow (from memory).
_NIKURADSE_REYNOLDS = (4.0e3, 2.3e4, 1.1e5, 1.1e6, 2.0e6, 3.2e6)
_NIKURADSE_EXPONENT = (6.0, 6.6, 7.0, 8.8, 10.0, 10.0)


def beta_power_law(n: ArrayLike) -> Array:
    """Return the momentum-flux factor of the profile u = U (1 − r/R)^(1/n) [-].

    With m = 1/n, beta = (1 + m)² (2 + m)² / (2 (1 + 2m) (2 + 2m)); White, Fluid Mechanics, section 3.4 (from memory).

    Parameters
    ----------
    n : (...) exponent of the profile [-], positive

    Raises
    ------
    ValueError
        If an exponent is not positive.
    """
    m = 1.0 / positive("the exponent of a power-law profile", n)
    beta: Array = np.square((1.0 + m) * (2.0 + m)) / (2.0 * (1.0 + 2.0 * m) * (2.0 + 2.0 * m))
    return beta


def power_law_exponent(reynolds: ArrayLike) -> Array:
    """Return the power-law exponent n of turbulent flow in a smooth pipe [-].

    Read between Nikuradse's measured exponents along the logarithm of the Reynolds number; 10 beyond the last.

    Parameters
    ----------
    reynolds : (...) Reynolds number of the mean velocity and the bore [-], 4000 or more

    Raises
    ------
    ValueError
        If a Reynolds number is under 4000, where the flow may not be turbulent.
    """
    reynolds = np.asarray(reynolds, dtype=float)
    if np.any(reynolds < _NIKURADSE_REYNOLDS[0]):
        raise ValueError("the power law is for turbulent flow: the Reynolds number must be 4000 or more")
    return np.asarray(np.interp(np.log(reynolds), np.log(_NIKURADSE_REYNOLDS), _NIKURADSE_EXPONENT))
