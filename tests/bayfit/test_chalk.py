"""The tapes that chalk a place: worked back by least squares (scipy), and which marks and wheels are taken."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.optimize import least_squares

from readiness.bayfit.chalk import chalk
from readiness.checks.car import wheel_places
from readiness.job import HeightBand, Mark, Point, Standing
from tests.bayfit.places import bay_of, block, box_bay, car

CAR = car()


def mark_places(bay):
    named = {m.name: (m.at.x, m.at.y) for m in bay.marks}
    return {**{f"corner {n}": (p.x, p.y) for n, p in enumerate(bay.outline, 1)}, **named}


def lengths(bay, tapes, pose):
    x, y, h = pose
    places, wheels = mark_places(bay), wheel_places(CAR)
    for t in tapes:
        wx, wy = wheels[t.wheel]
        at = (x + wx * math.cos(h) - wy * math.sin(h), y + wx * math.sin(h) + wy * math.cos(h))
        yield math.dist(at, places[t.mark])


def stands_at(bay, tapes, start):
    """Where a car stands by its tapes, beginning the search at `start`."""
    told = np.array([t.length for t in tapes])
    found = least_squares(
        lambda p: np.array(list(lengths(bay, tapes, p))) - told, start, xtol=1e-14, ftol=1e-14
    )
    return found.x, np.max(np.abs(found.fun))


standings = st.builds(
    lambda x, y, h: Standing(x=x, y=y, heading=h),
    st.floats(2.5, 6.0), st.floats(1.5, 3.5), st.one_of(st.floats(-4, 4), st.floats(176, 184)),
)  # fmt: skip


@given(standings, st.booleans())
def test_the_place_comes_back_from_the_tapes(standing, marked):
    marks = (Mark(name="nail", at=Point(x=0.0, y=0.4)), Mark(name="post", at=Point(x=0.0, y=4.7)))
    bay = box_bay(10, 5, marks=marks if marked else ())
    tapes = chalk(CAR, bay, standing).tapes
    true = (standing.x, standing.y, math.radians(standing.heading))
    (x, y, h), misfit = stands_at(bay, tapes, [true[0] + 0.1, true[1] - 0.1, true[2] + 0.05])
    assert misfit <= 0.0006  # rounded to whole mm
    # four tapes may be rounded by half a mm each the worst way
    assert (x, y) == pytest.approx((standing.x, standing.y), abs=0.0025)
    assert h == pytest.approx(true[2], abs=0.001)


@pytest.mark.parametrize(
    "standing",
    [Standing(x=2.0, y=2.5), Standing(x=3.2, y=1.6, heading=2.0), Standing(x=7.0, y=2.1, heading=179.0)],
)
def test_the_place_comes_back_within_a_millimetre(standing):
    bay = box_bay(10, 5)
    (x, y, _), _ = stands_at(
        bay, chalk(CAR, bay, standing).tapes, [standing.x, standing.y, math.radians(standing.heading)]
    )
    assert (x, y) == pytest.approx((standing.x, standing.y), abs=0.001)


@given(standings)
def test_no_other_place_in_the_bay_has_these_tapes(standing):
    """From any start the search ends at the place, or with a wheel outside the bay, or where no tape fits."""
    bay = box_bay(10, 5)
    told = chalk(CAR, bay, standing)
    assert told.side == ""
    for start in (
        (2, 1, 0),
        (2, 4, 3),
        (8, 1, 3),
        (8, 4, 0),
        (5, -3, 0),
        (5, 8, 3),
        (-4, 2, 1.5),
        (14, 2, 4.7),
    ):
        (x, y, h), misfit = stands_at(bay, told.tapes, start)
        if misfit > 0.002 or math.dist((x, y), (standing.x, standing.y)) < 0.01:
            continue
        wheels = [
            (x + wx * math.cos(h) - wy * math.sin(h), y + wx * math.sin(h) + wy * math.cos(h))
            for wx, wy in wheel_places(CAR).values()
        ]
        assert any(not (0 < wx < 10 and 0 < wy < 5) for wx, wy in wheels)


@given(standings)
def test_four_tapes_two_marks_two_wheels_in_whole_mm(standing):
    tapes = chalk(CAR, box_bay(10, 5), standing).tapes
    assert len({(t.mark, t.wheel) for t in tapes}) == 4
    assert len({t.mark for t in tapes}) == len({t.wheel for t in tapes}) == 2
    assert all(t.length == round(t.length, 3) <= 10.0 for t in tapes)
    places, wheels = mark_places(box_bay(10, 5)), wheel_places(CAR)
    for w in {t.wheel for t in tapes}:  # the tapes meet at the wheel at 25 to 155 degrees
        a, b = (t.length for t in tapes if t.wheel == w)
        m, n = (places[t.mark] for t in tapes if t.wheel == w)
        cosine = (a * a + b * b - math.dist(m, n) ** 2) / (2 * a * b)
        assert abs(cosine) < math.cos(math.radians(25.0))
    assert set(wheels) >= {t.wheel for t in tapes}


def test_a_mirrored_bay_has_the_mirrored_tapes():
    left = chalk(CAR, box_bay(10, 5), Standing(x=3.0, y=2.0, heading=2.0))
    right = chalk(CAR, box_bay(10, 5), Standing(x=3.0, y=3.0, heading=-2.0))
    swapped = {"corner 1": "corner 4", "corner 4": "corner 1", "corner 2": "corner 3", "corner 3": "corner 2"}
    mirrored = {
        (swapped[t.mark], {"l": "r", "r": "l"}[t.wheel[0]] + t.wheel[1], t.length) for t in left.tapes
    }
    assert {(t.mark, t.wheel, t.length) for t in right.tapes} == mirrored


def test_no_tape_runs_through_what_stands_on_the_floor():
    """A cabinet stands in the corner by the rear wheels."""
    standing = Standing(x=2.0, y=2.5)
    free = {t.mark for t in chalk(CAR, box_bay(10, 5), standing).tapes}
    assert free == {"corner 1", "corner 4"}
    cabinet = block("cabinet", 0.0, 0.0, 0.6, 0.6)
    assert "corner 1" not in {t.mark for t in chalk(CAR, box_bay(10, 5, cabinet), standing).tapes}
    low = replace(cabinet, height=HeightBand(low=0.0, high=0.01))
    assert {t.mark for t in chalk(CAR, box_bay(10, 5, low), standing).tapes} == free


def test_no_tape_leaves_the_bay_round_a_corner():
    """The short leg of an L: its own corners are seen, those at the end of the long leg are not."""
    bay = bay_of(
        (0, 0), (12, 0), (12, 3), (4, 3), (4, 9), (0, 9), standing=Standing(x=2.0, y=7.5, heading=-90)
    )
    assert {t.mark for t in chalk(CAR, bay, bay.standing).tapes} <= {
        "corner 4",
        "corner 5",
        "corner 6",
        "corner 1",
    }


def test_marks_in_the_open_say_on_which_side():
    """Two nails in the middle of the floor: the tapes would meet on both sides of the line between them."""
    marks = (Mark(name="A", at=Point(x=2.0, y=3.0)), Mark(name="B", at=Point(x=6.0, y=3.0)))
    bay = box_bay(10, 6, marks=marks)
    left = chalk(CAR, bay, Standing(x=3.0, y=4.5))
    right = chalk(CAR, bay, Standing(x=3.0, y=1.5))
    assert {t.mark for t in left.tapes} == {"A", "B"}
    assert [t.mark for t in left.tapes] == ["A", "B", "A", "B"]
    assert (left.side, right.side) == ("left", "right")


def test_marks_in_one_line_with_the_wheels_give_way_to_corners():
    """Two nails under the car on its middle line, close together: useless to lay it out by."""
    marks = (Mark(name="A", at=Point(x=9.0, y=2.5)), Mark(name="B", at=Point(x=9.5, y=2.5)))
    told = chalk(CAR, box_bay(10, 5, marks=marks), Standing(x=2.0, y=2.5))
    assert {t.mark for t in told.tapes} == {"corner 1", "corner 4"}
