"""Where a set of shapes fits best: cases with closed answers, the certificate, refusals, and ending a search."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.measure.plan import (
    Area,
    BoxAt,
    Capsule,
    DiscAt,
    PointAt,
    SectorAt,
    SegmentAt,
    moved,
    reach_beyond,
    signed_clearance,
)
from readiness.measure.poses import TOLERANCE, Apart, Cancelled, Moving, Pose, best_pose, fits, spare
from tests.measure.bays import a_bay
from tests.outside import given as outside

L_PLACE = Area(((0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)))
U_PLACE = Area(((0, 0), (7, 0), (7, 5), (5, 5), (5, 2), (2, 2), (2, 5), (0, 5)))
"""Two arms 2 wide beside a recess 3 wide and 3 deep, above a strip 2 wide."""


def box(width: float, height: float) -> Area:
    return Area(((0, 0), (width, 0), (width, height), (0, height)))


def square(side: float) -> BoxAt:
    return BoxAt(-side / 2, -side / 2, side / 2, side / 2)


def turned_square_spare(degrees: float) -> float:
    """Square of side 1 in one of side 2: half its width across corners is (cos + sin) / 2."""
    t = math.radians(degrees)
    return 1 - (math.cos(t) + math.sin(t)) / 2


THREE_DISCS = tuple(Apart(0, DiscAt(x, y, 1.0)) for x, y in ((0, 0), (4, 0), (2, 2 * math.sqrt(3))))

# the place, what moves, the pairs, headings, spare room
CLOSED = [
    outside("disc-in-rectangle", "plane geometry", "hand", box(6, 4), [Moving(DiscAt(3, 1, 1.0))], (), (-3, 3), 1.0),
    outside("disc-with-margin", "plane geometry", "hand", box(6, 4), [Moving(DiscAt(0, 0, 1.0), 0.25)], (), (0, 0), 0.75),
    outside("disc-too-large", "plane geometry", "hand", box(6, 1.5), [Moving(DiscAt(0, 0, 1.0))], (), (-3, 3), -0.25),
    outside("corridor-between-walls", "plane geometry", "hand", box(10, 6), [Moving(Capsule(1, 0, 4, 0, 0.5))],
            [Apart(0, SegmentAt(0, y, 10, y), 0.1) for y in (1.9, 4.1)], (-3, 3), 0.5),
    # beside a wall: of 2.2 are left, after its width, the gap and what is asked to the edge, two halves of 1
    outside("corridor-beside-walls", "plane geometry", "hand", box(10, 6), [Moving(Capsule(1, 0, 4, 0, 0.5), 0.1)],
            [Apart(0, SegmentAt(0, y, 10, y), 0.1) for y in (2.2, 3.8)], (-3, 3), 0.5),
    outside("square-straight", "plane geometry", "hand", box(2, 2), [Moving(square(1))], (), (-3, 3), 0.5),
    outside("square-turned-30", "plane geometry", "hand", box(2, 2), [Moving(square(1))], (), (30, 30), turned_square_spare(30)),
    outside("square-40-to-50", "plane geometry", "hand", box(2, 2), [Moving(square(1))], (), (40, 50), turned_square_spare(40)),
    outside("square-20-to-60", "plane geometry", "hand", box(2, 2), [Moving(square(1))], (), (20, 65), turned_square_spare(20)),
    outside("square-any-heading", "plane geometry", "hand", box(2, 2), [Moving(square(1))], (), (0, 360), 0.5),
    outside("rod-on-the-diagonal", "plane geometry", "hand", box(3, 3), [Moving(SegmentAt(0, 0, 2, 0))], (), (40, 46), 1.5 - math.sqrt(0.5)),
    # the largest circle between three equal circles that stand 4 apart touches all: 4 / sqrt 3 - 1
    outside("disc-among-three", "plane geometry", "hand", Area(((0, 0), (4, 0), (2, 2 * math.sqrt(3)))),
            [Moving(DiscAt(7, 7, 0.3), -0.2)], THREE_DISCS, (-180, 180), 4 / math.sqrt(3) - 1.3),
    outside("disc-in-elbow", "plane geometry", "hand", L_PLACE, [Moving(DiscAt(0, 0, 1.0))], (), (0, 0), 4 / (2 + math.sqrt(2)) - 1),
    # in a lower corner, 2 - sqrt 2 from both walls and from the corner of the recess
    outside("square-in-elbow", "plane geometry", "hand", U_PLACE, [Moving(square(1))], (), (-3, 3), 2 - math.sqrt(2)),
    outside("quarter-disc-in-square", "plane geometry", "hand", box(3, 3), [Moving(SectorAt(0, 0, 2, 0, 90))], (), (0, 0), 0.5),
    outside("nothing-but-a-point", "plane geometry", "hand", box(4, 2), [Moving(PointAt(5, 5))], [], (0, 90), 1.0),
]  # fmt: skip


@pytest.mark.parametrize(("place", "moving", "apart", "headings", "room"), CLOSED)
def test_the_best_is_the_closed_answer(place, moving, apart, headings, room):
    found = best_pose(place, moving, apart, *headings)
    assert found.spare == pytest.approx(room, abs=TOLERANCE)
    assert found.spare - 1e-9 <= room <= found.bound + 1e-9
    assert found.bound - found.spare <= TOLERANCE
    assert spare(place, moving, apart, found.pose)[0] == found.spare
    assert headings[0] - 1e-9 <= found.pose.heading <= headings[1] + 1e-9
    assert (fits(place, moving, apart, *headings) is not None) == (room > 0)


@pytest.mark.parametrize("side", [1.02, 1.1, 1.25, 1.4])
def test_a_square_turns_in_a_square_up_to_its_critical_angle(side):
    """Plane geometry: a unit square turned by t is cos t + sin t across, so that it fits up to sin 2t = side^2 - 1."""
    critical = math.degrees(math.asin(side**2 - 1) / 2)
    place, moving = box(side, side), [Moving(square(1))]
    assert fits(place, moving, (), critical + 0.2, 45.0) is None
    assert fits(place, moving, (), critical - 0.2, 45.0) is not None
    assert best_pose(place, moving, (), critical + 0.2, 45.0, tolerance=0.0002).bound < 0


@pytest.mark.parametrize("width", [1.99, 2.01])
def test_what_fits_in_the_hull_of_a_place_only_does_not_fit(width):
    place = Area(((0, 0), (6, 0), (6, 2), (4, 2), (4, width), (2, width), (2, 2), (0, 2)))
    found = best_pose(place, [Moving(BoxAt(0, 0, 5.9, 1.995))], (), -1, 1)
    assert (found.spare > 0) == (width > 2)


def test_a_recess_of_the_place_is_not_part_of_it():
    """A square of 2.5 finds room in the recess (3 x 3) only, and that is outside."""
    found = best_pose(U_PLACE, [Moving(square(2.5))], (), -3, 3)
    assert found.bound < 0
    assert fits(U_PLACE, [Moving(square(2.5))], (), -180, 180) is None


@pytest.mark.parametrize("heading", [0.0, 20.0, 45.0])
def test_what_is_far_too_large_is_still_put_where_least_of_it_is_outside(heading):
    """Plane geometry: 8 in 4 reaches out by 2 on either side; a post that must stay clear drives it into a corner."""
    place = moved(box(4, 4), 1, 1, heading)
    assert isinstance(place, Area)
    post = moved(PointAt(2, 2), 1, 1, heading)
    alone = best_pose(place, [Moving(square(8))], (), heading, heading)
    assert alone.spare == pytest.approx(-2.0, abs=TOLERANCE)
    driven = best_pose(place, [Moving(square(8))], [Apart(0, post)], heading, heading)
    # pushed by s from the middle it reaches out 2 + s, and the post is 4 - s deep
    assert driven.spare == pytest.approx(-3.0, abs=TOLERANCE)


def test_what_binds_is_named_tightest_first():
    place, wall = box(6, 4), SegmentAt(0, 3, 6, 3)
    moving = [Moving(DiscAt(0, 0, 0.5)), Moving(PointAt(0, 0))]
    found = best_pose(place, moving, [Apart(1, DiscAt(3, 9, 1.0)), Apart(0, wall, 0.2)], 0, 0)
    assert found.spare == pytest.approx((3 - 1 - 0.2) / 2, abs=TOLERANCE)
    assert set(found.binding) == {1, -1}
    room, (on_disc, on_edge), which = spare(place, moving, [Apart(0, wall, 0.2)], Pose(3, 1.2, 30))
    assert (room, which) == (pytest.approx(0.7), -1)
    assert (on_disc, on_edge) == (pytest.approx((3, 0.7)), pytest.approx((3, 0)))


def test_beyond_the_edge_the_place_that_reaches_farthest_is_named():
    room, (tip, foot), which = spare(box(6, 4), [Moving(DiscAt(0, 0, 0.5))], (), Pose(5.9, 2, 0))
    assert (room, which) == (pytest.approx(-0.4), -1)
    assert (tip, foot) == (pytest.approx((6.4, 2)), pytest.approx((6, 2)))


# --- one pose ------------------------------------------------------------------------------------

poses = st.builds(Pose, st.floats(-2, 12), st.floats(-2, 9), st.floats(-180, 180))


def of_shapely(shape, arc: int = 512):
    if isinstance(shape, SectorAt):
        t = [math.radians(shape.start + shape.angle * k / arc) for k in range(arc + 1)]
        return shapely.Polygon([(shape.x, shape.y), *((shape.x + shape.radius * math.cos(a), shape.y + shape.radius * math.sin(a)) for a in t)])  # fmt: skip
    core = {1: shapely.Point, 2: shapely.LineString}.get(len(shape.core), shapely.Polygon)(*(shape.core if len(shape.core) == 1 else (shape.core,)))  # fmt: skip
    return core.buffer(shape.round_by, quad_segs=256) if shape.round_by else core


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 60), pose=poses)
def test_spare_room_has_the_sign_and_size_that_shapely_finds(seed, pose):
    bay = a_bay(seed, 6)
    edge = of_shapely(bay.place)
    here = [of_shapely(moved(m.shape, pose.x, pose.y, pose.heading)) for m in bay.moving]
    rooms = [(shape.distance(edge.exterior) if edge.covers(shape) else -1.0) - m.inside for shape, m in zip(here, bay.moving, strict=True)]  # fmt: skip
    clear = [here[a.moving].distance(of_shapely(a.still)) - a.gap for a in bay.apart]
    outer = min(rooms + clear)
    room = bay.spare(pose)
    if min(*(r + m.inside for r, m in zip(rooms, bay.moving, strict=True)), *(c + a.gap for c, a in zip(clear, bay.apart, strict=True))) > 0:  # fmt: skip
        assert room == pytest.approx(outer, abs=1e-4)
    else:
        assert room < 1e-4


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 60), pose=poses)
def test_spare_room_of_a_pose_that_fits_is_that_of_the_plan(seed, pose):
    bay = a_bay(seed, 6)
    here = [moved(m.shape, pose.x, pose.y, pose.heading) for m in bay.moving]
    edges = [-reach_beyond(shape, bay.place) for shape in here]
    clear = [signed_clearance(here[a.moving], a.still) for a in bay.apart]
    room = bay.spare(pose)
    if min(edges + clear) >= 0:
        asked = [m.inside for m in bay.moving] + [a.gap for a in bay.apart]
        assert room == pytest.approx(min(c - a for c, a in zip(edges + clear, asked, strict=True)), abs=1e-9)
    else:
        assert room < 1e-9


# --- refusals and ending -------------------------------------------------------------------------


def test_nothing_that_moves_is_refused():
    for search in (best_pose, fits):
        with pytest.raises(ValueError, match="nothing needs room"):
            search(box(2, 2), [], [], 0, 1)
    with pytest.raises(ValueError, match="nothing needs room"):
        spare(box(2, 2), [], [], Pose(0, 0, 0))


def test_headings_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="from 3 to -3 degrees"):
        best_pose(box(2, 2), [Moving(square(1))], [], 3, -3)


@pytest.mark.parametrize("search", [best_pose, fits])
@pytest.mark.parametrize("after", [0, 1, 3])
def test_a_search_ends_when_told(search, after):
    told: list[float] = []

    def heard(share: float) -> bool:
        told.append(share)
        return len(told) <= after

    bay = a_bay(7, 40)
    with pytest.raises(Cancelled):
        search(*bay.asked, heard=heard)
    assert len(told) == after + 1


def test_the_share_done_grows_from_none_to_nearly_all():
    told: list[float] = []
    best_pose(*a_bay(3, 40).asked, heard=lambda share: told.append(share) or True)
    assert told == sorted(told)
    assert told[0] == 0.0
    assert 0.5 < told[-1] <= 1.0


def test_a_finer_tolerance_is_kept():
    bay = a_bay(4, 10)
    found = best_pose(*bay.asked, tolerance=0.0002)
    assert found.bound - found.spare <= 0.0002
    assert found.spare == pytest.approx(best_pose(*bay.asked).spare, abs=TOLERANCE)
