"""The search for a place, against cases worked out by hand.

The body of the test car reaches from x = -1.0 to 3.6 m and 0.91 m to either side; with its zone ahead to 5.8 m.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from readiness.bayfit import bay_fit, modes_of
from readiness.job import Disc, HeightBand, Obstacle, Place, Point, Rectangle, Segment, Standing, Target, Zone
from tests.bayfit.places import (
    AHEAD,
    AHEAD_GUARD,
    AHEAD_THING_GUARD,
    BODY_GUARD,
    BODY_THING_GUARD,
    GUARD,
    LIST,
    MARGIN,
    TWO,
    bay_of,
    block,
    box_bay,
    car,
    found,
    guard,
)  # fmt: skip

TOLERANCE = 0.002
"""m; how far the best place found may be from the best there is."""
LONG = 6.8 + BODY_GUARD + AHEAD_GUARD
"""m; what the test car with its zone ahead needs, with nothing to spare."""
WIDE = 1.82 + 2 * BODY_GUARD
SWUNG = math.cos(math.radians(3.0))
EDGE = "the edge of the bay"


def near(value):
    return pytest.approx(value, abs=TOLERANCE)


def pairs(fit):
    return {(b.what, b.against) for b in fit.binding}


# --- room ----------------------------------------------------------------------------------------


def test_a_long_narrow_bay_leaves_the_same_at_both_sides():
    fit = found(box_bay(12, 3), car())
    assert fit.fits
    assert fit.spare == near(1.5 - 0.91 - BODY_GUARD)
    assert (fit.moved, fit.need, fit.turned) == ((), None, False)
    assert fit.standing.y == near(1.5)
    assert 0.0 <= fit.bound - fit.spare <= TOLERANCE
    assert pairs(fit) == {("the car", EDGE)}


def test_on_its_own_marks():
    usual = Standing(x=1.2, y=1.3)
    fit = found(box_bay(12, 3, standing=usual), car())
    assert fit.on_marks == pytest.approx(1.2 - 1.0 - BODY_GUARD, abs=3e-4)  # the tail
    usual = Standing(x=0.7, y=1.3)
    assert found(box_bay(12, 3, standing=usual), car()).on_marks == pytest.approx(-0.3 - BODY_GUARD, abs=3e-4)


def test_a_bay_too_short_says_how_much_longer():
    fit = found(box_bay(LONG - 0.297, 3), car(AHEAD))
    assert not fit.fits
    assert fit.spare == near(-0.297 / 2)
    assert (fit.need.longer, fit.need.wider, fit.need.both) == (0.3, None, None)
    assert pairs(fit) == {("ahead", EDGE), ("the car", EDGE)}


def test_a_bay_too_narrow_says_how_much_wider():
    fit = found(box_bay(9, WIDE - 0.117), car(AHEAD))
    assert (fit.need.longer, fit.need.wider, fit.need.both) == (None, 0.12, None)


def test_a_bay_too_short_and_too_narrow_says_both():
    fit = found(box_bay(LONG - 0.297, WIDE - 0.117), car(AHEAD))
    assert (fit.need.longer, fit.need.wider, fit.need.both) == (None, None, (0.3, 0.12))


def test_a_bench_at_the_far_wall_goes_with_it():
    """Before the bench are 6.8 m. The zone would ask it for margin and guard, so the car backs up to it."""
    fit = found(box_bay(8, 3, block("bench", 6.8, 0, 8, 3)), car(AHEAD))
    assert fit.spare == near(-(AHEAD_GUARD + BODY_THING_GUARD) / 2)
    assert fit.turned
    assert (fit.need.longer, fit.need.wider) == (0.13, None)  # 0.0664 + 0.0589 = 0.1253 up
    assert pairs(fit) == {("ahead", EDGE), ("the car", "bench")}


def test_a_column_in_the_middle_stays_where_it_is():
    """Longer: past the column at 4.05 m; wider: beside it, from 1.55 m."""
    strip = Rectangle(corner=Point(x=3.0, y=-0.7), opposite=Point(x=5.8, y=0.7))
    ahead = Zone(id="ahead", rectangle=strip)
    fit = found(box_bay(8, 3, block("column", 3.95, 1.45, 4.05, 1.55)), car(ahead))
    assert not fit.fits
    assert {b.against for b in fit.binding} >= {"column"}
    assert fit.need.longer == 2.98  # 4.05 + 6.8 + 0.0589 + 0.0668 - 8 = 2.9757
    assert fit.need.wider == 0.48  # 1.55 + 1.82 + 0.0589 + 0.0489 - 3 = 0.4778


# --- what counts as in the way -------------------------------------------------------------------


def hit(**more):
    """Spare room of a car in a bay just wide enough, with a thing under or over it that cannot be passed."""
    return found(box_bay(12, 2.4, block("thing", 0, 1.0, 12, 1.4, **more)), car()).fits


@pytest.mark.parametrize(
    ("band", "fits"),
    [
        (None, False),
        (HeightBand(low=0.0, high=0.01), True),  # a drain cover
        (HeightBand(low=0.0, high=0.05), True),
        (HeightBand(low=0.0, high=0.06), False),  # the arms of a lift
        (HeightBand(low=1.9, high=2.1), False),
        (HeightBand(low=2.3, high=2.4), True),  # a pipe under the roof
    ],
)
def test_the_car_stands_over_what_is_low_and_under_what_is_high(band, fits):
    assert hit(height=band, metal="no") is fits


def test_a_foot_of_a_target_stands_on_nothing_that_has_a_height():
    board = Target(
        id="board", at=Place(x=5.5, y=0.0, z=0.6), feet=(Point(x=5.5, y=0.4), Point(x=5.5, y=-0.4))
    )
    step = block("step", 0, 0, 12, 3, metal="no", height=HeightBand(low=0.0, high=0.04))
    fit = found(box_bay(12, 3, step), car(targets=(board,)))
    assert not fit.fits
    assert ("board", "step") in pairs(fit)
    flat = replace(step, height=HeightBand(low=0.0, high=0.02))
    assert found(box_bay(12, 3, flat), car(targets=(board,))).spare == near(0.59 - BODY_GUARD)


def test_what_is_not_metal_does_not_matter_to_a_metal_free_zone():
    """A mat on the whole floor, low enough to stand on."""
    mat = block("mat", 0.0, 0.0, 8.0, 3.0, metal="no", height=HeightBand(low=0.0, high=0.01))
    assert found(box_bay(8, 3, mat), car(AHEAD)).spare == found(box_bay(8, 3), car(AHEAD)).spare
    assert not found(box_bay(8, 3, replace(mat, metal="yes")), car(AHEAD)).fits
    low = replace(AHEAD, height=HeightBand(low=0.02, high=1.5))
    assert found(box_bay(8, 3, replace(mat, metal="yes")), car(low)).fits


# --- which way round -----------------------------------------------------------------------------

WIDE_AHEAD = Zone(id="wide", disc=Disc(at=Point(x=5.0, y=0.0), radius=1.5))
NARROWING = bay_of((0, 0), (10, 0), (10, 2.6), (4, 2.6), (4, 4), (0, 4), standing=Standing(x=1.5, y=1.3))
"""4 m wide up to x = 4, then 2.6 m: the zone of 3 m has room at one end only."""


def test_backed_in_where_the_zone_has_room_only_at_one_end():
    fit = found(NARROWING, car(WIDE_AHEAD))
    assert fit.fits
    assert fit.turned
    assert fit.other_way < 0
    assert abs(abs(fit.standing.heading) - 180.0) <= 3.0
    # straight: the zone's edge at the wall y = 0 and the car's side at the wall y = 2.6 share what is left
    assert fit.spare >= (2.6 - 0.91 - 1.5 - BODY_GUARD - guard(6.5)) / 2 - TOLERANCE


def test_not_turned_where_that_gains_little():
    """A plate on the wall behind asks for 1 cm and for more than the wall's guard: half of that is less than 2 cm."""
    plate = block("plate", 0.0, 0.0, 0.01, 4.0, metal="no")
    fit = found(box_bay(8, 4, plate), car(AHEAD))
    assert not fit.turned
    assert fit.other_way == near((8 - LONG) / 2)
    assert fit.spare == near((8 - LONG - 0.01 - BODY_THING_GUARD + BODY_GUARD) / 2)
    assert fit.bound - fit.spare <= TOLERANCE
    thicker = block("plate", 0.0, 0.0, 0.05, 4.0, metal="no")
    assert found(box_bay(8, 4, thicker), car(AHEAD)).turned


def test_any_heading_finds_a_place_across():
    """A bay 3 m long and 8 m wide: only across."""
    bay = box_bay(3, 8, standing=Standing(x=1.5, y=4.0))
    assert not found(bay, car(AHEAD)).fits
    fit = found(bay, car(AHEAD), headings="any")
    assert fit.fits
    assert fit.other_way is None
    assert abs(abs(fit.standing.heading) - 90.0) < 15.0


# --- movable things ------------------------------------------------------------------------------


def trolley(x, y, name="trolley", **more):
    return block(name, x - 0.3, y - 0.2, x + 0.3, y + 0.2, **{"fixed": False, **more})


def test_the_one_thing_in_the_way_is_named():
    bay = box_bay(7.5, 3, trolley(4, 1.5), trolley(7.3, 0.2, "bin", metal="no"), trolley(0.3, 2.8, "creeper"))
    fit = found(bay, car(AHEAD))
    assert fit.fits
    assert fit.moved == ("trolley",)
    assert fit.need is None
    assert fit.on_marks < 0
    assert not any(b.against == "trolley" for b in fit.binding)


def test_two_things_where_either_alone_does_not_help():
    fit = found(box_bay(7.5, 3, trolley(2, 1.5, "one"), trolley(5.5, 1.5, "two")), car(AHEAD))
    assert fit.fits
    assert fit.moved == ("one", "two")


def test_of_two_ways_to_free_it_the_one_with_fewer_things():
    """Ahead of a wall of two fixed posts is room for the car once one thing goes; behind them it takes two."""
    bay = box_bay(
        15.5, 3, trolley(2, 1, "a"), trolley(6, 1, "b"), block("wall", 7.7, 0, 7.8, 3), trolley(11, 1.5, "c")
    )
    assert found(bay, car(AHEAD)).moved == ("c",)


def test_nothing_is_moved_where_it_fits_as_it_is():
    fit = found(box_bay(12, 3, trolley(11, 1.5)), car(AHEAD))
    assert fit.fits
    assert fit.moved == ()


def test_moving_things_does_not_help_a_bay_too_short():
    fit = found(box_bay(LONG - 0.297, 3, trolley(4, 1.5)), car(AHEAD))
    assert not fit.fits
    assert fit.moved == ()
    assert fit.need.longer == 0.3
    assert fit.spare == near(-0.297 / 2)  # with the trolley gone


# --- two sides -----------------------------------------------------------------------------------

REFLECTOR = Target(id="reflector", at=Place(x=-3.0, y=1.5, z=0.6))


def round_it(radius):
    return Zone(id="round-it", disc=Disc(at=Point(x=-3.0, y=1.5), radius=radius))


def test_modes():
    assert modes_of(LIST) == ("single",)
    assert modes_of(TWO) == ("left", "right", "in_turn", "at_once")


def test_both_sides_ask_for_more_than_either():
    bay = box_bay(10, 5)
    fits = {
        f.mode: f
        for f in bay_fit(TWO, car(round_it(0.9), targets=(REFLECTOR,)), bay, modes_of(TWO), easy=0.0).fits
    }
    assert list(fits) == ["left", "right", "in_turn", "at_once"]
    assert fits["in_turn"].spare == near(2.5 - 1.5 * SWUNG - 0.9 - guard(math.hypot(3.0, 1.5) + 0.9))
    assert fits["left"].spare == near(fits["right"].spare)
    assert fits["left"].spare > fits["in_turn"].spare + 0.3
    assert fits["at_once"].between_sides == pytest.approx(3.0 - 0.9 - MARGIN - GUARD, abs=3e-4)
    assert place_of(fits["at_once"]) == place_of(fits["in_turn"])


def place_of(fit):
    return (fit.standing, fit.spare, fit.binding, fit.chalk, fit.moved, fit.turned)


def test_in_turn_where_the_other_target_would_stand_in_the_zone():
    """The zone reaches 2.95 m, the other target stands 3 m away: less than margin and guard."""
    bay = box_bay(20, 12)
    sheet = car(round_it(2.95), targets=(REFLECTOR,))
    in_turn, at_once = bay_fit(TWO, sheet, bay, ("in_turn", "at_once"), easy=0.0).fits
    assert in_turn.fits
    assert not at_once.fits
    assert at_once.between_sides == pytest.approx(0.05 - MARGIN - GUARD, abs=3e-4)
    assert at_once.spare == at_once.between_sides
    assert (at_once.need.longer, at_once.need.wider, at_once.need.both) == (None, None, None)
    assert at_once.binding[0].against == "reflector of the other side"
    assert at_once.moved == ()


def test_a_target_at_the_side_must_stand_in_the_bay():
    """3 m to either side, a little less where the car stands askew, and the guard."""
    far = Target(id="far", at=Place(x=0.0, y=3.0, z=0.6))
    assert found(box_bay(9, 6.1), car(targets=(far,)), "in_turn").spare == near(
        3.05 - 3.0 * SWUNG - guard(3.0)
    )
    fit = found(box_bay(9, 6.0), car(targets=(far,)), "in_turn")
    assert fit.need.wider == 0.09  # 2 (2.9959 + 0.0444) - 6 = 0.0806
    assert pairs(fit) == {("far", EDGE)}
    assert {b.side for b in fit.binding} == {"left", "right"}


# --- concave and far -----------------------------------------------------------------------------


def test_an_l_shaped_bay():
    """An L with legs 3 m wide; the car stands in the long leg, its wide zone where the legs meet."""
    bay = bay_of(
        (0, 0), (10, 0), (10, 3), (4, 3), (4, 8), (0, 8), standing=Standing(x=8.0, y=1.5, heading=180)
    )
    side = Zone(
        id="side", disc=Disc(at=Point(x=6.0, y=-3.0), radius=1.2)
    )  # seen from a car that looks to -x: at +y
    fit = found(bay, car(side))
    assert fit.fits
    x, y = fit.standing.x, fit.standing.y
    assert x - 6.0 == pytest.approx(2.0, abs=0.75)  # the zone lies in the short leg
    assert 0.91 <= y <= 3 - 0.91


def test_things_outside_the_place_count():
    """A steel shelf stands behind the side wall of canvas, 5 cm off."""
    shelf = Obstacle(
        name="shelf", wall=Segment(start=Point(x=0, y=3.05), end=Point(x=12, y=3.05)), metal="yes"
    )
    fit = found(box_bay(12, 3, shelf), car(replace(AHEAD, disc=Disc(at=Point(x=5.0, y=0.0), radius=1.2))))
    left = 3.05 - 1.2 - MARGIN - AHEAD_THING_GUARD
    assert fit.spare == near((left - 1.2 - guard(6.2)) / 2)
    assert pairs(fit) == {("ahead", "shelf"), ("ahead", EDGE)}


# --- easier places -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("off", "stays"), [(0.0, True), (0.03, True), (-0.04, True), (0.08, False), (0.25, False)]
)
def test_the_bays_own_marks_are_left_for_more_than_five_centimetres_only(off, stays):
    own = Standing(x=4.0, y=WIDE / 2 + 0.2 + off)
    easy = found(box_bay(12, WIDE + 0.4, standing=own), car(), easy=0.05)
    assert easy.own_marks == stays
    assert easy.most == near(0.2)
    assert easy.spare == near(easy.most - (abs(off) if stays else 0.0))
    assert 0.0 <= easy.bound - easy.most <= TOLERANCE


@pytest.mark.parametrize(("askew", "straight"), [(0.4, True), (2.0, False)])
def test_a_car_stands_askew_for_more_than_five_centimetres_only(askew, straight):
    c, s = math.cos(math.radians(askew)), math.sin(math.radians(askew))
    corners = [(x * c - y * s, x * s + y * c) for x, y in ((0, 0), (8, 0), (8, WIDE + 0.4), (0, WIDE + 0.4))]
    bay = bay_of(*corners, standing=Standing(x=2.0, y=1.0))  # 0.6 m off the middle: not the place to stay
    easy = found(bay, car(), easy=0.05)
    assert (easy.standing.heading == 0.0) == straight
    if not straight:
        assert easy.standing.heading == pytest.approx(askew, abs=0.1)
    assert easy.most - 0.05 <= easy.spare <= easy.most == near(0.2)


def test_what_only_just_fits_is_never_given_up_for_ease():
    bay = box_bay(12, WIDE + 0.02, standing=Standing(x=4.0, y=WIDE / 2 + 0.04))
    easy = found(bay, car(), easy=0.05)
    assert easy.fits
    assert easy.spare == near(0.01)


def test_plenty_of_room_is_enough_on_the_bays_own_marks():
    own = Standing(
        x=4.0, y=1.4 + BODY_GUARD + 0.91 - 1.09
    )  # 0.31 m to the nearer wall, 1.1 m more to the other
    easy = found(box_bay(12, 4, standing=own), car(), easy=0.05)
    assert easy.own_marks
    assert easy.spare == near(0.31)
    assert easy.most == near(2 - 0.91 - BODY_GUARD)


def test_nobody_turns_the_car_round_where_the_usual_way_has_plenty():
    """A steel plate in the floor before the far wall: a car may stand on it, the zone ahead must keep off it."""
    plate = block("plate", 8, 0, 9.2, 6, height=HeightBand(low=0.0, high=0.01))
    bay = box_bay(9.2, 6, plate, standing=Standing(x=5.0, y=3.0))
    usual, other = (8 - 6.8 - BODY_GUARD - AHEAD_THING_GUARD - MARGIN) / 2, (9.2 - LONG) / 2
    assert usual > 0.3
    easy = found(bay, car(AHEAD), easy=0.05)
    assert (easy.turned, easy.spare, easy.other_way) == (False, near(usual), near(other))
    best = found(bay, car(AHEAD))
    assert (best.turned, best.spare, best.other_way) == (True, near(other), near(usual))
    tight = found(box_bay(8.7, 6, block("plate", 7.5, 0, 8.7, 6, height=plate.height)), car(AHEAD), easy=0.05)
    assert tight.turned
