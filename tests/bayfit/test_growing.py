"""A place pulled apart at its middle, and the least growth that does.

Outside reference: shapely (GEOS) cuts the place along the line, moves one half and joins them with the swept line.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import MultiPoint, Polygon, affinity, box, union_all

from readiness.bayfit.growing import MOST, grown, needed
from readiness.job import Disc, Obstacle, Point, Segment, Standing
from readiness.measure.plan import Area
from tests.bayfit.places import block, box_bay

TURN = {"ahead": 0.0, "left": 90.0, "behind": 180.0, "right": 270.0}
ways = st.sampled_from(sorted(TURN))
by = st.floats(0.01, 8.0)


def corners(bay):
    return [(p.x, p.y) for p in bay.outline]


def pulled_by_shapely(polygon, heading, length):
    """Turn so that the way out is x, cut at the middle of the extent, move, join by the swept line."""
    flat = affinity.rotate(polygon, -heading, origin=(0, 0))
    x1, _, x2, _ = flat.bounds
    cut, far = (x1 + x2) / 2, 1e3
    near_half = flat.intersection(box(-far, -far, cut, far))
    far_half = affinity.translate(flat.intersection(box(cut, -far, far, far)), length)
    line = flat.intersection(box(cut - 1e-9, -far, cut + 1e-9, far))
    strips = [box(cut, p.bounds[1], cut + length, p.bounds[3]) for p in getattr(line, "geoms", [line])]
    return affinity.rotate(union_all([near_half, far_half, *strips]), heading, origin=(0, 0))


@st.composite
def star_bays(draw):
    """Bays of any shape seen whole from one place, concave ones too."""
    n = draw(st.integers(3, 9))
    radii = [draw(st.floats(1.0, 6.0)) for _ in range(n)]
    ring = [
        (r * math.cos(2 * math.pi * k / n), r * math.sin(2 * math.pi * k / n)) for k, r in enumerate(radii)
    ]
    usual = Standing(x=0.0, y=0.0, heading=draw(st.floats(-180, 180)))
    return replace(box_bay(1, 1), outline=tuple(Point(x=x, y=y) for x, y in ring), standing=usual)


@given(star_bays(), ways, by)
def test_the_outline_is_cut_and_pulled_apart(bay, way, length):
    place = Polygon(corners(bay))
    assume(place.is_valid)
    expected = pulled_by_shapely(place, bay.standing.heading + TURN[way], length)
    found = Polygon(corners(grown(bay, way, length)))
    assert found.is_valid
    # where a corner lies on the line it is cut some mm beside it
    within = 0.02 * length if at_the_middle(place, bay.standing.heading + TURN[way]) else 1e-5
    assert found.symmetric_difference(expected).area == pytest.approx(0.0, abs=within)


def at_the_middle(polygon, heading) -> bool:
    flat = affinity.rotate(polygon, -heading, origin=(0, 0))
    middle = (flat.bounds[0] + flat.bounds[2]) / 2
    return any(abs(x - middle) < 1e-3 for x, _ in flat.exterior.coords)


@pytest.mark.parametrize("way", sorted(TURN))
@pytest.mark.parametrize(
    "ring",
    [
        [(0, 0), (8, 0), (8, 3), (4, 3), (4, 6), (0, 6)],
        [(0, 0), (8, 0), (8, 6), (5, 6), (4, 3), (3, 6), (0, 6)],
        [(4, 0), (8, 3), (4, 6), (0, 3)],
        [(0, 0), (8, 0), (8, 6), (4, 6), (4, 5), (4, 4), (4, 3), (0, 3)],
    ],
    ids=["an angle", "a tip that comes to the middle", "a lozenge", "a wall along the middle"],
)
def test_a_corner_at_the_very_middle_is_no_trouble(way, ring):
    """A place and a bench with a corner where both are cut."""
    bench = Obstacle(name="bench", polygon=tuple(Point(x=0.1 * x, y=0.1 * y) for x, y in ring))
    bay = replace(
        box_bay(8, 6), outline=tuple(Point(x=x, y=y) for x, y in ring), standing=Standing(x=1, y=1), obstacles=(bench,)
    )  # fmt: skip
    for length in (0.01, 2.0):
        after = grown(bay, way, length)
        for points in (after.outline, after.obstacles[0].polygon):
            Area(tuple((p.x, p.y) for p in points))
        assert Polygon(corners(after)).area > Polygon(ring).area


@pytest.mark.parametrize(
    ("way", "outline"),
    [
        ("ahead", [(0, 0), (10, 0), (10, 4), (0, 4)]),
        ("behind", [(-2, 0), (8, 0), (8, 4), (-2, 4)]),
        ("left", [(0, 0), (8, 0), (8, 6), (0, 6)]),
        ("right", [(0, -2), (8, -2), (8, 4), (0, 4)]),
    ],
)
def test_a_rectangle_grows_at_that_wall(way, outline):
    found = Polygon(corners(grown(box_bay(8, 4), way, 2.0)))
    assert found.symmetric_difference(Polygon(outline)).area == pytest.approx(0.0, abs=1e-9)


def places(thing):
    """All points that draw a thing."""
    if thing.rectangle:
        return [thing.rectangle.corner, thing.rectangle.opposite]
    if thing.disc:
        return [thing.disc.at]
    if thing.wall:
        return [thing.wall.start, thing.wall.end]
    return list(thing.polygon or (thing.point,))


def xs_after(thing, way="ahead", length=2.0):
    [moved] = grown(box_bay(8, 4, thing), way, length).obstacles
    return [p.x for p in places(moved)]


def test_what_stands_against_the_far_wall_goes_with_it():
    assert xs_after(block("bench", 7.3, 1, 7.9, 3)) == [9.3, 9.9]
    assert xs_after(Obstacle(name="post", point=Point(x=7.85, y=2))) == [9.85]
    assert xs_after(Obstacle(name="reel", disc=Disc(at=Point(x=7.5, y=2), radius=0.4))) == [9.5]


def test_all_else_stays_where_it_is():
    assert xs_after(block("column", 5, 1, 5.5, 1.5)) == [5, 5.5]
    assert xs_after(block("shelf", 5, 0, 7, 0.4)) == [5, 7]  # against a side wall that only grows
    assert xs_after(block("bench", 7.3, 1, 7.75, 3)) == [7.3, 7.75]  # farther than 0.2 m from the wall
    assert xs_after(block("bench", 7.3, 1, 7.9, 3), "behind") == [7.3, 7.9]


def test_a_pipe_along_the_place_grows_with_it():
    pipe = Obstacle(name="pipe", wall=Segment(start=Point(x=0, y=3.9), end=Point(x=8, y=3.9)))
    assert xs_after(pipe) == [0, 10]
    assert xs_after(pipe, "behind") == [-2, 8]


def test_a_polygon_in_the_far_corner_goes_with_the_wall():
    chest = Obstacle(name="chest", polygon=tuple(Point(x=x, y=y) for x, y in ((7, 3), (8, 3), (8, 4))))
    assert xs_after(chest) == [9, 10, 10]


# --- the least growth ----------------------------------------------------------------------------


def size(bay):
    x1, y1, x2, y2 = MultiPoint(corners(bay)).bounds
    return x2 - x1, y2 - y1


cm = st.integers(1, 900)


@given(cm, st.floats(0.0, 12.0))
def test_longer_alone_to_the_centimetre_up(short, guess):
    least = 8.0 + short / 100 - 0.004
    need = needed(box_bay(8, 4), lambda b: size(b)[0] >= least, guess)
    assert (need.longer, need.wider, need.both) == (pytest.approx(short / 100), None, None)
    assert (need.end, need.hand) == ("ahead", None)


@given(cm, cm, st.floats(0.0, 3.0))
def test_longer_and_wider_together(long, wide, guess):
    def fits(bay):
        return size(bay)[0] >= 8 + long / 100 - 0.004 and size(bay)[1] >= 4 + wide / 100 - 0.004

    need = needed(box_bay(8, 4), fits, guess)
    assert (need.longer, need.wider) == (None, None)
    assert need.both == (pytest.approx(long / 100), pytest.approx(wide / 100))


def test_either_would_do():
    need = needed(box_bay(8, 4), lambda b: size(b)[0] >= 8.5 or size(b)[1] >= 4.25, 0.1)
    assert (need.longer, need.wider) == (0.5, 0.25)


@pytest.mark.parametrize(("end", "hand"), [("behind", "right"), ("ahead", "left")])
def test_only_at_one_wall(end, hand):
    """Length counts only at one end, width only at one side."""

    def fits(bay):
        x1, y1, x2, y2 = MultiPoint(corners(bay)).bounds
        far = {"ahead": x2 - 8, "behind": -x1, "left": y2 - 4, "right": -y1}
        return far[end] >= 0.3 - 1e-9 or far[hand] >= 0.4 - 1e-9

    need = needed(box_bay(8, 4), fits, 0.2)
    assert (need.longer, need.wider, need.end, need.hand) == (0.3, 0.4, end, hand)


def test_no_size_helps():
    for least in (math.inf, 8 + MOST + 0.001):
        need = needed(box_bay(8, 4), lambda b, least=least: size(b)[0] >= least, 0.2)
        assert (need.longer, need.wider, need.both) == (None, None, None)


def test_few_questions_where_the_guess_is_good():
    asked = []

    def fits(bay):
        asked.append(size(bay))
        return size(bay)[0] >= 8.3 - 1e-6

    assert needed(box_bay(8, 4), fits, 0.2991).longer == 0.3
    assert len(asked) <= 6  # most, guess, one less; the other end at one less; both sides at most
