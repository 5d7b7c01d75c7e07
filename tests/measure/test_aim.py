"""Aim: exact geometry against numpy and scipy written apart (`aims`), against small-angle formulas by hand,
and as properties; uncertainties against 10^5 random draws and the `uncertainties` library."""

from __future__ import annotations

from dataclasses import replace
from math import atan2, cos, degrees, dist, hypot, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from uncertainties import ufloat

from readiness.measure.aim import CORNERS, Geometry, aim, budget, over_wheels
from readiness.measure.decide import decide
from readiness.measure.uncertain import Estimate, Traced
from tests.measure.aims import seen

WHEELS = ((2.7, 0.775), (0.0, 0.765), (0.0, -0.765), (2.7, -0.775))
FRONT = Geometry(
    (3.5, 0.0, 0.5), (6.5, 0.0, 0.5), ((6.5, 0.45), (6.5, -0.45), (6.9, 0.0)), WHEELS, (3.55, -0.95)
)
CORNER = Geometry(
    (-0.9, 0.66, 0.62), (-2.8, 2.36, 0.62), ((-3.1, 2.36), (-2.6, 2.64), (-2.6, 2.08)), WHEELS, (3.55, -0.95),
    origin_x=-0.95, stand="plumb",
)  # fmt: skip
CAMERA = Geometry(
    (1.9, 0.1, 1.35), (5.5, -0.4, 1.2), ((5.5, 0.3), (5.5, -1.1)), WHEELS, (3.55, -0.95), origin_x=2.7
)
MAT = Geometry((1.75, 0.95, 0.98), (1.3, 1.85, 0.0), ((1.3, 1.85),), WHEELS, (3.55, -0.95))
MANY = replace(CORNER, feet=((-3.1, 2.0), (-3.1, 2.7), (-2.5, 2.0), (-2.4, 2.8), (-2.8, 2.4)), stand="floor")
ALL = {"front": FRONT, "corner": CORNER, "camera": CAMERA, "mat": MAT, "many feet": MANY}

geometries = st.sampled_from(list(ALL.values()))
deviation = st.floats(-30, 30)


def raws(g):
    return st.fixed_dictionaries({c: st.floats(-1, 1) if c == "thrust" else deviation for c in g.causes})


cases = geometries.flatmap(lambda g: st.tuples(st.just(g), raws(g)))


def on(g, **raw):
    return aim(g, {name.replace("__", "."): v for name, v in raw.items()})


def body(lf, lr, rr, rf):
    return {"body.lf": lf, "body.lr": lr, "body.rr": rr, "body.rf": rf}


# --- against others ------------------------------------------------------------------------------


@any_of(cases)
def test_numpy_and_scipy_see_the_same(case):
    """Rotations of scipy, least squares of numpy (tests/measure/aims.py)."""
    azimuth, elevation = seen(*case)
    got = aim(*case)
    assert got.azimuth == pytest.approx(azimuth[0], abs=1e-9)
    assert got.elevation == pytest.approx(elevation[0], abs=1e-9)


@pytest.mark.parametrize("g", ALL.values(), ids=ALL)
def test_nothing_off_nothing_seen(g):
    got = aim(g, {})
    assert (got.azimuth, got.elevation) == pytest.approx((0, 0), abs=1e-12)
    assert got.range == pytest.approx(dist(g.sensor, g.target))
    assert got.plan == pytest.approx(dist(g.sensor[:2], g.target[:2]))


@any_of(st.floats(-1, 1), st.floats(-1, 1))
def test_small_roll_and_pitch_by_hand(roll, pitch):
    """Front radar at height h and x ahead of the pivot: small angles, written out.

    The sensor moves y by -roll (h - pivot), z by -pitch x; the body axes turn by the same angles.
    """
    x, h, away = 3.5 - 1.35, 0.5 - 0.3, 3.0
    r, p = radians(roll), radians(pitch)
    heights = [1000 * (r * y - p * (wx - 1.35)) for wx, y in WHEELS]
    got = aim(FRONT, body(*heights))
    assert radians(got.azimuth) == pytest.approx(r * h / away, abs=3 * (r * r + p * p) + 1e-12)
    assert radians(got.elevation) == pytest.approx(p * x / away + p, abs=3 * (r * r + p * p) + 1e-12)


def test_each_cause_by_hand():
    """One at a time: a front radar 3 m from its target, on which 1 mm is 1/3 mrad."""
    mrad = degrees(0.001)
    assert aim(FRONT, body(3, 3, 3, 3)).elevation == pytest.approx(-mrad, rel=1e-4)  # lifted 3 mm
    assert aim(FRONT, {f"tyre.{c}": 3.0 for c in CORNERS}).elevation == pytest.approx(-mrad, rel=1e-4)
    assert aim(FRONT, body(10, -10, 10, -10)).elevation == pytest.approx(
        0, abs=0.01
    )  # warp, tracks nearly even
    assert on(FRONT, mark__front=6, mark__rear=6).azimuth == pytest.approx(2 * mrad, rel=1e-4)
    # front mark 6 mm left: 6 mm in 4.5 m, at the target 6.5 m ahead of the rear axle's middle
    yaw = 0.006 / 4.5
    left = yaw * (6.5 + 0.95)
    assert on(FRONT, mark__front=6).azimuth == pytest.approx(degrees(left / 3.0), rel=1e-4)
    # the whole floor under the stand 9 mm low, then only its far foot: the lean about the two near ones
    down = {f"floor.foot.{n}": -9.0 for n in (1, 2, 3)}
    assert aim(FRONT, down).elevation == pytest.approx(-3 * mrad, rel=1e-4)
    lean = 0.009 / 0.4  # the centre, over the near feet, leans away by lean * z: seen farther, not higher
    assert on(FRONT, floor__foot__3=-9).elevation == pytest.approx(0, abs=0.01)
    assert on(FRONT, floor__foot__3=-9).range == pytest.approx(3.0 + 0.5 * lean, abs=1e-3)
    assert on(FRONT, thrust=0.25).azimuth == -0.25


def test_a_far_target_ahead_is_off_by_the_yaw_of_the_marks_less_the_thrust_angle():
    far = replace(FRONT, target=(3000.0, 0.0, 0.5), feet=((3000.0, 0.0),))
    got = on(far, mark__front=9, mark__rear=-9, thrust=0.1)
    assert got.azimuth == pytest.approx(degrees(0.018 / 4.5) - 0.1, abs=1e-3)


@pytest.mark.parametrize("origin", [0.0, 2.7, 3.55, -0.95])
def test_lengths_count_from_a_point_of_the_line(origin):
    """Plane geometry by hand: the target is as far along the line from that point, and across, as meant."""
    g = replace(CORNER, origin_x=origin)
    f, r = 0.008, -0.005
    yaw = atan2(f - r, 4.5)
    start = (origin, r + (f - r) / 4.5 * (origin + 0.95))
    x = start[0] + (g.target[0] - origin) * cos(yaw) - g.target[1] * sin(yaw)
    y = start[1] + (g.target[0] - origin) * sin(yaw) + g.target[1] * cos(yaw)
    meant = atan2(g.target[1] - g.sensor[1], g.target[0] - g.sensor[0])
    expected = degrees(atan2(y - g.sensor[1], x - g.sensor[0]) - meant)
    assert on(g, mark__front=8, mark__rear=-5).azimuth == pytest.approx(expected, abs=1e-12)


def test_a_sensor_looking_back_wraps():
    """Straight back is 180 deg: a mark that is off turns the azimuth over that edge, not once round."""
    back = replace(FRONT, sensor=(-1.0, 0.0, 0.6), target=(-4.0, 0.0, 0.6), feet=((-4.0, 0.0),))
    for side in (6, -6):
        got = on(back, mark__front=side, mark__rear=side)
        assert got.azimuth == pytest.approx(
            -degrees(side / 3000), rel=1e-4
        )  # left of the car is to the right
        u = budget(back, {"mark.rear": Traced.of("tape", Estimate(side, 1.0))}).total.azimuth.u
        assert u == pytest.approx(degrees((1 + 3.05 / 4.5) / 3000), rel=0.01)


def test_mm_at_the_target_is_the_arc():
    got = aim(MAT, {})
    assert got.mm("azimuth", 1.0) == pytest.approx(radians(1.0) * 1000 * hypot(0.45, 0.9))
    assert got.mm("elevation", -1.0) == pytest.approx(-radians(1.0) * 1000 * sqrt(0.45**2 + 0.9**2 + 0.98**2))


# --- what must not matter ------------------------------------------------------------------------


def tilted(g, raw, along, across, datum):
    """The same floor on a hill: every height over the plane of the wheels stays, along the new normal."""
    up = sqrt(1 - along**2 - across**2)
    places = dict(zip((f"floor.{c}" for c in CORNERS), g.wheels, strict=True))
    places |= {f"floor.foot.{n}": at for n, at in enumerate(g.feet, 1)}
    return {
        name: datum + 1000 * (along * places[name][0] + across * places[name][1]) + up * value
        if name in places
        else value
        for name, value in raw.items()
    }


level_floor = {"tilt.along": 0.0, "tilt.across": 0.0}


def level(g, raw):
    """The same floor with the plane of the wheels level."""
    a, b, c = np.linalg.lstsq(
        np.column_stack([np.ones(4), g.wheels]), [raw[f"floor.{k}"] for k in CORNERS], rcond=None
    )[0]
    flat = {**raw, **level_floor}
    for name, (x, y) in zip((f"floor.{k}" for k in CORNERS), g.wheels, strict=True):
        flat[name] -= a + b * x + c * y
    for n, (x, y) in enumerate(g.feet, 1):
        flat[f"floor.foot.{n}"] -= a + b * x + c * y
    return flat


@any_of(cases, st.floats(-0.03, 0.03), st.floats(-0.03, 0.03), st.floats(-2000, 2000))
def test_tilting_the_whole_shop_changes_nothing_when_the_stand_is_squared(case, along, across, datum):
    g, raw = replace(case[0], stand="floor"), level(*case)
    one, other = aim(g, raw), aim(g, tilted(g, raw, along, across, datum))
    assert other == pytest.approx(one, abs=1e-9)


@any_of(cases, st.floats(-0.02, 0.02), st.floats(-0.02, 0.02))
def test_adding_a_plane_to_all_heights_is_such_a_tilt_but_for_the_second_order(case, along, across):
    g, raw = replace(case[0], stand="floor"), {**case[1], **level_floor}
    planted = dict(raw)
    for name, (x, y) in zip((f"floor.{c}" for c in CORNERS), g.wheels, strict=True):
        planted[name] += 1000 * (along * x + across * y)
    for n, (x, y) in enumerate(g.feet, 1):
        planted[f"floor.foot.{n}"] += 1000 * (along * x + across * y)
    assert aim(g, planted) == pytest.approx(aim(g, raw), abs=0.05)


@any_of(cases)
def test_car_and_target_on_one_hill_see_each_other_exactly(case):
    g, _ = case
    flat = {f"floor.{c}": 0.0 for c in CORNERS} | {f"floor.foot.{n + 1}": 0.0 for n in range(len(g.feet))}
    g = replace(g, stand="floor")
    got = aim(g, tilted(g, flat, 0.02, -0.01, 700.0))
    assert (got.azimuth, got.elevation) == pytest.approx((0, 0), abs=1e-10)


@any_of(st.floats(-0.02, 0.02), st.floats(-0.02, 0.02))
def test_a_plumb_stand_on_a_hill_moves_by_its_height_times_the_tilt(along, across):
    """By hand: the centre of a target of height z hangs z * slope off; towards where the floor rises."""
    g = replace(FRONT, stand="plumb")
    flat = {f"floor.{c}": 0.0 for c in CORNERS} | {f"floor.foot.{n}": 0.0 for n in (1, 2, 3)}
    got = aim(g, tilted(g, flat, along, across, 0.0))
    assert got.azimuth == pytest.approx(degrees(atan2(0.5 * across, 3.0 + 0.5 * along)), abs=1e-6)
    same = aim(g, {"tilt.along": 1000 * along, "tilt.across": 1000 * across})
    assert same == pytest.approx(got, abs=1e-9)


def moved(g, by, angle):
    """The same car, bay and target in a frame of plan that is turned and shifted: only the floor knows it."""
    turn = Rotation.from_euler("z", angle)
    return [(*(turn.apply([*at, 0])[:2] + by),) for at in (*g.wheels, *g.feet)]


@any_of(cases, st.floats(-3, 3), st.tuples(deviation, deviation))
def test_the_frame_of_the_floor_does_not_matter(case, angle, by):
    """Heights over the wheels, the lift and the lean of the stand, from plan places turned and shifted."""
    from readiness.measure.footing import footing

    g, raw = case
    places = moved(g, by, angle)
    heights = [raw[f"floor.{c}"] for c in CORNERS], [raw[f"floor.foot.{n + 1}"] for n in range(len(g.feet))]
    for feet, other, h in ((g.wheels, places[:4], heights[0]), (g.feet, places[4:], heights[1])):
        one, two = footing(feet), footing(tuple(other))
        at = Rotation.from_euler("z", angle).apply([1.0, 2.0, 0])[:2] + by
        assert two.plane(h).at(*at) == pytest.approx(one.plane(h).at(1.0, 2.0), abs=1e-7)
        turned = Rotation.from_euler("z", angle).apply([*one.plane(h)[1:], 0])[:2]
        assert two.plane(h)[1:] == pytest.approx(tuple(turned), abs=1e-7)


@any_of(cases, st.floats(-5, 5))
def test_where_the_car_counts_its_lengths_from_does_not_matter(case, by):
    """Shifting everything along x, the reference included, is another origin of the same car."""
    g, raw = case
    shifted = replace(
        g, sensor=(g.sensor[0] + by, *g.sensor[1:]), target=(g.target[0] + by, *g.target[1:]),
        feet=tuple((x + by, y) for x, y in g.feet), wheels=tuple((x + by, y) for x, y in g.wheels),
        marks=(g.marks[0] + by, g.marks[1] + by), origin_x=g.origin_x + by,
    )  # fmt: skip
    assert aim(shifted, raw) == pytest.approx(aim(g, raw), abs=1e-9)


MIRRORED = {"lf": "rf", "rf": "lf", "lr": "rr", "rr": "lr"}


def mirror(g, raw):
    def over(p):
        return (p[0], -p[1], *p[2:])

    lf, lr, rr, rf = (over(w) for w in g.wheels)
    other = replace(
        g, sensor=over(g.sensor), target=over(g.target), feet=tuple(over(f) for f in g.feet),
        wheels=(rf, rr, lr, lf),
    )  # fmt: skip
    swapped = {}
    for name, value in raw.items():
        head, _, tail = name.partition(".")
        signed = -value if head in ("mark", "thrust") or name == "tilt.across" else value
        swapped[f"{head}.{MIRRORED[tail]}" if tail in MIRRORED else name] = signed
    return other, swapped


@any_of(cases)
def test_the_mirror_image_is_off_to_the_other_side(case):
    one, other = aim(*case), aim(*mirror(*case))
    assert other.azimuth == pytest.approx(-one.azimuth, abs=1e-9)
    assert (other.elevation, other.range) == pytest.approx((one.elevation, one.range), abs=1e-9)


# --- uncertainty ---------------------------------------------------------------------------------


def correlated(g):
    """Raw causes as in a shop: one tape reads all lengths (its scale is shared), one staff all heights.

    Shared errors: zero and scale of the tape and of the staff; every reading has its own besides.
    """
    raw = {}
    for k, cause in enumerate(g.causes):
        what = cause.partition(".")[0]
        value = {"floor": -900.0 + 3 * k, "body": 4.0 - k % 3, "tyre": 1.0, "mark": 5.0 - k % 4}.get(
            what, 0.3
        )
        own = {"floor": 1.0, "body": 1.2, "tyre": 0.8, "mark": 1.5, "tilt": 0.5}.get(what, 0.05)
        effects = {f"reading {cause}": own}
        if what == "floor":
            effects |= {"staff zero": 2.0, "staff scale": value * 1e-3}
        if what == "body":
            effects |= {"tape zero": 0.9, "tape scale": 700 * 2e-3}
        if what == "mark":
            effects |= {"tape scale": 900 * 2e-3}
        raw[cause] = Traced(value, effects)
    return raw


@pytest.mark.parametrize("g", ALL.values(), ids=ALL)
def test_first_order_agrees_with_a_hundred_thousand_draws(g):
    """Monte Carlo over independent errors, through numpy and scipy; JCGM 101 (from memory) compares so."""
    raw = correlated(g)
    names = sorted({e for t in raw.values() for e in t.effects})
    draws = dict(zip(names, np.random.default_rng(7).normal(size=(len(names), 100_000)), strict=True))
    inputs = {c: t.value + sum(size * draws[e] for e, size in t.effects.items()) for c, t in raw.items()}
    azimuth, elevation = seen(g, inputs)
    found = budget(g, raw)
    assert found.total.azimuth.u == pytest.approx(azimuth.std(ddof=1), rel=0.05)
    assert found.total.elevation.u == pytest.approx(elevation.std(ddof=1), rel=0.05)
    assert found.total.azimuth.value == pytest.approx(
        azimuth.mean(), abs=6 * azimuth.std() / sqrt(1e5) + 2e-3
    )


@pytest.mark.parametrize("g", ALL.values(), ids=ALL)
def test_correlations_as_the_uncertainties_library_has_them(g):
    """The same errors as ufloats, with gradients by numpy's differences of the other program."""
    raw = correlated(g)
    errors = {e: ufloat(0.0, 1.0) for t in raw.values() for e in t.effects}
    values = {c: t.value for c, t in raw.items()}
    total = {0: 0.0, 1: 0.0}
    for c, t in raw.items():
        more, less = (seen(g, {**values, c: values[c] + step}) for step in (0.05, -0.05))
        off = sum(size * errors[e] for e, size in t.effects.items())
        for axis in total:
            total[axis] += (more[axis][0] - less[axis][0]) / 0.1 * off
    found = budget(g, raw)
    assert found.total.azimuth.u == pytest.approx(total[0].s, rel=1e-4)
    assert found.total.elevation.u == pytest.approx(total[1].s, rel=1e-4)


def test_a_shared_zero_of_the_staff_is_no_error_of_the_aim():
    heights = {f"floor.{c}": Traced(0.0, {"zero": 5.0}) for c in CORNERS}
    feet = {f"floor.foot.{n}": Traced(0.0, {"zero": 5.0}) for n in (1, 2, 3)}
    assert budget(FRONT, heights | feet).total.elevation.u == pytest.approx(0, abs=1e-9)
    assert budget(FRONT, feet).total.elevation.u == pytest.approx(degrees(5 / 3000), rel=1e-3)


# --- the budget ----------------------------------------------------------------------------------


@any_of(cases)
def test_the_floor_against_the_wheels_says_the_same(case):
    g, raw = case
    same = over_wheels(g, {c: Traced(v) for c, v in raw.items()})
    assert not any(f"floor.{c}" in same for c in CORNERS)
    assert aim(g, {c: t.value for c, t in same.items()}) == pytest.approx(aim(g, raw), abs=1e-9)


@settings(max_examples=30)
@any_of(cases)
def test_causes_alone_and_together(case):
    g, raw = case
    traced = {c: Traced.of(c, Estimate(v, 1.0)) for c, v in raw.items()}
    groups = {"floor": tuple(f"floor.foot.{n + 1}" for n in range(len(g.feet))), "line": ("mark.front", "mark.rear"),
              "body": tuple(f"body.{c}" for c in CORNERS), "not measured": ("floor.foot.99",)}  # fmt: skip
    found = budget(g, traced, groups)
    causes = over_wheels(g, traced)
    assert found.aim == aim(g, {c: t.value for c, t in causes.items()})
    for name, effect in budget(g, traced).groups.items():
        alone = aim(g, {name: causes[name].value})
        assert (effect.azimuth.value, effect.elevation.value) == (alone.azimuth, alone.elevation)
    line = aim(g, {c: raw[c] for c in groups["line"]})
    assert found.groups["line"].azimuth.value == line.azimuth
    assert found.groups["not measured"].azimuth == Traced(0.0)
    assert found.worst("azimuth", 2.0) == pytest.approx(
        sum(abs(e.azimuth.value) + 2 * e.azimuth.u for e in found.groups.values())
    )


@any_of(cases)
def test_together_is_the_sum_of_the_parts_within_second_order(case):
    g, raw = case
    causes = over_wheels(g, {c: Traced(v / 10) for c, v in raw.items()})
    found = budget(g, causes)
    for axis in ("azimuth", "elevation"):
        parts = sum(e.on(axis).value for e in found.groups.values())
        assert found.total.on(axis).value == pytest.approx(parts, abs=0.02)


# --- limits of the trade -------------------------------------------------------------------------


@pytest.mark.parametrize("side", [1, -1])
def test_a_corner_radar_at_the_edge_of_what_the_trade_accepts(side):
    """-3.6 to +3.6 deg in azimuth, edges included (common practice, no published source)."""
    thrust = -side * 3.6
    exact = budget(CORNER, {"thrust": Traced(thrust)}).total.azimuth.estimate
    assert decide(exact.value, exact.u, -3.6, 3.6).call == "pass"
    measured = budget(CORNER, {"thrust": Traced.of("gauge", Estimate(thrust, 0.1))}).total.azimuth.estimate
    assert decide(measured.value, measured.u, -3.6, 3.6).call == "too_close"
    beyond = budget(CORNER, {"thrust": Traced(thrust * 1.001)}).total.azimuth.estimate
    assert decide(beyond.value, beyond.u, -3.6, 3.6).call == "fail"


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: aim(FRONT, {"floor.foot.4": 1.0}), "no cause named floor.foot.4"),
        (lambda: budget(FRONT, {"body.xx": Traced(1.0)}), "no cause named body.xx"),
        (lambda: budget(FRONT, {"floor.lf": Traced(1.0)}), "at all four wheels"),
        (lambda: replace(FRONT, marks=(0.0, 0.0)), "ahead of the rear"),
        (lambda: replace(FRONT, feet=()), "at least one foot"),
        (lambda: replace(FRONT, target=(3.5, 0.0, 0.0)), "straight above or below"),
        (lambda: replace(FRONT, target=(3.5004, 0.0, 0.0)), "straight above or below"),
        (lambda: aim(FRONT, {"tilt.along": 950.0}), "none that a car can stand on"),
    ],
)
def test_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
