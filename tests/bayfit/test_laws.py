"""Laws of the search: mirrored, turned and shifted bays; progress and ending it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.bayfit import bay_fit, modes_of
from readiness.job import Disc, Mark, Obstacle, Point, Segment, Standing, Zone
from readiness.measure.poses import Cancelled
from tests.bayfit.places import AHEAD, REAR_CORNER, TWO, bay_of, box_bay, car, found
from tests.scenes import SHEET

TOLERANCE = 0.004
"""m; each of two searches may stay 2 mm below the best there is."""


def placed(place, bay):
    """The bay with all its points put elsewhere by `place`, and its heading by what `place` does to a direction."""

    def at(p):
        return Point(**dict(zip("xy", place(p.x, p.y), strict=True)))

    def thing(o):
        if o.disc:
            return replace(o, disc=replace(o.disc, at=at(o.disc.at)))
        if o.wall:
            return replace(o, wall=Segment(start=at(o.wall.start), end=at(o.wall.end)))
        return replace(o, polygon=tuple(at(p) for p in o.polygon))

    s = bay.standing
    h = math.radians(s.heading)
    here, ahead = place(s.x, s.y), place(s.x + math.cos(h), s.y + math.sin(h))
    heading = math.degrees(math.atan2(ahead[1] - here[1], ahead[0] - here[0]))
    return replace(
        bay, outline=tuple(at(p) for p in bay.outline), obstacles=tuple(thing(o) for o in bay.obstacles),
        standing=Standing(x=here[0], y=here[1], heading=heading),
    )  # fmt: skip


def within(low, high):
    return st.integers(round(low * 100), round(high * 100)).map(lambda n: n / 100)


points = st.builds(lambda x, y: Point(x=x, y=y), within(0, 9), within(0, 6))
things = st.one_of(
    st.builds(lambda p, r: {"disc": Disc(at=p, radius=r)}, points, within(0.05, 0.4)),
    st.builds(lambda p, w: {"wall": Segment(start=p, end=Point(x=p.x + w, y=p.y + 0.5))}, points, within(0.2, 1.0)),
    st.builds(lambda p, s: {"polygon": tuple(Point(x=p.x + s * x, y=p.y + s * y) for x, y in ((0, 0), (2, 0), (2, 2), (1, 0.5)))},
              points, within(0.1, 0.4)),
)  # fmt: skip
bays = st.builds(
    lambda ts, concave: replace(
        bay_of(*(((0, 0), (10, 0), (10, 4), (6, 4), (6, 6), (0, 6)) if concave else ((0, 0), (9, 0), (9, 6), (0, 6))),
               standing=Standing(x=4.0, y=2.5)),
        obstacles=tuple(Obstacle(name=f"thing {n}", metal="yes", **t) for n, t in enumerate(ts)),
    ),
    st.lists(things, max_size=4), st.booleans(),
)  # fmt: skip
SIDED = car(REAR_CORNER, targets=SHEET.targets)
MODES = ("left", "right", "in_turn")
ONE = ("left", "right")


def spares(bay, modes=MODES):
    return {f.mode: f for f in bay_fit(TWO, SIDED, bay, modes, easy=0.0).fits}


@settings(max_examples=5)
@given(bays)
def test_a_mirrored_bay_gives_the_mirrored_answer(bay):
    here, there = spares(bay, ONE), spares(placed(lambda x, y: (x, -y), bay), ONE)
    for mode, other in (("left", "right"), ("right", "left")):
        assert here[mode].on_marks == pytest.approx(there[other].on_marks, abs=1e-6)
        assert (
            here[mode].bound >= there[other].spare - 0.02 - 1e-6
        )  # a way round that gains 2 cm is not taken
        assert here[mode].spare == pytest.approx(there[other].spare, abs=0.02 + TOLERANCE)


@settings(max_examples=5)
@given(bays, st.floats(-180, 180), within(-50, 50), within(-50, 50))
def test_turning_and_shifting_the_whole_bay_changes_nothing(bay, turn, dx, dy):
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    here = spares(bay, ONE[:1])
    there = spares(placed(lambda x, y: (dx + x * c - y * s, dy + x * s + y * c), bay), ONE[:1])
    for mode in here:
        assert here[mode].spare == pytest.approx(there[mode].spare, abs=0.02 + TOLERANCE)
        assert here[mode].on_marks == pytest.approx(there[mode].on_marks, abs=1e-6)


@settings(max_examples=5)
@given(bays)
def test_what_an_answer_promises(bay):
    found = spares(bay)
    assert found["in_turn"].spare <= min(found["left"].spare, found["right"].spare) + 0.02 + TOLERANCE
    for fit in found.values():
        assert fit.fits == (fit.spare >= 0.0)
        assert fit.spare <= fit.bound <= fit.spare + 0.002 + 1e-9
        assert fit.binding[0].clearance - fit.binding[0].asked == pytest.approx(fit.spare, abs=1e-9)
        rooms = [b.clearance - b.asked for b in fit.binding]
        assert rooms == sorted(rooms)
        assert rooms[-1] <= rooms[0] + 0.01
        assert (fit.need is None) == fit.fits
        assert not fit.moved  # nothing here is movable
        way_round = 180.0 if fit.turned else 0.0
        off = (fit.standing.heading - bay.standing.heading - way_round + 180.0) % 360.0 - 180.0
        assert abs(off) <= 3.0 + 1e-9
        [line] = [s for s in fit.picture if s.role == "clearance"]
        assert math.dist(*line.points) == pytest.approx(abs(fit.binding[0].clearance), abs=1e-6)


# --- a place that had to be larger does ----------------------------------------------------------


@pytest.mark.parametrize(("length", "width"), [(6.4, 3.0), (8.0, 1.7), (6.3, 1.75)])
def test_a_bay_so_much_larger_fits_and_a_centimetre_less_does_not(length, width):
    need = found(box_bay(length, width), car(AHEAD)).need
    longer, wider = need.both or (need.longer or 0.0, need.wider or 0.0)
    assert found(box_bay(length + longer, width + wider), car(AHEAD)).fits
    for less in ((longer - 0.01, wider), (longer, wider - 0.01)):
        if min(less) >= 0.0:
            assert not found(box_bay(length + less[0], width + less[1]), car(AHEAD)).fits


# --- told of how far it is -----------------------------------------------------------------------


def test_it_tells_what_it_works_on_and_how_far_it_is():
    told = []

    def heard(text, share):
        told.append((text, share))
        return True

    short = box_bay(6.4, 3.0)
    bay_fit(TWO, car(AHEAD), short, modes_of(TWO), heard=heard)
    assert {text for text, _ in told} == {"Bay 1: left side", "Bay 1: right side", "Bay 1: both sides"}
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert 0.0 <= shares[0] <= shares[-1] <= 1.0


@pytest.mark.parametrize("after", [0, 1, 5])
def test_it_ends_when_told(after):
    told = []

    def heard(text, share):
        told.append(share)
        return len(told) <= after

    with pytest.raises(Cancelled):
        bay_fit(TWO, car(AHEAD), box_bay(6.4, 3.0), modes_of(TWO), heard=heard)
    assert len(told) == after + 1


def test_it_ends_when_told_after_all_places_are_found_too():
    """Tapes and pictures are still to be made then."""
    with pytest.raises(Cancelled):
        bay_fit(TWO, car(AHEAD), box_bay(9, 6), modes_of(TWO), heard=lambda _, share: share < 1.0)


# --- the picture ---------------------------------------------------------------------------------


def test_the_picture_shows_the_place_from_the_car():
    marks = (Mark(name="nail", at=Point(x=0.0, y=1.0)), Mark(name="post", at=Point(x=0.0, y=3.0)))
    fit = found(
        box_bay(12, 4, marks=marks),
        car(Zone(id="z", disc=Disc(at=Point(x=5, y=0.4), radius=0.8)), targets=SHEET.targets),
    )
    by_role = {}
    for shape in fit.picture:
        by_role.setdefault(shape.role, []).append(shape)
    assert {s.label for s in by_role["mark"]} >= {"nail", "post"}
    [nail] = [s for s in by_role["mark"] if s.label == "nail"]
    h = math.radians(fit.standing.heading)
    seen = (
        nail.at[0] * math.cos(h) - nail.at[1] * math.sin(h),
        nail.at[0] * math.sin(h) + nail.at[1] * math.cos(h),
    )
    assert (seen[0] + fit.standing.x, seen[1] + fit.standing.y) == pytest.approx((0.0, 1.0), abs=1e-9)
    assert len(by_role["wheel"]) == 4
    assert len(by_role["zone"]) == len(by_role["target"]) == 1
    [line] = by_role["clearance"]
    assert line.label.endswith(" m")
    assert not line.marked


def test_the_picture_of_two_sides_shows_both():
    fit = found(box_bay(12, 8), SIDED, "in_turn")
    roles = [s.role for s in fit.picture]
    assert (roles.count("zone"), roles.count("target"), roles.count("sensor")) == (2, 2, 2)
    assert sorted(s.at[1] for s in fit.picture if s.role == "target") == [-1.5, 1.5]


def test_the_number_in_the_picture_is_in_the_shops_units():
    [line] = [s for s in found(box_bay(12, 4), car(), system="us").picture if s.role == "clearance"]
    assert "ft" in line.label or "in" in line.label
