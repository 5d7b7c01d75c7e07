"""The best pose against sampling (a grid, then scipy), and what must not change it."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.measure.plan import Area, PointAt, moved
from readiness.measure.poses import TOLERANCE, Apart, Moving, Pose, best_pose, fits
from tests.measure.bays import Bay, a_bay, odd_bay, reflected, sampled, turned

NEAR = 1e-6


def checked(bay: Bay):
    """The best pose, with its certificate proved as far as the bay itself can."""
    found = best_pose(*bay.asked)
    assert bay.spare(found.pose) == found.spare <= found.bound <= found.spare + TOLERANCE + NEAR
    assert bay.low - NEAR <= found.pose.heading <= bay.high + NEAR
    return found


def beats_sampling(bay: Bay, **how: int) -> None:
    found = checked(bay)
    room, pose = sampled(bay, **how)
    assert found.bound >= room - NEAR, pose
    assert found.spare >= room - TOLERANCE, pose
    there = fits(*bay.asked)
    if there is None:
        assert room < 0.0
        assert found.spare < TOLERANCE
    else:
        assert bay.spare(there) >= 0.0
        assert found.bound >= 0.0


@pytest.mark.parametrize("seed", [3, 10, 14])
def test_sampling_finds_nothing_better(seed):
    beats_sampling(a_bay(seed, 7), across=14, headings=5, refined=3)


@pytest.mark.slow
@pytest.mark.parametrize(
    "seed", range(60)
)  # 59 find a fault that shows in one bay of 20 with 95 %: 0.95**59 < 0.05
def test_sampling_finds_nothing_better_in_sixty_bays(seed):
    beats_sampling(a_bay(seed, (5, 9, 16, 30)[seed // 15]))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(200, 206))
def test_sampling_finds_nothing_better_at_any_heading(seed):
    beats_sampling(replace(a_bay(seed, 9), low=-180.0, high=180.0), across=18, headings=73, refined=8)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(300, 304))
def test_sampling_finds_nothing_better_among_many_things(seed):
    beats_sampling(a_bay(seed, 150, small=0.4), across=16, headings=5)


def beats_chance(seed: int) -> None:
    """No pose drawn at random, near the best or anywhere, has more room than the bound."""
    bay, r = odd_bay(seed), random.Random(seed)
    found = checked(bay)
    there = fits(*bay.asked)
    assert there is None or bay.spare(there) >= 0.0
    assert (there is not None) == (found.spare >= 0.0) or abs(found.spare) < TOLERANCE + NEAR
    for k in range(160):
        away, swing = (0.05, 2.0) if k % 2 else (2.0, 90.0)
        x, y = found.pose.x + r.gauss(0, away), found.pose.y + r.gauss(0, away)
        heading = min(max(found.pose.heading + r.gauss(0, swing), bay.low), bay.high)
        assert bay.spare(Pose(x, y, heading)) <= min(found.bound, found.spare + TOLERANCE) + NEAR


@pytest.mark.parametrize("seed", range(20))
def test_odd_shapes_in_odd_places(seed):
    beats_chance(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1000, 1100))
def test_many_odd_shapes_in_odd_places(seed):
    beats_chance(seed)


@pytest.mark.parametrize("seed", range(12))
def test_a_mirrored_bay_has_the_mirrored_answer(seed):
    bay = a_bay(seed, 12)
    found, other = checked(bay), checked(reflected(bay))
    assert other.spare == pytest.approx(found.spare, abs=TOLERANCE)
    back = Pose(other.pose.x, -other.pose.y, -other.pose.heading)
    assert bay.spare(back) == pytest.approx(other.spare, abs=NEAR)


def test_where_the_best_pose_is_the_only_one_its_mirror_image_is_too():
    """In a funnel of three posts about a square room only one place is best."""
    place = Area(((0, 0), (4, 0), (4, 3), (0, 3)))
    moving = (Moving(Area(((-1, -0.5), (1.2, -0.4), (1, 0.5), (-0.8, 0.6)))),)
    posts = tuple(Apart(0, PointAt(x, y), 0.1) for x, y in ((0.3, 0.2), (3.1, 2.9), (3.9, 0.4)))
    bay = Bay(place, moving, posts)
    found, other = checked(bay), checked(reflected(bay))
    assert (other.pose.x, -other.pose.y) == pytest.approx((found.pose.x, found.pose.y), abs=0.05)
    assert -other.pose.heading == pytest.approx(found.pose.heading, abs=1.0)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 200), x=st.floats(-50, 50), y=st.floats(-50, 50), heading=st.floats(-180, 180))
def test_turning_and_shifting_the_whole_bay_changes_nothing(seed, x, y, heading):
    bay = a_bay(seed, 8)
    elsewhere = turned(bay, x, y, heading)
    found, other = checked(bay), checked(elsewhere)
    assert other.spare == pytest.approx(found.spare, abs=TOLERANCE)
    # a pose of one is as good in the other
    there = turned_pose(found.pose, x, y, heading)
    assert elsewhere.spare(there) == pytest.approx(found.spare, abs=NEAR)


def turned_pose(pose: Pose, x: float, y: float, heading: float) -> Pose:
    at = moved(PointAt(pose.x, pose.y), x, y, heading)
    assert isinstance(at, PointAt)
    return Pose(at.x, at.y, pose.heading + heading)


@pytest.mark.parametrize("seed", range(0, 40, 5))
def test_without_a_thing_there_is_no_less_room(seed):
    bay = a_bay(seed, 9)
    found = checked(bay)
    for gone in {bay.apart[n].still for n in found.binding if n >= 0}:
        fewer = replace(bay, apart=tuple(a for a in bay.apart if a.still != gone))
        assert checked(fewer).bound >= found.spare
        assert fits(*fewer.asked) or not fits(*bay.asked)


@pytest.mark.parametrize("seed", [0, 3, 9, 15, 21])
def test_in_a_larger_place_there_is_no_less_room(seed):
    """The cut-out corner filled up, then all of it longer and wider."""
    bay = a_bay(seed, 7)
    xs, ys = zip(*bay.place.points, strict=True)
    spares = [checked(bay).spare]
    for more in (0.0, 0.3, 1.0):
        x, y = max(xs) + more, max(ys) + more
        larger = replace(bay, place=Area(((0, 0), (x, 0), (x, y), (0, y))))
        spares.append(checked(larger).spare)
    assert all(b >= a - TOLERANCE for a, b in pairwise(spares))


@pytest.mark.parametrize("seed", range(8))
def test_more_headings_give_no_less_room(seed):
    bay = a_bay(seed, 9)
    room = checked(bay).spare
    assert checked(replace(bay, low=-20.0, high=10.0)).bound >= room
    assert checked(replace(bay, low=0.0, high=0.0)).spare <= room + TOLERANCE


@pytest.mark.parametrize("seed", range(12))
def test_a_whole_turn_more_is_the_same(seed):
    bay = a_bay(seed, 9)
    again = checked(replace(bay, low=bay.low + 360, high=bay.high + 360))
    assert again.spare == pytest.approx(checked(bay).spare, abs=TOLERANCE)


@pytest.mark.parametrize("seed", range(16))
def test_more_is_asked_until_it_just_fits_no_longer(seed):
    """With every gap larger by the spare room, what fitted fits just; by 5 mm more, no longer."""
    bay = a_bay(seed, 9)
    found = checked(bay)

    def asking(more: float) -> Bay:
        moving = tuple(replace(m, inside=m.inside + more) for m in bay.moving)
        return replace(bay, moving=moving, apart=tuple(replace(a, gap=a.gap + more) for a in bay.apart))

    assert fits(*asking(found.spare - 0.001).asked) is not None
    assert fits(*asking(found.bound + 0.001).asked) is None
    assert checked(asking(found.spare)).spare == pytest.approx(0.0, abs=TOLERANCE)
