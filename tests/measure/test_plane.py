"""Planes against textbook answers, NIST's certified values, numpy, and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from readiness.checks.floor import numbers as floors
from readiness.job import WHEELS
from readiness.measure.plane import fit_plane, twist_weights
from readiness.measure.surface import Surface, minus, plane_weights
from tests.outside import rows

PLANES = [p for p in rows("least_squares_fits") if p.values[0]["id"] in ("PL1", "PL2", "PL3")]
PONTIUS = [p for p in rows("least_squares_fits") if p.values[0]["id"] == "PL4"]


def surface(points, us=None) -> Surface:
    """Points by name as a surface; each height has an error of its own."""
    us = us or [1.0] * len(points)
    return Surface(
        {n: (x, y) for n, (x, y, _) in points.items()},
        {n: z for n, (_, _, z) in points.items()},
        {n: {n: u} for n, u in zip(points, us, strict=True)},
    )


def numbered(points):
    return {str(k): tuple(p) for k, p in enumerate(points)}


def peak_to_valley(points) -> float:
    named = numbered(points)
    return floors.peak_to_valley(surface(named), tuple(named)).value


@pytest.mark.parametrize("row", PLANES)
def test_textbook_planes(row):
    fit = fit_plane([tuple(p) for p in row["points"]])
    assert [fit.a, fit.b, fit.c] == pytest.approx(row["coefficients"], rel=1e-12)
    assert list(fit.residuals) == pytest.approx(row["residuals"], abs=1e-12)
    assert sum(r * r for r in fit.residuals) == pytest.approx(row["ss"], rel=1e-12)
    assert peak_to_valley(row["points"]) == pytest.approx(row["max_minus_min_residual"], rel=1e-12)
    assert fit.dof == len(row["points"]) - 3
    assert fit.s == pytest.approx(math.sqrt(row["ss"] / fit.dof), rel=1e-12)


@pytest.mark.parametrize("row", PONTIUS)
def test_the_algebra_meets_certified_values(row):
    """NIST's quadratic is a plane over x and x^2; x is taken in millions, which only moves the point."""
    x = [(row["x_start"] + row["x_step"] * k) / 1e6 for k in range(row["x_count"])] * row["replicates"]
    points = numbered((v, v * v, y) for v, y in zip(x, row["y"], strict=True))
    fit, want = fit_plane(list(points.values())), row["certified"]
    assert fit.a == pytest.approx(want["B0"], rel=1e-9)
    assert fit.b / 1e6 == pytest.approx(want["B1"], rel=1e-11)
    assert fit.c / 1e12 == pytest.approx(want["B2"], rel=1e-9)
    assert fit.s == pytest.approx(want["residual_sd"], rel=1e-9)
    # the standard deviations of the coefficients are those of a surface whose heights are good to s
    known = surface(points, [fit.s] * len(points))
    origin = plane_weights(known.places, 0.0, 0.0)
    slopes = (minus(plane_weights(known.places, *at), origin) for at in ((1.0, 0.0), (0.0, 1.0)))
    sds = [known.total(weights).u / 10 ** (6 * k) for k, weights in enumerate((origin, *slopes))]
    assert sds == pytest.approx([want["sd_B0"], want["sd_B1"], want["sd_B2"]], rel=1e-8)


# --- against numpy -------------------------------------------------------------------------------

where = st.integers(-500, 500).map(lambda n: n / 100)
heights = st.integers(-300, 300).map(lambda n: n / 10)
clouds = st.lists(st.tuples(where, where, heights), min_size=4, max_size=20, unique_by=lambda p: p[:2])


def wide(points) -> bool:
    xy = np.array([p[:2] for p in points])
    return np.linalg.svd(xy - xy.mean(axis=0), compute_uv=False)[-1] > 0.3


@given(clouds, where, where, st.data())
def test_a_height_of_the_plane_and_its_u_by_numpy(points, x, y, data):
    assume(wide(points))
    us = data.draw(st.lists(st.floats(0.2, 3.0), min_size=len(points), max_size=len(points)))
    floor = surface(numbered(points), us)
    design = np.array([[1.0, x, y] for x, y, _ in points])
    weights = np.array([1.0, x, y]) @ np.linalg.pinv(design)
    got = floor.total(plane_weights(floor.places, x, y))
    assert got.value == pytest.approx(weights @ np.array([p[2] for p in points]), abs=1e-7)
    assert got.u**2 == pytest.approx(weights**2 @ np.array(us) ** 2, rel=1e-6, abs=1e-12)
    fit = fit_plane(points)
    assert got.value == pytest.approx(fit.a + fit.b * x + fit.c * y, abs=1e-9)


# --- laws ----------------------------------------------------------------------------------------


@given(clouds, where, where, st.floats(-180, 180), st.floats(-50, 50), st.floats(-10, 10), st.floats(-10, 10))
def test_neither_frame_nor_datum_nor_tilt_change_flatness(points, dx, dy, heading, up, b, c):
    assume(wide(points))
    h = math.radians(heading)
    there = [
        (
            dx + x * math.cos(h) - y * math.sin(h),
            dy + x * math.sin(h) + y * math.cos(h),
            z + up + b * x + c * y,
        )
        for x, y, z in points
    ]
    assert peak_to_valley(there) == pytest.approx(peak_to_valley(points), abs=1e-6)


# --- twist ---------------------------------------------------------------------------------------

tracks = st.floats(1.2, 2.0)
four = st.tuples(heights, heights, heights, heights)


def contacts(wheelbase: float, front: float, rear: float, z) -> list[tuple[float, float, float]]:
    """Left front, left rear, right rear, right front."""
    plan = [(wheelbase, front / 2), (0, rear / 2), (0, -rear / 2), (wheelbase, -front / 2)]
    return [(*p, h) for p, h in zip(plan, z, strict=True)]


def twist(*wheels: tuple[float, float, float]) -> float:
    """Of the floor under four contacts, as the check has it."""
    return floors.twist(surface(dict(zip(WHEELS, wheels, strict=True)))).value


@given(st.floats(2, 4), tracks, four)
def test_on_a_rectangle_twist_is_the_alternating_sum_and_four_residuals(wheelbase, track, z):
    wheels = contacts(wheelbase, track, track, z)
    got = twist(*wheels)
    assert got == pytest.approx(z[0] - z[1] + z[2] - z[3], abs=1e-9)
    assert abs(got) == pytest.approx(4 * max(abs(r) for r in fit_plane(wheels).residuals), abs=1e-9)


@given(st.floats(2, 4), tracks, tracks, four)
def test_twist_is_how_far_the_worst_corner_is_off_the_plane_of_the_other_three(wheelbase, front, rear, z):
    wheels = contacts(wheelbase, front, rear, z)
    offs = []
    for k, (x, y, h) in enumerate(wheels):
        design = np.array([[1.0, p[0], p[1]] for j, p in enumerate(wheels) if j != k])
        a, b, c = np.linalg.solve(design, [p[2] for j, p in enumerate(wheels) if j != k])
        offs.append(h - (a + b * x + c * y))
    assert abs(twist(*wheels)) == pytest.approx(max(abs(o) for o in offs), abs=1e-8)
    if abs(offs[0]) > 1e-6:
        assert math.copysign(1, twist(*wheels)) == math.copysign(1, offs[0])


@given(
    st.floats(2, 4),
    tracks,
    tracks,
    four,
    where,
    where,
    st.floats(-180, 180),
    st.floats(-9, 9),
    st.floats(-9, 9),
)
def test_neither_frame_nor_tilt_change_twist(wheelbase, front, rear, z, dx, dy, heading, b, c):
    wheels = contacts(wheelbase, front, rear, z)
    h = math.radians(heading)
    there = [
        (dx + x * math.cos(h) - y * math.sin(h), dy + x * math.sin(h) + y * math.cos(h), v + b * x + c * y)
        for x, y, v in wheels
    ]
    assert twist(*there) == pytest.approx(twist(*wheels), abs=1e-7)


@given(st.floats(2, 4), tracks, tracks, four)
def test_the_mirror_image_twists_the_other_way(wheelbase, front, rear, z):
    lf, lr, rr, rf = contacts(wheelbase, front, rear, z)
    left = [(x, -y, h) for x, y, h in (rf, rr, lr, lf)]
    assert twist(*left) == pytest.approx(-twist(lf, lr, rr, rf), abs=1e-9)


def test_weights_of_a_rectangle():
    assert twist_weights(*contacts(2.7, 1.5, 1.5, (0, 0, 0, 0))) == pytest.approx((1, -1, 1, -1))


# --- what is refused -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("points", "word"),
    [
        ([(0, 0, 1), (1, 0, 1)], "three different places, there are 2"),
        ([(0, 0, 1), (1, 0, 1), (1, 0, 2), (0, 0, 2)], "there are 2"),
        ([(0, 0, 1), (1, 1, 1), (2, 2, 1), (3, 3, 9)], "one line"),
        ([(0.1, 0.1, 1), (0.2, 0.2, 1), (0.7, 0.7, 1)], "one line"),
        ([(0, 0, 1), (1, 0, 1), (0, 1, math.nan)], "not finite"),
    ],
)
def test_no_plane_and_why(points, word):
    with pytest.raises(ValueError, match=word):
        fit_plane(points)


def test_three_points_lie_in_their_plane_whatever_the_floor_does():
    three = [(0, 0, 1.0), (2, 0, 3.0), (0, 1, -1.0)]
    fit = fit_plane(three)
    assert fit.dof == 0
    assert fit.residuals == pytest.approx((0.0, 0.0, 0.0))
    assert math.isnan(fit.s)
    # at a measured point the plane is that point
    floor = surface(numbered(three), [0.5] * 3)
    at_point = floor.total(plane_weights(floor.places, 2, 0))
    assert (at_point.value, at_point.u) == (pytest.approx(3.0), pytest.approx(0.5))


@pytest.mark.parametrize(
    "order", [(0, 1, 3, 2), (0, 2, 1, 3)], ids=["rear wheels swapped", "diagonal swapped"]
)
def test_contacts_out_of_order_have_no_twist(order):
    wheels = contacts(2.7, 1.5, 1.6, (0, 0, 0, 0))
    with pytest.raises(ValueError, match="in order round the car"):
        twist(*(wheels[k] for k in order))
