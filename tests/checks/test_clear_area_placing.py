"""Clear area: where a thing stands, measured from the car, by two tapes, or from the bay; long things; steel.

The places are known beforehand here: tapes are worked out from them with math.dist (Pythagoras), and what the
check makes of the tapes is compared. Car axes: the outer sides of tyres 205 mm wide lie at (2.7, 0.8775) and
(0, 0.8675) and mirrored, centre marks at (3.55, 0) and (-0.95, 0); the body reaches from x = -1.0 to 3.6 and 0.91 to each side.
"""

from __future__ import annotations

import math
from dataclasses import replace as changed

import pytest
from hypothesis import assume
from hypothesis import given as law
from hypothesis import strategies as st

from readiness import units
from readiness.checks.entry import understood
from readiness.checks.picture import Spot
from readiness.job import Disc, Mark, Point, Standing, Zone
from tests.checks.areas import (
    AREA,
    BARE,
    DISC,
    NOTHING_ELSE,
    STAND,
    TROLLEY,
    area,
    bay,
    bin_at,
    found_at,
    sheet,
)
from tests.scenes import asked, check, given, part

PLACES = {
    "lf": (2.7, 0.8775), "lr": (0.0, 0.8675), "rr": (0.0, -0.8675), "rf": (2.7, -0.8775),
    "front mark": (3.55, 0.0), "rear mark": (-0.95, 0.0),
}  # fmt: skip
NAIL = Mark(name="nail", at=Point(x=4.0, y=-3.0))
CORNERS = {"corner 1": (-6, -5), "corner 2": (9, -5), "corner 3": (9, 5), "corner 4": (-6, 5)}
STRAIGHT = Standing(x=0.0, y=0.0)
TURNED = Standing(x=1.5, y=-0.5, heading=30.0)
TAPE = math.hypot(0.01 / math.sqrt(3), 0.001 / math.sqrt(12))
"""Standard uncertainty of the laser meter of tests/scenes.py, m (GUM 4.3.7, F.2.2.1, from memory)."""


def to_car(at, standing):
    """A place in bay axes, as the car sees it: a rotation written out."""
    h = math.radians(standing.heading)
    dx, dy = at[0] - standing.x, at[1] - standing.y
    return dx * math.cos(h) + dy * math.sin(h), dy * math.cos(h) - dx * math.sin(h)


def metres(length):
    return f"{length:.6f} m"


def taped(one, other, at, standing=STRAIGHT, key="other.1"):
    """Answers that place a thing by two tapes, without saying on which side."""
    known = PLACES | {k: to_car(p, standing) for k, p in (CORNERS | {"nail": (4.0, -3.0)}).items()}
    tapes = {
        f"{key}.tape1": metres(math.dist(known[one], at)),
        f"{key}.tape2": metres(math.dist(known[other], at)),
    }
    return {f"{key}.way": "t", f"{key}.from1": one, f"{key}.from2": other, **tapes}


def other(place, **more):
    words = {"other": "y", "other.1.name": "bin", "other.1.metal": "y", "other.1.more": "n"}
    return {**words, **place, **{f"other.1.{k}": v for k, v in more.items()}}


# --- two tapes -----------------------------------------------------------------------------------

somewhere = st.tuples(st.floats(-5.5, 8.5), st.floats(-4.5, 4.5)).map(
    lambda p: (round(p[0], 3), round(p[1], 3))
)
ends = st.sampled_from([*PLACES, *CORNERS, "nail"])
standings = st.sampled_from([STRAIGHT, TURNED])


@law(ends, ends, somewhere, standings)
def test_tapes_from_any_two_places_lead_back_to_where_it_stands(one, other_, at, standing):
    assume(one != other_)
    at = to_car(at, standing)
    answers = other(taped(one, other_, at, standing))
    where = {"marks": (NAIL,), "standing": standing}
    assume(all(0.05 <= float(answers[f"other.1.tape{n}"].split()[0]) <= 20 for n in (1, 2)))
    sides = asked(BARE, answers, sheet=sheet(DISC), bay=bay(**where), side="left").get("other.1.side")
    if sides is None:
        places = [found_at(area(answers=answers, **where))]
    else:
        places = [
            found_at(area(answers={**answers, "other.1.side": c.value}, **where)) for c in sides.choices
        ]
    known = PLACES | {k: to_car(p, standing) for k, p in (CORNERS | {"nail": (4.0, -3.0)}).items()}
    p, q = known[one], known[other_]
    off = abs((q[0] - p[0]) * (at[1] - p[1]) - (q[1] - p[1]) * (at[0] - p[0])) / math.dist(p, q)
    near = 3e-4 if off > 0.05 else 0.1  # close to the line between the marks, tapes tell little across it
    assert min(math.dist(s.at, at) for s in places) < near


def test_both_places_are_described_and_one_is_chosen():
    answers = other(taped("lr", "rr", (-2.4, 0.8)))
    side = asked(BARE, answers, sheet=sheet(DISC), side="left", bay=bay())["other.1.side"]
    words = [c.label for c in side.choices]
    # mirrored at the rear axle: one behind the rear bumper at -1.0, one beside the car, under it
    assert words[0] == "the one under the car, left of the middle, 2.4 m ahead of the rear axle"
    assert words[1] == "the one 1.4 m behind the rear bumper, 0.8 m left of the centre line"
    open_ = part(area(answers=answers), "other.1")
    assert (open_.outcome, open_.remedy) == ("not_done", "Say which of the two it is.")
    for key, x in (("1", 2.4), ("2", -2.4)):
        assert found_at(area(answers={**answers, "other.1.side": key})).at == pytest.approx(
            (x, 0.8), abs=1e-4
        )


def test_a_side_of_the_car_is_told_by_name():
    answers = other(taped("lf", "lr", (1.2, 3.1)))
    side = asked(BARE, answers, sheet=sheet(DISC), side="left", bay=bay())["other.1.side"]
    # looking from the front wheel to the rear one, the car's right is to the left
    assert [c.label for c in side.choices] == [
        "the one 0.4 m right of the car, 1.2 m ahead of the rear axle",
        "the one 2.2 m left of the car, 1.2 m ahead of the rear axle",
    ]


def test_which_side_is_not_asked_where_only_one_place_is_in_the_bay():
    # from two corners of one wall: the other place lies as far on the other side of the wall
    answers = other(taped("corner 1", "corner 2", (-3.0, 1.5)))
    assert "other.1.side" not in asked(BARE, answers, sheet=sheet(DISC), side="left", bay=bay())
    assert found_at(area(answers=answers)).at == pytest.approx((-3.0, 1.5), abs=1e-4)


def test_what_is_high_does_not_stand_under_the_car():
    answers = {"kit.1": "n", **taped("lr", "rr", (-2.4, 0.2), key="kit.1"), "kit.2": "o", **NOTHING_ELSE}
    assert "kit.1.side" not in asked(AREA, answers, sheet=sheet(DISC), side="left", bay=bay())
    assert found_at(area(one=AREA, answers=answers), "trolley").at == pytest.approx((-2.4, 0.2), abs=1e-4)
    creeper = check("clear_area", {"margin": 0.3, "kit": [{**TROLLEY, "height": 0.15}, STAND]}, per_side=True)
    assert "kit.1.side" in asked(creeper, answers, sheet=sheet(DISC), side="left", bay=bay())


def test_tapes_that_cannot_meet_are_not_done_and_say_why():
    place = {**taped("lf", "lr", (1.0, 2.0)), "other.1.tape1": "0.5 m", "other.1.tape2": "0.6 m"}
    p = part(area(answers=other(place)), "other.1")
    assert p.outcome == "not_done"
    assert p.reason == (
        "Bin: Tapes of 0.5 m and 0.6 m cannot meet: the left front wheel and the left rear wheel are 2.7 m apart."
    )
    assert p.remedy == "Measure both tapes again, and look where each of them begins."


@pytest.mark.parametrize(
    ("tape", "fits"), [("1.6 m", False), ("1.75 m", True), ("3.7 m", True), ("3.9 m", False)]
)
def test_a_tape_that_cannot_meet_the_other_is_refused_as_it_is_typed(tape, fits):
    place = {"other.1.way": "t", "other.1.from1": "lf", "other.1.tape1": "1 m", "other.1.from2": "lr"}
    half = {"other": "y", "other.1.name": "bin", **place}
    question = asked(BARE, half, sheet=sheet(DISC), side="left", bay=bay())["other.1.tape2"]
    if fits:
        assert understood(question, tape, "metric") == (float(tape.split()[0]), "m")
        return
    with pytest.raises(units.UnitsError, match=r"cannot meet: the left rear wheel .* are 2\.7 m apart"):
        understood(question, tape, "metric")


def test_both_tapes_from_one_place_are_refused():
    half = {"other": "y", "other.1.name": "bin", "other.1.way": "t", "other.1.from1": "lr"}
    second = asked(BARE, half, sheet=sheet(DISC), side="left", bay=bay())["other.1.from2"]
    assert "lr" not in [c.value for c in second.choices]
    assert [c.key for c in second.choices] == ["1", *"3456789", "a"]  # keys stay where they are
    twice = other({**taped("lf", "lr", (1.0, 2.0)), "other.1.from1": ("lr", given("lf", minutes=1))})
    moved_on = {**twice, "other.1.from2": "lr", "other.1.from1": (given("lf"), given("lr", minutes=1))}
    p = part(area(answers=moved_on), "other.1")
    assert (p.outcome, p.remedy) == ("not_done", "Take two places that are far apart.")


# --- from the bay --------------------------------------------------------------------------------


@law(st.sampled_from([*CORNERS, "nail"]), somewhere, standings)
def test_lengths_along_the_bay_count_from_a_corner_or_mark(start, at, standing):
    x, y = (CORNERS | {"nail": (4.0, -3.0)})[start]
    lengths = {"other.1.along": metres(at[0] - x), "other.1.across": metres(at[1] - y)}
    answers = other({"other.1.way": "b", "other.1.from": start, **lengths})
    j = area(answers=answers, marks=(NAIL,), standing=standing)
    assert found_at(j).at == pytest.approx(to_car(at, standing), abs=1e-5)


def test_the_hints_say_which_way_the_bay_counts():
    half = {"other": "y", "other.1.name": "bin", "other.1.way": "b", "other.1.from": "corner 3"}
    questions = asked(BARE, half, sheet=sheet(DISC), side="left", bay=bay())
    assert "from corner 1 to corner 2 is positive" in questions["other.1.along"].hint
    assert "from corner 2 to corner 3 is positive" in questions["other.1.across"].hint
    askew = tuple(Point(x=x, y=y) for x, y in ((0, 0), (3, 3), (0, 6), (-3, 3)))
    questions = asked(BARE, half, sheet=sheet(DISC), side="left", bay=bay(outline=askew))
    assert "x grows in the bay's file" in questions["other.1.along"].hint


def test_corners_have_their_numbers_in_the_plan_where_one_measures_from_them():
    half = {"other": "y", "other.1.name": "bin", "other.1.way": "b", "other.1.from": "corner 3"}
    assert Spot("mark", (9.0, 5.0), "corner 3") in area(answers=half).picture
    assert not any(s.role == "mark" for s in area(answers=bin_at(1, 2)).picture)


# --- how sure ------------------------------------------------------------------------------------


def test_from_the_car_the_place_of_the_car_does_not_enter():
    # axes 0.02 m and middle 0.01 m by eye; the disc lies in line with x, so that only the tape along x enters
    p = part(area(answers=bin_at(-1.0, 1.5)), "other.1")
    assert p.u == pytest.approx(math.hypot(0.02, 0.01, TAPE))


def test_from_the_bay_it_does():
    # 0.02 m for the car's place, 0.02 m for the axes by eye, 0.01 m for the middle, 0.01 m for the corner
    lengths = {"other.1.along": "5 m", "other.1.across": "6.5 m"}
    p = part(area(answers=other({"other.1.way": "b", "other.1.from": "corner 1", **lengths})), "other.1")
    assert p.value == pytest.approx(1.0)  # at (-1, 1.5)
    assert p.u == pytest.approx(math.hypot(0.02, 0.02, 0.01, 0.01, TAPE))


def test_two_tapes_at_right_angles_tell_each_their_own_direction():
    # marks at (-3, 0) and (0, 4.5) as the thing at (-3, 4.5) sees them: straight down and straight ahead
    marks = (Mark(name="a", at=Point(x=-3.0, y=0.0)), Mark(name="b", at=Point(x=0.0, y=4.5)))
    place = {
        "other.1.way": "t",
        "other.1.from1": "a",
        "other.1.from2": "b",
        "other.1.tape1": "4.5 m",
        "other.1.tape2": "3 m",
    }
    j = area(answers=other({**place, "other.1.side": "left"}), marks=marks)
    assert found_at(j).at == pytest.approx((-3.0, 4.5))
    # the disc's middle lies straight below: only the tape from a counts, with 0.01 m for the mark
    assert part(j, "other.1").u == pytest.approx(math.hypot(TAPE, 0.01, 0.01, 0.02), rel=1e-3)


def test_tapes_that_meet_too_flat_say_what_would_tell_more():
    """The thing lies nearly on the line of the wheels of the left side, 0.36 m from the disc straight across it."""
    flat = {**other(taped("lf", "lr", (-3.0, 0.72))), "other.1.side": "right"}
    p = part(area(answers=flat, zones=(disc_of(0.42),)), "other.1")
    assert (p.outcome, p.u > 0.05) == ("too_close", True)
    assert p.reason.endswith("Tapes that meet nearer to a right angle would tell more.")
    better = other(taped("lr", "rr", (-3.0, 0.72)))
    sharp = part(area(answers={**better, "other.1.side": "right"}, zones=(disc_of(0.42),)), "other.1")
    assert sharp.u < 0.05
    assert "right angle" not in sharp.reason


def disc_of(radius):
    """A disc about the tests' reflector."""
    return Zone(id="disc", disc=Disc(at=Point(x=-3.0, y=1.5), radius=radius))


def test_a_preset_size_is_not_certain():
    answers = {"kit.1": "n", "kit.1.x": "-1 m", "kit.1.y": "1.5 m", "kit.2": "o", **NOTHING_ELSE}
    p = part(area(one=AREA, answers=answers), "kit.1")
    assert p.value == pytest.approx(1.0 - 0.4)  # 1 m from the disc, with a radius of 0.4 m
    assert p.u == pytest.approx(math.hypot(0.02, 0.01, TAPE, 0.02 / math.sqrt(3)))
    smaller = part(area(one=AREA, answers={**answers, "kit.1.radius": "0.1 m"}), "kit.1")
    assert smaller.value == pytest.approx(0.9)


# --- keys ----------------------------------------------------------------------------------------


def test_outside_is_one_key_an_item():
    answers = {"kit.1": "o", "kit.2": "o", "other": "n"}
    assert list(asked(AREA, answers, sheet=sheet(DISC), side="left")) == ["kit.1", "kit.2", "other"]
    assert {p.outcome for p in area(one=AREA, answers=answers).parts} == {"pass"}


def test_the_way_used_last_is_offered():
    first = {"kit.1": "n", "kit.2": "n"}
    assert asked(AREA, first, sheet=sheet(DISC), side="left")["kit.2.way"].default == "car"
    later = {**first, "kit.1.way": given("t", minutes=1)}
    assert asked(AREA, later, sheet=sheet(DISC), side="left")["kit.2.way"].default == "tapes"


def test_a_place_without_a_way_counts_from_the_car():
    """As in answers that were kept before there were other ways."""
    answers = {"kit.1": "n", "kit.1.x": "-1 m", "kit.1.y": "1.5 m", "kit.2": "o", **NOTHING_ELSE}
    with_way = {**answers, "kit.1.way": "c"}
    a, b = (part(area(one=AREA, answers=x), "kit.1") for x in (answers, with_way))
    assert changed(a, readings=()) == changed(b, readings=())


def test_from_a_corner_at_the_far_end_into_the_bay_is_said_to_be_negative():
    """The bay of the scenes has its corners at -4, -4; 9, -4; 9, 4; -4, 4."""
    told = {"1": (False, False), "2": (True, False), "3": (True, True), "4": (False, True)}
    for corner, negative in told.items():
        answers = {"other": "y", "other.1.name": "bin", "other.1.way": "b", "other.1.from": corner}
        questions = asked(BARE, answers, sheet=sheet(DISC), side="left")
        hints = [questions[f"other.1.{way}"].hint for way in ("along", "across")]
        assert tuple("into the bay is negative here" in hint for hint in hints) == negative
