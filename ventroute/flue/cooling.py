"""How the gas cools along the vent: a march in short steps, wet and dry bound alike.

At every place the wall is found at which the heat that gas and condensing vapour bring equals what leaves outside;
a step then follows the exponential decay that the place in its middle would give. What the wall takes, the stream
loses.

References
----------
.. [1] Chilton-Colburn analogy of heat and mass transfer; Stefan flow of vapour to a cold wall. Textbook, memory.
.. [2] Diffusion of water vapour in air, 2.6e-5 m2/s at 298 K and 1 atm, growing as T**1.75 and 1/p. Grade: memory.
   No measurement of a plastic vent in a cold space was found to test the whole against.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from ventroute.flue.draught import column_Pa
from ventroute.flue.films import convection_W_m2K, inside_nu, radiation_W_m2K
from ventroute.flue.gas import FlueGas
from ventroute.flue.losses import TURBULENT_FROM, bend_k, friction_factor, reynolds, velocity_head_Pa, velocity_m_s
from ventroute.flue.properties import SEA_LEVEL_PA, air_kg_m3, evaporation_J_mol, psat_Pa, psat_slope
from ventroute.flue.species import KELVIN, R_J_MOL_K, FloatArray, Many
from ventroute.flue.stream import Stream
from ventroute.flue.stretch import Stretch, side_by_side

STEP_M = 1.0  # longest step; halving it moves the outlet by less than 0.02 K in the check cases
AGREES = 5e-6  # both sides of a wall agree to this share of the flux [W/m2]
MOST_WALL_STEPS = 60  # halving alone has found it by then


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """The stream and the pipe at one place, (n,), or at a place of each of several runs, (runs, n)."""

    gas_degC: FloatArray
    vapour_mol_s: FloatArray
    wall_degC: FloatArray
    surface_degC: FloatArray
    heat_W_m2: FloatArray  # through the inner surface
    shed_mol_m2s: FloatArray  # vapour condensing on the wall
    capacity_W_K: FloatArray
    inside_W_m2K: FloatArray
    density_kg_m3: FloatArray
    speed_m_s: FloatArray
    factor: FloatArray


NODE = tuple(field.name for field in fields(Node))


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A node and where it stands; heat, loss and lift are sums from the collar. Arrays (n,)."""

    distance_m: FloatArray
    stretch: int
    node: Node
    heat_W: FloatArray
    loss_Pa: FloatArray
    lift_Pa: FloatArray


def _mass_film(h: FloatArray, k: FloatArray, heat_kg: FloatArray, t_degC: FloatArray, p_Pa: FloatArray) -> FloatArray:
    """Mass transfer coefficient [m/s] by the analogy [1]; ``heat_kg`` is rho cp."""
    diffusion = 2.6e-5 * ((t_degC + KELVIN) / 298.0) ** 1.75 * (SEA_LEVEL_PA / p_Pa)
    lewis = k / (heat_kg * diffusion)
    return np.asarray(h / (heat_kg * lewis ** (2 / 3)))


def _node(stream: Stream, pipe: Stretch, t: FloatArray, vapour: FloatArray, surface: FloatArray | None) -> Node:
    """The place where the stream is at ``t``; ``surface`` is a guess of the outer surface's temperature."""
    kg_s, y, p = stream.kg_s(vapour), stream.y_water(vapour), stream.pressure_Pa
    viscosity, k = stream.viscosity_Pa_s(t, y), stream.conductivity_W_mK(t, y)
    cp_flow = stream.cp_W_K(t, vapour)
    cp, density = cp_flow / kg_s, stream.density_kg_m3(t, vapour)
    re = reynolds(kg_s, pipe.bore_m, viscosity)
    rough = np.asarray(pipe.roughness_m) / pipe.bore_m
    factor = friction_factor(re, rough)
    low = factor if re.min() >= TURBULENT_FROM else friction_factor(np.full_like(re, TURBULENT_FROM), rough)
    inside = inside_nu(re, viscosity * cp / k, factor, low) * k / pipe.bore_m
    transfer = _mass_film(inside, k, density * cp, t, p) * stream.wet
    flux, shed, wall, outer = _wall(stream, pipe, t, y * p, inside, transfer, surface)
    capacity = _capacity(stream.at(t, vapour)[1], cp_flow, flux, inside * (t - wall))
    speed = velocity_m_s(kg_s, pipe.bore_m, density)
    return Node(t, vapour, wall, outer, flux, shed, capacity, inside, density, speed, factor)


def _capacity(fog_W_K: FloatArray, dry_W_K: FloatArray, flux: FloatArray, sensible: FloatArray) -> FloatArray:
    """Heat given off for each kelvin the gas cools (n,): more than its own where fog forms or the wall takes water."""
    taking = (sensible > 0) & (flux > sensible)
    by_wall = np.where(taking, dry_W_K * flux / np.where(taking, sensible, 1.0), 0.0)
    return np.maximum(fog_W_K, by_wall)


def _wall(
    stream: Stream,
    pipe: Stretch,
    t: FloatArray,
    vapour_Pa: FloatArray,
    inside: FloatArray,
    transfer: FloatArray,
    surface: FloatArray | None,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Heat flux, vapour flux, inner wall and outer surface where both sides agree.

    What the gas brings falls as the surface warms and what leaves grows, so there is one such surface, between air and
    gas; Newton steps, halving where one would leave the bracket.
    """
    p, air = stream.pressure_Pa, np.asarray(pipe.air_degC, dtype=np.float64)
    widen, through = pipe.outer_m / pipe.bore_m, pipe.wall_m2K_W
    size, height, emissivity = pipe.outer_m, pipe.height_m, pipe.outer_emissivity
    low, high = np.minimum(air, t), np.maximum(air, t)
    latent = evaporation_J_mol(t)  # the water shed is kept at the gas's temperature, and not cooled further
    outer = _guess(t, pipe, inside) if surface is None else surface
    before: tuple[FloatArray, FloatArray] | None = None
    for _ in range(MOST_WALL_STEPS):  # what agrees stands still, so that none depends on what it is worked out beside
        convection = convection_W_m2K(outer, air, size, height, p, pipe.wind_m_s)
        radiation = radiation_W_m2K(outer, air, emissivity)
        flux = (convection + radiation) * (outer - air) * widen
        wall = outer + flux * through
        shed, stiffness = _shedding(t, wall, vapour_Pa, p, transfer)
        residual = inside * (t - wall) + shed * latent - flux
        outside_slope = (1.25 * convection + 1.1 * radiation) * widen
        slope = (inside + stiffness) * (1.0 + outside_slope * through) + outside_slope
        if before is not None:  # the slope seen, where it is near the one expected: far from a kink
            moved = outer - before[0]
            seen = (before[1] - residual) / np.where(moved == 0, 1.0, moved)
            slope = np.where((seen > 0.7 * slope) & (seen < 1.4 * slope), seen, slope)
        before = (outer, residual)
        agrees = np.abs(residual) < AGREES * (1.0 + np.abs(flux))
        if agrees.all():
            break
        rises = residual > 0
        low, high = np.where(rises, outer, low), np.where(rises, high, outer)
        outer = outer + np.where(agrees, 0.0, residual / slope)
        beyond = (outer < low) | (outer > high)
        if beyond.any():
            outer = np.where(beyond, 0.5 * (low + high), outer)
    return flux, shed, wall, outer


def _shedding(
    t: FloatArray, wall: FloatArray, vapour_Pa: FloatArray, p: FloatArray, transfer: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Vapour that condenses on the wall [mol/(m2 s)], and by how much its heat falls as the wall warms [W/(m2 K)]."""
    wall = np.minimum(wall, t)  # a trial above the gas sheds nothing, and may lie beyond the saturation formula
    saturation = np.minimum(psat_Pa(wall), 0.999 * p)
    scale = transfer * p / (R_J_MOL_K * (0.5 * (t + wall) + KELVIN))
    colder = saturation < vapour_Pa
    shed = np.where(colder, scale * np.log((p - saturation) / (p - np.minimum(vapour_Pa, 0.999 * p))), 0.0)
    slope = saturation * psat_slope(wall) / (p - saturation)
    return shed, np.where(colder, scale * slope * 43_000.0, 0.0)  # 43 kJ/mol: near enough for a slope


def _advance(
    stream: Stream, pipe: Stretch, begin: Node, middle: Node, step_m: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Temperature, vapour and heat given off [W] after a step along which ``middle`` holds."""
    gap = middle.gas_degC - pipe.air_degC
    near = np.abs(gap) < 1e-9
    conductance = np.where(near, 0.0, middle.heat_W_m2 / np.where(near, 1.0, gap)) * np.pi * pipe.bore_m
    decay = -np.expm1(-conductance * step_m / middle.capacity_W_K)
    given = middle.capacity_W_K * (begin.gas_degC - pipe.air_degC) * decay
    area = np.where(near, 0.0, given / np.where(middle.heat_W_m2 == 0, 1.0, middle.heat_W_m2))
    vapour = np.maximum(begin.vapour_mol_s - middle.shed_mol_m2s * area, 0.0)
    held = stream.heat_W(begin.gas_degC, begin.vapour_mol_s)
    t, vapour, _ = stream.settle(held - given, vapour, begin.gas_degC - given / middle.capacity_W_K)
    return t, vapour, given


def _pressures(
    pipe: Stretch, node: Node, step_m: FloatArray, first: int, steps: int, outside_kg_m3: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Loss and lift over a step [Pa]; what the stretch loses in fittings is charged to the step it stands in."""
    head = velocity_head_Pa(node.density_kg_m3, node.speed_m_s)
    heads = node.factor * step_m / pipe.bore_m
    for bend in pipe.bends:
        if min(int(bend.at * steps), steps - 1) == first:
            heads = heads + bend_k(bend.angle_deg, bend.radius_ratio, node.factor)
    if first == 0:
        heads = heads + pipe.k
    lift = column_Pa(np.asarray(pipe.rise_m) / steps, node.density_kg_m3, outside_kg_m3)
    return np.asarray(heads * head), lift


def marches(
    gas: FlueGas,
    enters_degC: Many,
    runs: Sequence[Sequence[Stretch]],
    *,
    outside_degC: Many,
    wet: Many = 1.0,
    step_m: float = STEP_M,
) -> list[tuple[Place, ...]]:
    """Follow the stream through the stretches of several runs, side by side, each in flow order.

    Parameters
    ----------
    gas : FlueGas of shape (n,), the same in every run
    enters_degC : (n,) gas leaving the appliance
    runs : the stretches of each, with figures that broadcast to (n,)
    outside_degC : (n,) outdoor air, for the lift
    wet : (n,) 1: water may condense in the vent; 0: the dry bound, the coldest the gas can be
    step_m : longest step [m]

    Returns
    -------
    for each run its places in flow order: start, middle and end of every step; where two stretches meet there are two
    at one distance. No run depends, but for rounding, on what it is followed beside
    """
    shape = np.broadcast(gas.input_W, np.asarray(enters_degC), np.asarray(wet)).shape
    t = np.broadcast_to(np.asarray(enters_degC, dtype=np.float64), shape)
    stream = Stream.of(gas, t, np.broadcast_to(np.asarray(wet, dtype=np.float64), shape))
    outside = air_kg_m3(outside_degC, gas.pressure_Pa)
    followed = [_Run(stretches, step_m) for stretches in runs]
    while going := [run for run in followed if run.stretch < len(run.stretches)]:
        for group in _alike([run for run in going if not run.taken]):
            _enter(stream, group, t)
        for group in _alike(going):
            _step(stream, group, outside)
    return [tuple(run.places) for run in followed]


class _Run:
    """How far a run was followed."""

    def __init__(self, stretches: Sequence[Stretch], step_m: float) -> None:
        self.stretches = stretches
        self.steps = [max(1, int(np.ceil(np.max(pipe.length_m) / step_m - 1e-9))) for pipe in stretches]
        self.places: list[Place] = []
        self.stretch, self.taken = 0, 0  # the stretch it is in, and the steps taken there

    @property
    def pipe(self) -> Stretch:
        """The stretch it is in."""
        return self.stretches[self.stretch]

    @property
    def length_m(self) -> FloatArray:
        """Of a step."""
        return np.asarray(np.asarray(self.pipe.length_m, dtype=np.float64) / self.steps[self.stretch])


def _alike(runs: Sequence[_Run]) -> list[list[_Run]]:
    """Those that are in the same wind together."""
    groups: dict[float, list[_Run]] = {}
    for run in runs:
        groups.setdefault(run.pipe.wind_m_s, []).append(run)
    return list(groups.values())


def _stacked(nodes: Sequence[Node]) -> Node:
    """Nodes of (n,) as one of (runs, n)."""
    return Node(*(np.array([getattr(node, name) for node in nodes]) for name in NODE))


def _apart(node: Node) -> list[Node]:
    """A node of (runs, n) as nodes of (n,)."""
    return [Node(*row) for row in zip(*(getattr(node, name) for name in NODE), strict=True)]


def _enter(stream: Stream, runs: Sequence[_Run], enters_degC: FloatArray) -> None:
    """The first place of the next stretch of runs, as they come from the appliance or from the stretch before."""
    pipe, shape = side_by_side([run.pipe for run in runs], enters_degC.shape), (len(runs), *enters_degC.shape)
    if not runs[0].places:
        t, vapour, surface = np.broadcast_to(enters_degC, shape), np.broadcast_to(stream.water_mol_s, shape), None
    else:
        before = _stacked([run.places[-1].node for run in runs])
        t, vapour, surface = before.gas_degC, before.vapour_mol_s, _across(before, pipe)
    for run, node in zip(runs, _apart(_node(stream, pipe, t, vapour, surface)), strict=True):
        zero = np.zeros(enters_degC.shape)
        last = run.places[-1] if run.places else Place(zero, 0, node, zero, zero, zero)
        run.places.append(replace(last, stretch=run.stretch, node=node))


def _guess(t: FloatArray, pipe: Stretch, inside_W_m2K: FloatArray) -> FloatArray:
    """A guess of the surface, an outside film of 10 W/(m2 K) being usual in still air."""
    outside = 10.0 * pipe.outer_m / pipe.bore_m
    return np.asarray(pipe.air_degC + (t - pipe.air_degC) / (1.0 + outside * (pipe.wall_m2K_W + 1.0 / inside_W_m2K)))


def _across(node: Node, pipe: Stretch) -> FloatArray:
    """A guess of the surface just beyond a border: the inner film, condensing and all, as just before it."""
    fall = node.gas_degC - node.wall_degC
    film = np.where(np.abs(fall) > 1e-3, node.heat_W_m2 / np.where(fall == 0, 1.0, fall), node.inside_W_m2K)
    return _guess(node.gas_degC, pipe, np.maximum(film, node.inside_W_m2K))


def _nearby(node: Node, pipe: Stretch, t: FloatArray) -> FloatArray:
    """A guess of the surface where the gas is at ``t``: in proportion to what the gas is above the air."""
    gap = node.gas_degC - pipe.air_degC
    share = np.where(np.abs(gap) < 1e-6, 1.0, (t - pipe.air_degC) / np.where(gap == 0, 1.0, gap))
    return np.asarray(pipe.air_degC + (node.surface_degC - pipe.air_degC) * share)


def _step(stream: Stream, runs: Sequence[_Run], outside_kg_m3: FloatArray) -> None:
    """The middle and the end of one step of each run."""
    here = _stacked([run.places[-1].node for run in runs])
    pipe = side_by_side([run.pipe for run in runs], here.gas_degC.shape[1:])
    length = np.array([np.broadcast_to(run.length_m, here.gas_degC.shape[1:]) for run in runs])
    t, vapour, half = _advance(stream, pipe, here, here, length / 2)
    middle = _node(stream, pipe, t, vapour, _nearby(here, pipe, t))
    t, vapour, given = _advance(stream, pipe, here, middle, length)
    end = _node(stream, pipe, t, vapour, _nearby(middle, pipe, t))
    for run, mid, last, heat, whole in zip(runs, _apart(middle), _apart(end), half, given, strict=True):
        steps, at = run.steps[run.stretch], run.places[-1]
        loss, lift = _pressures(run.pipe, mid, run.length_m, run.taken, steps, outside_kg_m3)
        for node, share, lost in ((mid, 0.5, heat), (last, 1.0, whole)):
            run.places.append(
                Place(
                    at.distance_m + share * run.length_m,
                    at.stretch,
                    node,
                    at.heat_W + lost,
                    at.loss_Pa + share * loss,
                    at.lift_Pa + share * lift,
                )
            )
        run.taken += 1
        if run.taken == steps:
            run.stretch, run.taken = run.stretch + 1, 0
