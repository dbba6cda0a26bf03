"""An operating case of a study: the state of every opening."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from anchorsize.study.joint import Allowables
from anchorsize.study.values import Number

Exit: TypeAlias = Literal["connected", "free_jet", "capped"]


@dataclass(frozen=True)
class Losses:
    """A pressure that follows from losses: the coefficient [-] and the opening whose velocity it is on."""

    coefficient: Number
    velocity_at: str


@dataclass(frozen=True)
class SurgePipe:
    """The wall that a wave speed follows from: inside, wall [m], modulus [Pa], Poisson's ratio [-], and how the pipe is anchored."""

    inside: Number
    wall: Number
    modulus: Number
    poisson: Number
    anchoring: Literal["expansion joints", "upstream end", "throughout"]


@dataclass(frozen=True)
class Surge:
    """A stopped flow [m³/s] and the wave [m/s] it sends; closing time [s] and pipe length [m] where it stops slowly.

    ``pipe_area`` [m²] is that of the pipe in which the wave runs, where it is not the opening's own; ``pipe`` is its wall, where the
    wave speed follows from that. ``falls_evenly`` is what falls evenly within the closing time, None where nobody said: then the flow
    is taken, and a valve that would raise the pressure more is told. ``wave_speed`` is 0 where the file says that nothing stops.
    """

    stopped_flow: Number
    wave_speed: Number
    closing_time: Number | None = None
    pipe_length: Number | None = None
    pipe_area: Number | None = None
    pipe: SurgePipe | None = None
    falls_evenly: Literal["flow", "valve_area"] | None = None

    def area(self, opening: Number) -> Number:
        """Area of the pipe in which the wave runs [m²], ``opening`` being that of the opening."""
        return opening if self.pipe_area is None else self.pipe_area


@dataclass(frozen=True)
class GasDischarge:
    """Gas leaving at an open discharge: mass flow [kg/s], stagnation temperature [K], k [-], molar mass [kg/mol],
    absolute ambient pressure [Pa]."""

    mass_flow: Number
    stagnation_temperature: Number
    k: Number
    molar_mass: Number
    ambient: Number


@dataclass(frozen=True)
class OpeningState:
    """One opening in one operating case. ``flow`` [m³/s] positive out of the fitting; ``None`` is solved by continuity.

    ``losses`` stands in for the pressure, ``gas`` for pressure and flow; the rise of ``surge`` adds to the pressure.
    """

    exit: Exit
    flow: Number | None = None
    pressure: Number | None = None  # gauge [Pa]; None only for capped, from losses and gas
    beta: Number = 1.0
    density: Number | None = None  # where it differs from the fluid's
    flow_change: Number = 0.0  # dQ/dt [m³/s²], positive out
    losses: Losses | None = None
    surge: Surge | None = None
    gas: GasDischarge | None = None


@dataclass(frozen=True)
class Case:
    """An operating case: the state of every opening, whether the fitting is full, and the dynamic factor.

    ``rating_factor`` [-] multiplies the flange ratings in this case, and ``allow`` replaces single allowables in it; both are the
    user's, as for a pressure test. ``throttled`` says that a valve or an orifice in the fitting takes the head that is lost,
    ``full_bore_after`` that pipe of full bore follows it, so that a free jet fills its opening.
    """

    name: str
    states: dict[str, OpeningState]
    contents_full: bool = True
    dynamic_factor: Number = 1.0
    rating_factor: Number | None = None
    allow: Allowables | None = None
    throttled: bool = False
    full_bore_after: bool = False
