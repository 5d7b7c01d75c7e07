"""Sectors, and round shapes in recesses, against plane geometry by hand; and what a sector may be."""

from __future__ import annotations

import math
from random import Random

import pytest

from readiness.measure.plan import (
    Area,
    BoxAt,
    Capsule,
    DiscAt,
    PointAt,
    SectorAt,
    SegmentAt,
    mirrored,
    moved,
    nearest,
    signed_clearance,
)
from tests.measure.plan_shapes import OBSTACLES, U_SHAPE, shape_of
from tests.outside import given as outside

HALF = math.sqrt(0.5)
QUARTER = SectorAt(0, 0, 2, -45, 45)
MOUTH = SectorAt(0, 0, 2, 45, 315)
"""Three quarters of a disc; its mouth opens forward."""
STEPPED = Area(((0, 0), (4, 0), (4, 1.5), (3, 1.5), (3, 1), (1, 1), (1, 4), (0, 4)))
"""A floor 2 wide between a wall and a step half a metre high."""


def by_hand(name, *values):
    return outside(name, "plane geometry", "hand", *values)


@pytest.mark.parametrize(
    ("zone", "obstacle", "expected"),
    [
        by_hand("before-the-arc", QUARTER, PointAt(3, 0), 1.0),
        by_hand("on-the-arc", QUARTER, PointAt(2, 0), 0.0),
        by_hand("behind-the-middle", QUARTER, PointAt(-1, 0), 1.0),
        by_hand("beside", QUARTER, PointAt(0, 2), math.sqrt(2)),
        by_hand("beside-its-end", QUARTER, PointAt(2, 2), math.hypot(2, 2) - 2),
        by_hand("within-by-the-side", QUARTER, PointAt(1, 0), -HALF),
        by_hand("within-by-the-arc", QUARTER, PointAt(1.9, 0), -0.1),
        by_hand("disc-before-the-arc", QUARTER, DiscAt(3, 0, 0.25), 0.75),
        by_hand("disc-within", QUARTER, DiscAt(1.9, 0, 0.25), -0.35),
        by_hand("wall-across", QUARTER, SegmentAt(3, -5, 3, 5), 1.0),
        by_hand("wall-touching-the-arc", QUARTER, SegmentAt(2, -5, 2, 5), 0.0),
        by_hand("wall-through-the-arc", QUARTER, SegmentAt(1.5, -5, 1.5, 5), -0.5),
        by_hand("corner-to-arc", QUARTER, BoxAt(3, 3, 5, 5), math.hypot(3, 3) - 2),
        by_hand("arc-to-arc", QUARTER, SectorAt(5, 0, 2, 135, 225), 1.0),
        by_hand("arc-in-arc", QUARTER, SectorAt(3.5, 0, 2, 135, 225), -0.5),
        by_hand("half-disc-flat-side", SectorAt(0, 0, 2, 0, 180), SegmentAt(-1, -1, 1, -1), 1.0),
        by_hand("half-disc-arc", SectorAt(0, 0, 2, 0, 180), SegmentAt(-1, 3, 1, 3), 1.0),
        by_hand("half-disc-flat-way-out", SectorAt(0, 0, 2, 0, 180), PointAt(0, 0.5), -0.5),
        by_hand("in-the-mouth", MOUTH, PointAt(1, 0), HALF),
        by_hand("behind-the-mouth", MOUTH, PointAt(-0.5, 0), -0.5),
        by_hand("on-the-seam", MOUTH, PointAt(-1, 0), -1.0),
        by_hand("disc-in-the-mouth", MOUTH, DiscAt(1, 0, 0.5), HALF - 0.5),
        # it touches both sides of the mouth where its middle is 0.8 sqrt 2 from the sector's
        by_hand("disc-too-far-in-the-mouth", MOUTH, DiscAt(1, 0, 0.8), 1 - 0.8 * math.sqrt(2)),
        by_hand("full-circle", SectorAt(1, 1, 2, 30, 390), DiscAt(4, 5, 1), 2.0),
        by_hand("full-circle-within", SectorAt(1, 1, 2, 30, 390), PointAt(1, 1), -2.0),
        by_hand("no-radius", SectorAt(1, 1, 0, 0, 90), PointAt(1, 2), 1.0),
        # wider than the notch by 0.4: out over its two corners
        by_hand("disc-in-a-notch", U_SHAPE, DiscAt(2, 3, 1.2), -(1 + math.sqrt(1.2**2 - 1))),
        by_hand("disc-in-a-notch-beside-a-side", U_SHAPE, DiscAt(1.4, 3, 0.5), -0.1),
        # 0.2 below what the bottom and a side let free: their offset lines meet at (1.5, 1.5)
        by_hand("disc-in-the-corner-of-a-notch", U_SHAPE, DiscAt(1.3, 1.3, 0.5), -math.hypot(0.2, 0.2)),
        # free where it is 1 above the floor and 1 from the step's corner: not where it only leaves the corner
        by_hand("disc-on-a-floor-by-a-step", STEPPED, DiscAt(2.2, 1.9, 1), -math.hypot(math.sqrt(0.75) - 0.8, 0.1)),
        by_hand("hardly-out-of-parallel", BoxAt(-9, -1, 9, 0), SegmentAt(-5, 1, 5, 1 + 5e-6), 1.0),
        by_hand("hardly-out-of-parallel-the-other-way", BoxAt(-9, -1, 9, 0), SegmentAt(-5, 1 + 5e-6, 5, 1), 1.0),
        by_hand("corridor-in-a-notch", U_SHAPE, Capsule(2, 3, 2, 9, 1.2), -(1 + math.sqrt(1.2**2 - 1))),
    ],
)  # fmt: skip
def test_clearance_by_hand(zone, obstacle, expected):
    assert signed_clearance(zone, obstacle) == pytest.approx(expected, abs=1e-12)
    assert signed_clearance(obstacle, zone) == pytest.approx(expected, abs=1e-12)
    assert math.dist(*nearest(zone, obstacle)) == pytest.approx(abs(expected), abs=1e-12)


@pytest.mark.parametrize("heading", range(0, 360, 15))
def test_half_a_disc_in_any_direction(heading):
    """Its flat side has no corner in the middle."""
    for x, y, expected in (
        (0.5, -1, 1.0),
        (-1.7, -1, 1.0),
        (3, -1, math.sqrt(2)),
        (0, 3, 1.0),
        (0.3, 0.1, -0.1),
    ):
        zone, thing = SectorAt(0, 0, 2, 0, 180), PointAt(x, y)
        there = [moved(s, 1.5, -0.7, heading) for s in (zone, thing)]
        assert signed_clearance(*there) == pytest.approx(expected, abs=1e-9)
        assert signed_clearance(*reversed(there)) == pytest.approx(expected, abs=1e-9)


def test_the_picture_shows_where_the_arc_is_nearest():
    zone, thing = nearest(QUARTER, PointAt(3, 1))
    assert thing == pytest.approx((3, 1))
    assert zone == pytest.approx((6 / math.sqrt(10), 2 / math.sqrt(10)))


@pytest.mark.parametrize("kind", OBSTACLES)
def test_a_sector_is_the_same_however_its_angles_are_written(kind):
    rng = Random(kind)
    for _ in range(10):
        thing, start, turn = shape_of(kind, rng), rng.uniform(0, 360), rng.uniform(5, 355)
        here = signed_clearance(SectorAt(1, 0, 2, start, start + turn), thing)
        for first, last in (
            (start - 360, start + turn - 360),
            (start, start + turn - 360),
            (start, (start + turn) % 360),
        ):
            assert signed_clearance(SectorAt(1, 0, 2, first, last), thing) == pytest.approx(here, abs=1e-9)


@pytest.mark.parametrize("kind", OBSTACLES)
def test_two_sectors_that_make_up_one_are_as_clear_as_it_is(kind):
    rng = Random(kind)
    for _ in range(20):
        thing, start, turn = shape_of(kind, rng), rng.uniform(0, 360), rng.uniform(5, 360)
        whole = signed_clearance(SectorAt(1, 0, 2, start, start + turn), thing)
        cut = start + turn * rng.uniform(0.1, 0.9)
        parts = [
            signed_clearance(SectorAt(1, 0, 2, a, b), thing) for a, b in ((start, cut), (cut, start + turn))
        ]
        if whole > 0:
            assert whole == pytest.approx(min(parts), abs=1e-9)
        else:
            assert whole <= min(parts) + 1e-9


def test_a_whole_disc_however_turned_is_a_disc():
    for start in (0, -180, 17.3, 1e-3):
        turned = moved(mirrored(SectorAt(1, 2, 1.5, start, start + 360)), 0.3, 0.1, 123.4)
        disc = moved(mirrored(DiscAt(1, 2, 1.5)), 0.3, 0.1, 123.4)
        for thing in (PointAt(0, 0), U_SHAPE, BoxAt(3, 3, 4, 4), SegmentAt(-1, 0, 5, 5)):
            assert signed_clearance(turned, thing) == pytest.approx(signed_clearance(disc, thing), abs=1e-12)


# --- what cannot be ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda: SectorAt(0, 0, -1, 0, 90), "a radius of -1 m cannot be: expected 0 or more"),
        (lambda: SectorAt(0, 0, math.inf, 0, 90), "a radius of inf m cannot be"),
        (lambda: SectorAt(0, 0, 1, 30, 30), "has no angle"),
        (lambda: SectorAt(0, 0, 1, 0, 361), "goes round more than once"),
        (lambda: SectorAt(0, 0, 1, math.nan, 90), "expected finite numbers"),
        (lambda: PointAt(math.inf, 0), "expected finite numbers"),
        (lambda: DiscAt(0, 0, -1), "a radius of -1 m cannot be"),
        (lambda: DiscAt(0, math.nan, 1), "expected finite numbers"),
        (lambda: DiscAt(0, 0, math.nan), "a radius of nan m cannot be"),
        (lambda: SegmentAt(0, 0, math.nan, 1), "expected finite numbers"),
        (lambda: Capsule(0, 0, 1, 0, -0.1), "a half width of -0.1 m cannot be"),
        (lambda: Capsule(0, 0, math.inf, 0, 0.1), "expected finite numbers"),
        (lambda: BoxAt(0, 0, 0, 1), "needs two corners that differ"),
        (lambda: BoxAt(0, 0, math.nan, 1), "expected finite numbers"),
        (lambda: Area(((0, 0), (1, 0), (0, math.inf))), "not a finite number"),
        (lambda: Area(((0, 0), (1, 0))), "three different corners, there are 2"),
        (lambda: Area(((0, 0), (1, 0), (0, 0))), "three different corners, there are 2"),
        (lambda: Area(((0, 0), (1, 1), (2, 2))), "on one line"),
        (lambda: Area(((0, 0), (0.1, 0.3), (0.2, 0.6), (0.3, 0.9))), "on one line"),
        (lambda: Area(((0, 0), (1, 0), (1, 0), (0, 1))), "corners 2 and 3 of the area are the same"),
        (lambda: Area(((0, 0), (2, 2), (2, 0), (0, 2))), "sides 1 and 3"),
        # a corner on another side, a corner twice, a side that goes back on the one before
        (lambda: Area(((0, 0), (4, 0), (4, 2), (2, 0), (0, 2))), "sides 1 and 3"),
        (lambda: Area(((0, 0), (2, 0), (1, 1), (2, 2), (0, 2), (1, 1))), "meet"),
        (lambda: Area(((0, 0), (3, 0), (3, 3), (3, 1), (0, 3))), "sides 2 and 3"),
    ],
)  # fmt: skip
def test_shapes_that_cannot_be_are_refused_in_one_sentence(make, word):
    with pytest.raises(ValueError, match=word) as error:
        make()
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("thing", [PointAt(0, 3), SegmentAt(0, 3, 1, 3), BoxAt(0, 3, 1, 4), U_SHAPE, QUARTER])
def test_a_line_without_length_is_its_point(thing):
    for x, y in ((0, 0), (0.5, 3.5), (0, 3)):
        assert signed_clearance(SegmentAt(x, y, x, y), thing) == signed_clearance(PointAt(x, y), thing)
        assert signed_clearance(Capsule(x, y, x, y, 0.4), thing) == signed_clearance(DiscAt(x, y, 0.4), thing)


def test_rounding_never_makes_a_moved_area_impossible():
    """Corners 1 nm beside a side: turned, they may come to lie on it."""
    thin = Area(((0, 0), (4, 0), (4, 2), (2, 1e-15), (0, 2)))
    for heading in range(0, 360, 7):
        there = moved(thin, 12.3, -4.5, heading)
        assert signed_clearance(there, moved(PointAt(2, -1), 12.3, -4.5, heading)) == pytest.approx(
            1.0, abs=1e-9
        )
