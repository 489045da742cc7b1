"""Heat transfer against printed problems and a heat-transfer library."""

from __future__ import annotations

import ht
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.flue import films
from ventroute.flue.losses import friction_factor

approx = pytest.approx
STATES = np.random.default_rng(11).uniform(0.0, 1.0, (1000, 3))


def test_library_values_to_the_digits_printed() -> None:
    # ht 1.2.0, the values of its own documentation.
    assert float(films.gnielinski(1e5, 1.2, 0.0185)) == approx(254.6268, abs=5e-5)
    assert float(films.horizontal_nu(2.63e9 * 0.69, 0.69)) == approx(139.1349, abs=5e-5)
    assert float(films.plate_nu(2.63e9 * 0.69, 0.69)) == approx(147.1619, abs=5e-5)
    assert float(films.plate_nu(1e9 * 0.71, 0.71)) == approx(110.56, abs=5e-3)
    assert float(films.vertical_nu(1e9, 0.71, 1 / 0.06)) == approx(128.72, abs=5e-3)


def _pairs(*columns: np.ndarray) -> list[tuple[float, ...]]:
    return [tuple(float(x) for x in row) for row in zip(*columns, strict=True)]


def test_nusselt_numbers_are_the_librarys_over_1000_states() -> None:
    gr, pr, slender = 10 ** (4 + 6 * STATES[:, 0]), 0.6 + STATES[:, 1], 2 + 60 * STATES[:, 2]
    horizontal = [ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(p, g) for g, p in _pairs(gr, pr)]
    assert films.horizontal_nu(gr * pr, pr) == approx(np.array(horizontal), rel=1e-9)
    plate = [ht.conv_free_immersed.Nu_vertical_plate_Churchill(p, g) for g, p in _pairs(gr, pr)]
    assert films.plate_nu(gr * pr, pr) == approx(np.array(plate), rel=1e-9)
    tall = [
        ht.conv_free_immersed.Nu_vertical_cylinder_Popiel_Churchill(Pr=p, Gr=g, L=s, D=1.0)
        for g, p, s in _pairs(gr, pr, slender)
    ]
    assert films.vertical_nu(gr, pr, slender) == approx(np.array(tall), rel=1e-9)


def test_flow_in_pipes_and_wind_is_the_librarys_over_1000_states() -> None:
    re, pr, f = 10 ** (3.6 + 2 * STATES[:, 0]), 0.65 + STATES[:, 1], 0.015 + 0.03 * STATES[:, 2]
    inside = [ht.conv_internal.turbulent_Gnielinski(*x) for x in _pairs(re, pr, f)]
    assert films.gnielinski(re, pr, f) == approx(np.array(inside), rel=1e-9)
    wind = [ht.conv_external.Nu_cylinder_Churchill_Bernstein(*x) for x in _pairs(re, pr)]
    assert films.crosswind_nu(re, pr) == approx(np.array(wind), rel=1e-9)


def test_warm_pipe_in_a_room_has_nusselt_17_4() -> None:
    # Cengel, hot-water pipe 8 cm x 6 m, 70 degC in 20 degC: Ra 1.869e6, Nu 17.40, h 5.869 W/(m2 K), 443 W.
    rayleigh = 9.81 / 318 * 50 * 0.08**3 / 1.749e-5**2 * 0.7241
    assert rayleigh == approx(1.869e6, rel=1e-3)
    nu = float(films.horizontal_nu(rayleigh, 0.7241))
    assert nu == approx(17.40, abs=0.01)
    assert nu * 0.02699 / 0.08 * np.pi * 0.08 * 6 * 50 == approx(443, abs=1)


def test_warm_pipe_with_our_air_is_2_percent_above_the_book() -> None:
    # The same pipe with reference air (CoolProp) at the film: 5.96 W/(m2 K).
    one = np.ones(())
    film = films.convection_W_m2K(70 * one, 20 * one, 0.08 * one, 0 * one, 101_325 * one)
    assert float(film) == approx(5.96, abs=0.02)


@pytest.mark.parametrize(
    ("surface", "around", "diameter", "emissivity", "W_m"),
    # qamnty.com/7175068: 100 mm at 150 degC in 20 degC, 351.2 W/m; mathix.co 37a209: 50 mm at 50 degC in 20 degC, 25.1 W/m.
    [(150.0, 20.0, 0.10, 0.8, 351.2), (50.0, 20.0, 0.05, 0.8, 25.1)],
)
def test_pipes_radiate_as_printed(
    surface: float, around: float, diameter: float, emissivity: float, W_m: float
) -> None:
    film = films.radiation_W_m2K(surface, around, emissivity)
    assert float(film) * np.pi * diameter * (surface - around) == approx(W_m, rel=3e-3)


def test_hot_pipe_is_8_percent_below_the_older_formula() -> None:
    # msubbu.in: 100 mm x 4 m, 170 degC in 30 degC, Nu = 0.53 Ra**0.25: 1419.8 W; Churchill-Chu gives 1301 W.
    grashof = 9.81 / 373 * 140 * 0.1**3 / 23.13e-6**2
    assert grashof == approx(6.884e6, rel=2e-3)
    nu = float(films.horizontal_nu(grashof * 0.7, 0.7))
    assert nu * 0.0325 / 0.1 * np.pi * 0.1 * 4 * 140 == approx(1301, rel=3e-3)
    assert 0.53 * (grashof * 0.7) ** 0.25 * 0.0325 / 0.1 * np.pi * 0.1 * 4 * 140 == approx(1419.8, rel=2e-3)


@given(st.floats(500.0, 20_000.0))
def test_inside_film_has_no_jump(re: float) -> None:
    def nu(at: float) -> float:
        array = np.array([at])
        return float(
            films.inside_nu(array, 0.71, friction_factor(array, 1e-5), friction_factor(np.array([4e3]), 1e-5))[0]
        )

    assert nu(re * (1 + 1e-9)) == approx(nu(re), rel=1e-6)
    assert nu(re * 1.01) >= nu(re)


@given(st.floats(-20.0, 60.0), st.floats(0.5, 80.0), st.floats(0.03, 0.3), st.sampled_from([0.0, 2.0]))
def test_wind_and_warmth_make_the_outside_film_stronger(air: float, rise: float, bore: float, height: float) -> None:
    one = np.ones(1)

    def film(over: float, wind: float) -> float:
        args = (one * (air + over), one * air, one * bore, one * height, one * 101_325.0)
        return float(films.convection_W_m2K(*args, wind)[0])

    assert film(rise * 1.1, 0.0) > film(rise, 0.0)
    assert film(rise, 5.0) > film(rise, 0.0)


def test_upright_and_level_pipe_may_be_mixed_in_one_call() -> None:
    one = np.ones(2)
    both = films.convection_W_m2K(40 * one, 0 * one, 0.09 * one, np.array([0.0, 2.5]), 101_325 * one)
    apart = [
        float(films.convection_W_m2K(40 * one, 0 * one, 0.09 * one, height * one, 101_325 * one)[0])
        for height in (0.0, 2.5)
    ]
    assert both.tolist() == approx(apart)
