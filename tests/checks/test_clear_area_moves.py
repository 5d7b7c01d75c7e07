"""Clear area: the advised move frees a thing from every zone, stays in the bay and out of the car, and is the least.

The law: what is told in the remedy is entered as the thing's new place, and every part of it passes. No outside
reference for the advice itself is known; shapely (GEOS) says where the moved thing stands, and a search of all
whole centimetres that no shorter straight move would have done.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given as law
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import Point as Dot
from shapely import Polygon, box

from readiness.job import Corridor, Point, Rectangle, Sector, Zone
from tests.checks.areas import BARE, BOX, DISC, PATH, area, bay, bin_at, post, sheet
from tests.scenes import judged, part

SIGN = {"forward": (1, 0), "backward": (-1, 0), "to the left": (0, 1), "to the right": (0, -1)}
CAR = box(-1.0, -0.91, 3.6, 0.91)
"""The body of the tests' sheet; the nose is a little less."""
FORK = Zone(id="fork", polygon=tuple(
    Point(x=x, y=y) for x, y in ((-5, 1), (-2, 1), (-2, 1.3), (-4.5, 1.3), (-4.5, 3.5), (-2, 3.5), (-2, 3.8), (-5, 3.8))
))  # fmt: skip
"""A concave zone: out of its back, straight ahead leads into the gap between its prongs."""
SLICE = Zone(id="slice", sector=Sector(at=Point(x=-0.8, y=0.7), radius=3.0, start=120, end=230))
FLANK = Zone(id="flank", corridor=Corridor(start=Point(x=-5, y=2.9), end=Point(x=3, y=2.9), half_width=0.2))
SETS = (
    (DISC,),
    (PATH,),
    (BOX,),
    (DISC, PATH, BOX),
    (FORK,),
    (SLICE, DISC),
    (DISC, FLANK),
    (FORK, PATH, FLANK),
)


def moves(remedy):
    """The move of a remedy as (dx, dy) in m; None where it says to take the thing away."""
    told = re.match(r"Move .* at least (.*?), or take it out of the area, ", remedy)
    if not told:
        assert re.match(r"Take .* out of the area, then ", remedy), remedy
        return None
    steps = re.findall(r"([\d.]+) m (forward|backward|to the left|to the right)", told[1])
    assert 1 <= len(steps) <= 2
    return tuple(sum(float(d) * SIGN[way][axis] for d, way in steps) for axis in (0, 1))


def parts_of(judgement):
    return [p for p in judgement.parts if p.key == "other.1" or p.key.endswith("/other.1")]


OUTLINES = (
    ((-6, -5), (9, -5), (9, 5), (-6, 5)),
    ((-4.6, -3), (4, -3), (4, 3.4), (-4.6, 3.4)),
    ((-6, -5), (4, -5), (4, 2), (-1.5, 2), (-1.5, 4), (-6, 4)),
)
around = st.tuples(
    st.floats(-4.4, 1.0).map(lambda v: round(v, 3)), st.floats(0.2, 3.2).map(lambda v: round(v, 3))
)


@settings(max_examples=150)
@law(
    around,
    st.sampled_from(["0.3 m", "0.05 m"]),
    st.sampled_from(SETS),
    st.sampled_from(OUTLINES),
    st.sampled_from(["left", "right"]),
)
def test_after_the_advised_move_every_part_passes(at, radius, zones, outline, side):
    flip = -1 if side == "right" else 1
    x, y = at[0], flip * at[1]
    around_it = {
        "zones": zones, "side": side,
        "outline": tuple(Point(x=a, y=b * flip) for a, b in outline),
    }  # fmt: skip
    before = area(answers=bin_at(x, y, radius=radius), **around_it)
    wrong = [p for p in parts_of(before) if p.outcome != "pass"]
    assert all(p.remedy == wrong[0].remedy for p in wrong)
    move = moves(wrong[0].remedy) if wrong else None
    if move is None:
        return
    there = x + move[0], y + move[1]
    after = parts_of(area(answers=bin_at(*there, radius=radius), **around_it))
    assert [p.outcome for p in after] == ["pass"] * len(after)
    r = float(radius.split()[0])
    bay, old, new = Polygon([(a, b * flip) for a, b in outline]), Dot(x, y), Dot(there)
    if CAR.distance(old) > r:
        assert CAR.distance(new) > r - 0.01  # the body's nose is drawn with its corners cut
    if bay.contains(old) and bay.exterior.distance(old) >= r:
        assert bay.contains(new)
        assert bay.exterior.distance(new) >= r - 1e-6


@settings(max_examples=60)
@law(around, st.sampled_from(SETS))
def test_no_shorter_straight_move_would_do(at, zones):
    """Every whole centimetre forward, backward, left and right up to the advised way, one by one."""
    before = area(answers=bin_at(*at), zones=zones)
    wrong = [p for p in parts_of(before) if p.outcome != "pass"]
    move = moves(wrong[0].remedy) if wrong else None
    if move is None:
        return
    length = max(abs(d) for d in move) if 0.0 in move else (move[0] ** 2 + move[1] ** 2) ** 0.5
    for dx, dy in SIGN.values():
        for cm in {max(1, round(100 * length) - k) for k in (1, 2, 5, 20)}:
            there = at[0] + dx * cm / 100, at[1] + dy * cm / 100
            if cm / 100 < length - 1e-9 and CAR.distance(Dot(there)) > 0:
                again = parts_of(area(answers=bin_at(*there), zones=zones))
                assert any(p.outcome != "pass" for p in again), (move, dx, dy, cm)


def test_out_of_one_zone_is_not_into_the_next():
    # 0.05 m inside the disc's left edge: 0.1 + 0.3 + guard to the left alone, but there the flank begins at y = 2.7
    alone = part(area(answers=bin_at(-3.0, 2.45), zones=(DISC,)), "other.1").remedy
    both = part(area(answers=bin_at(-3.0, 2.45), zones=(DISC, FLANK)), "other.1").remedy
    assert moves(alone)[1] == pytest.approx(0.39, abs=0.011)
    move = moves(both)
    after = parts_of(area(answers=bin_at(-3.0 + move[0], 2.45 + move[1]), zones=(DISC, FLANK)))
    assert {p.outcome for p in after} == {"pass"}
    assert move != moves(alone)


def test_out_of_a_slanted_zone_straight_across_it_is_shorter():
    # 0.2 m beside the middle of a corridor at 45 degrees, 0.5 m wide either way: 0.3 m to its edge and 0.3 m margin,
    # with 1.645 x 0.0232 m (tapes, axes and middle by eye): 0.638 m, which is 0.46 m forward and to the right
    slanted = Zone(
        id="slanted", corridor=Corridor(start=Point(x=-6, y=0), end=Point(x=-2, y=4), half_width=0.5)
    )
    half = 0.2 / 2**0.5
    remedy = part(area(answers=bin_at(-4.0 + half, 2.0 - half), zones=(slanted,)), "other.1").remedy
    assert moves(remedy) == (pytest.approx(0.46), pytest.approx(-0.46))


def test_a_thing_stays_on_its_own_side_of_the_wall():
    # the bay ends 0.2 m left of the disc: the short way out leads through the wall
    outline = tuple(Point(x=x, y=y) for x, y in ((-6, -5), (9, -5), (9, 2.7), (-6, 2.7)))
    _, dy = moves(part(area(answers=bin_at(-3.0, 2.4), outline=outline), "other.1").remedy)
    assert 2.4 + dy <= 2.7


def test_a_thing_is_not_moved_into_what_is_fixed():
    bench = post(0, 0, "bench", metal="no")
    wall = replace(
        bench, point=None, rectangle=Rectangle(corner=Point(x=-4, y=2.7), opposite=Point(x=-2, y=3.5))
    )
    free = moves(part(area(answers=bin_at(-3.0, 2.4, radius="0.1 m")), "other.1").remedy)
    barred = moves(part(area(wall, answers=bin_at(-3.0, 2.4, radius="0.1 m")), "other.1").remedy)
    assert free[0] == 0.0
    assert free[1] == pytest.approx(0.54, abs=0.02)
    at = Dot(-3.0 + barred[0], 2.4 + barred[1])
    assert box(-4, 2.7, -2, 3.5).distance(at) > 0.1
    movable = area(replace(wall, fixed=False), answers=bin_at(-3.0, 2.4, radius="0.1 m"))
    assert moves(part(movable, "other.1").remedy) == free


def test_out_of_the_zones_of_both_sides_where_both_are_done():
    """A trolley between two mirrored zones: to the right is the shorter way, and leads into the right one."""
    near = Zone(id="near", rectangle=Rectangle(corner=Point(x=-6, y=0.2), opposite=Point(x=-1.5, y=3)))
    answers = {**bin_at(-3.0, 0.3), "other.1.more": "n"}
    around_it = {"sheet": sheet(near), "bay": bay(), "side": "left"}
    one = part(judged(BARE, answers, sides=("left",), **around_it), "other.1").remedy
    both = part(judged(BARE, answers, sides=("left", "right"), **around_it), "other.1").remedy
    assert moves(one)[1] == pytest.approx(-0.44, abs=0.03)
    dx, dy = moves(both)
    there = {**bin_at(-3.0 + dx, 0.3 + dy), "other.1.more": "n"}
    for side in ("left", "right"):
        j = judged(BARE, there, sides=("left", "right"), sheet=sheet(near), bay=bay(), side=side)
        assert {p.outcome for p in parts_of(j)} == {"pass"}


def test_where_no_move_of_three_metres_does_it_is_taken_away():
    wide = Zone(id="wide", rectangle=Rectangle(corner=Point(x=-5.9, y=-4.9), opposite=Point(x=8.9, y=4.9)))
    p = part(area(answers=bin_at(-3.0, 1.0), zones=(wide,)), "other.1")
    assert p.remedy == "Take the bin out of the area, then say so here."


def test_a_thing_of_the_bay_is_said_to_have_moved():
    p = part(area(post(-3.0, 2.4, fixed=False)), "disc/bay.1")
    assert p.remedy.endswith("or take it out of the area, then say here that it was moved.")
