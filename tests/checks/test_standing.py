"""Where the car stands: hand figures, and simulated cars as the truth."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, settings
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks import place
from readiness.checks.car import car_outline, wheel_places
from readiness.checks.clear_area.known import car_doubt
from readiness.checks.finding import find
from readiness.checks.taped_place import WHEELS_OF, foot_of, mark_keys
from readiness.job import Event, Mark, Point, Standing, Waiver
from readiness.measure.chance import NORMAL_95
from readiness.verdict import judge
from tests.checks.floors import HOLDS, floor, surveyed
from tests.scenes import AT, BAY, NOW, SHEET, asked, check, given, judged, part, scene, visit

CORNERS = {str(n): (p.x, p.y) for n, p in enumerate(BAY.outline, 1)}
"""Of the invented bay: -4, -4; 9, -4; 9, 4; -4, 4."""
INNER = changed(
    BAY, marks=(Mark(name="nail", at=Point(x=-1.0, y=1.5)), Mark(name="drain", at=Point(x=5, y=1.5)))
)
"""The same bay with marks inside it, so that a car can stand on either side of their line."""


def at_place(pose, at):
    c, s = math.cos(math.radians(pose[2])), math.sin(math.radians(pose[2]))
    return pose[0] + c * at[0] - s * at[1], pose[1] + s * at[0] + c * at[1]


def tapes(pose, marks=("4", "3"), wheels="left", places=CORNERS, error=lambda key, wheel: 0.0):
    """Tapes in m by key of the question, from marks to wheels of a car that stands at x, y and heading."""
    return {
        f"tape.{key}.{w}": math.dist(places[key], at_place(pose, foot_of(SHEET, w))) + error(key, w)
        for key, w in product(marks, WHEELS_OF[wheels])
    }


def answers(pose, marks=("4", "3"), wheels="left", **more):
    read = tapes(pose, marks, wheels, **more)
    return {
        "where": "t", "mark.1": marks[0], "mark.2": marks[1], "wheels": wheels,
        **{key: f"{length:.6f} m" for key, length in read.items()},
    }  # fmt: skip


def stands_by(readings, **more):
    return place.where(scene(check("standing"), readings, **more))


def off(found, pose):
    turn = (found.standing.heading - pose[2] + 180) % 360 - 180
    return found.standing.x - pose[0], found.standing.y - pose[1], turn


def inside(pose, least=0.3):
    return all(
        -4 + least < x < 9 - least and -4 + least < y < 4 - least
        for x, y in (at_place(pose, w) for w in wheel_places(SHEET).values())
    )


# --- on its marks, or on chalk -------------------------------------------------------------------


def test_on_the_bays_own_marks_it_passes_and_says_where():
    found = judged(check("standing"), {"where": "m"})
    assert [p.outcome for p in found.parts] == ["pass"]
    # by hand: from 0, 0 it is 4 root 2 to the corners -4, -4 and -4, 4; ahead lies x = 9
    assert found.parts[0].reason == (
        "The car stands on the bay's own marks: middle of the rear axle 5.66 m from corner 1 and 5.66 m from corner "
        "4, nose towards the side from corner 2 to corner 3."
    )
    assert found.notes == ()
    assert stands_by({"where": "m"}).standing == BAY.standing


def test_marks_with_names_are_said_rather_than_corners():
    said = judged(check("standing"), {"where": "m"}, bay=INNER).parts[0].reason
    assert "1.8 m from nail and 5.22 m from drain" in said  # by hand: root of 1 + 2.25, of 25 + 2.25


@pytest.mark.parametrize(
    ("heading", "side"), [(0, "2 to corner 3"), (90, "3 to corner 4"), (180, "4 to corner 1"), (-80, "1 to corner 2")]
)  # fmt: skip
def test_what_the_nose_points_to_is_the_first_side_ahead(heading, side):
    bay = changed(BAY, standing=Standing(x=2, y=1, heading=heading))
    said = judged(check("standing"), {"where": "m"}, bay=bay).parts[0].reason
    assert f"nose towards the side from corner {side}." in said


def test_a_place_that_was_worked_out_counts_from_the_chalk():
    readings = {"where": "c", "plan.x": "3 m", "plan.y": "-1.5 m", "plan.heading": "178 deg"}
    found = stands_by(readings)
    assert found.standing == Standing(x=3.0, y=-1.5, heading=178.0)
    # by hand: two axles within 20 mm of their marks, each of u 20 mm / root 3, 2.7 m apart
    assert found.u_heading == pytest.approx(math.degrees(math.sqrt(2) * 0.02 / math.sqrt(3) / 2.7))
    said = judged(check("standing"), readings)
    assert said.notes == (
        "From the bay's own marks: 3 m forward, 1.5 m to the right, turned the other way round.",
    )
    assert {r.evidence for r in said.parts[0].readings} == {"seen", "told"}


def test_the_place_is_asked_where_it_is_not_known_and_the_latest_counts():
    assert list(asked(check("standing"), {"where": "c"})) == ["where", "plan.x", "plan.y", "plan.heading"]
    found = judged(check("standing"), {"where": "c", "plan.x": "3 m"})
    assert found.parts[0].outcome == "not_done"
    assert stands_by({"where": "c", "plan.x": "3 m"}).missing[0].key == "plan.y"
    twice = {"where": "c", "plan.x": ("3 m", "2 m"), "plan.y": "1 m", "plan.heading": "0"}
    assert stands_by(twice).standing.x == 2.0


def test_a_place_worked_out_is_offered_again_after_the_car_was_moved():
    readings = {"where": "c", "plan.x": "3 m", "plan.y": "-1.5 m", "plan.heading": "178 deg"}
    one = check("standing", voided_by=("car_moved",))
    moved = (Event(event="car_moved", at=AT.replace(minute=5), by="A. Test"),)
    assert asked(one, readings)["where"].default == "chalk"
    later = visit(one, readings={"standing": {**readings, "where": given("c", minutes=6)}}, events=moved)
    questions = {q.key: q for q in place_questions(later, one)}
    assert questions["plan.x"].default == "3 m"
    assert questions["plan.heading"].default == "178 deg"


def place_questions(made, one):
    from readiness.checks.finding import ask

    return ask(made, one, "", NOW)


def test_chalk_outside_the_bay_fails():
    # by hand: front wheels at x = 7 + 2.7, the bay ends at 9
    found = judged(
        check("standing"), {"where": "c", "plan.x": "7 m", "plan.y": "0 m", "plan.heading": "0 deg"}
    )
    assert found.parts[0].outcome == "fail"
    assert found.parts[0].reason.startswith("The car stands 0.7 m outside Invented bay. ")


# --- by tapes ------------------------------------------------------------------------------------

poses = st.tuples(st.floats(-3, 8), st.floats(-3, 2.5), st.floats(-180, 180))


@any_of(
    poses,
    st.sampled_from(sorted(WHEELS_OF)),
    st.sampled_from([("4", "3"), ("1", "2"), ("2", "3"), ("4", "1")]),
)
@settings(max_examples=100, deadline=None)
def test_the_place_and_which_way_the_nose_points_follow_from_four_tapes(pose, wheels, marks):
    assume(inside(pose))
    readings = answers(pose, marks, wheels)
    assume(len(asked(check("standing"), readings)) == 8)  # on one side of the line only
    found = stands_by(readings)
    assume(not found.missing)  # tapes that meet too flat
    assert off(found, pose) == pytest.approx((0, 0, 0), abs=2e-3)
    said = judged(check("standing"), readings)
    assert [p.outcome for p in said.parts] == ["pass", "pass"]


def test_the_tape_goes_to_the_outer_side_of_the_tyre():
    # by hand: half the track of 1.53 m and half of 205 mm
    assert foot_of(SHEET, "lr") == pytest.approx((0.0, 0.765 + 0.1025))
    assert foot_of(SHEET, "rf") == pytest.approx((2.7, -0.775 - 0.1025))


def test_turning_the_whole_bay_changes_nothing_but_its_axes():
    pose, turn = (1.3, -0.4, 7.0), (20.0, -3.0, 33.0)
    there = {key: at_place(turn, at) for key, at in CORNERS.items()}
    bay = changed(BAY, outline=tuple(Point(x=x, y=y) for x, y in there.values()),
                  standing=Standing(x=turn[0], y=turn[1], heading=turn[2]))  # fmt: skip
    here, turned = stands_by(answers(pose)), stands_by(answers(pose), bay=bay)
    assert off(turned, (*at_place(turn, pose[:2]), pose[2] + turn[2])) == pytest.approx((0, 0, 0), abs=2e-3)
    assert (turned.u, turned.u_heading) == pytest.approx((here.u, here.u_heading), rel=1e-3)
    notes = [judged(check("standing"), answers(pose), **more).notes for more in ({}, {"bay": bay})]
    assert notes[0] == notes[1]
    assert "nose turned 7° to the left" in notes[0][0]


def test_a_measured_place_is_kept_to_a_tenth_of_a_millimetre():
    s = stands_by(answers((1.3, -0.4, 7.0))).standing
    assert (s.x, s.y, s.heading) == (round(s.x, 4), round(s.y, 4), round(s.heading, 3))


MADE_WITH = 0.01 / math.sqrt(3)
"""Standard uncertainty of the invented distance meter."""


def simulated(pose, rng, **more):
    """Answers of a person: the meter's error, the tape's end held up to 10 mm off, marks off by 10 mm."""
    places = {key: tuple(np.add(at, rng.normal(0, 0.01, 2))) for key, at in CORNERS.items()}
    return answers(pose, places=places, error=lambda *_: rng.normal(0, MADE_WITH) + rng.uniform(-0.01, 0.01), **more)  # fmt: skip


def test_sound_tapes_agree_and_u_covers_where_the_car_stands():
    rng, good, within = np.random.default_rng(1), [], []
    for _ in range(150):
        pose = (*rng.uniform((-1, -1.5), (3, 1)), rng.uniform(-10, 10))
        found = stands_by(simulated(pose, rng))
        good.append(not found.missing)
        if not found.missing:
            u = np.array([found.u, found.u, found.u_heading])
            within.append(np.abs(off(found, pose)) <= NORMAL_95 * u)
    assert np.mean(good) > 0.95
    assert (np.mean(within, axis=0) > 0.88).all()


def at_the_far_end(pose, rng, wheels, at, way):
    """How far a thing of the bay comes out off, along `way` as the car sees it, and the standard uncertainty told."""
    found = next(
        f for f in iter(lambda: stands_by(simulated(pose, rng, wheels=wheels)), None) if not f.missing
    )
    c, s = math.cos(math.radians(pose[2])), math.sin(math.radians(pose[2]))
    thing = pose[0] + c * at[0] - s * at[1], pose[1] + s * at[0] + c * at[1]
    seen = place.in_car(found.standing, thing)
    return float(np.dot(np.subtract(seen, at), way)), car_doubt(found).towards(way, at)


@pytest.mark.parametrize(("wheels", "at"), [("front", (-4.0, 0.0)), ("rear", (6.0, 0.5))])
def test_what_lies_far_beyond_the_measured_wheels_is_told_no_better_than_it_is(wheels, at):
    # place of the rear axle and heading err together; taken apart they would cover 78 of 100 cases, not 90
    rng = np.random.default_rng(5)
    tries = [at_the_far_end((2.0, 0.2, 3.0), rng, wheels, at, (0.0, 1.0)) for _ in range(200)]
    errors, told = np.array(tries).T
    assert np.mean(np.abs(errors) <= NORMAL_95 * told) > 0.85
    assert np.mean(told) < 1.3 * np.std(errors)  # and hardly worse


def shown_by(pose, slipped):
    """How far a slip of 1 mm in one tape moves the two wheels apart, by scipy."""
    from scipy.optimize import least_squares

    ends = []
    for w in WHEELS_OF["left"]:
        read = {k: tapes(pose)[f"tape.{k}.{w}"] + 0.001 * ((k, w) == slipped) for k in ("4", "3")}

        def miss(p, read=read):
            return [math.dist(CORNERS[k], p) - length for k, length in read.items()]

        ends.append(least_squares(miss, at_place(pose, foot_of(SHEET, w)), xtol=1e-14, ftol=1e-14).x)
    known = math.dist(*(foot_of(SHEET, w) for w in WHEELS_OF["left"]))
    return abs(math.dist(*ends) - known) / 0.001


def test_a_tape_misread_by_a_tenth_of_a_metre_is_found():
    rng, seen = np.random.default_rng(2), []
    while len(seen) < 100:
        pose = (*rng.uniform((-1, -1.5), (3, 1)), rng.uniform(-10, 10))
        slip, by = (("4", "3")[rng.integers(2)], ("lf", "lr")[rng.integers(2)]), rng.choice((-0.1, 0.1))
        if shown_by(pose, slip) < 0.5:
            continue  # this tape lies square to the line of the wheels: the others hardly check it
        read = simulated(pose, rng)
        key = f"tape.{slip[0]}.{slip[1]}"
        read[key] = f"{float(read[key].split()[0]) + by:.6f} m"
        found = judged(check("standing"), read)
        seen.append(part(found, "tapes").outcome == "fail" and part(found, "where").outcome == "not_done")
    assert np.mean(seen) > 0.95


def test_tapes_that_disagree_say_by_how_much_and_the_place_is_not_known():
    readings = answers((1.3, -0.4, 7.0), error=lambda key, wheel: 0.1 if (key, wheel) == ("3", "lf") else 0.0)
    found = judged(check("standing"), readings)
    tape = part(found, "tapes")
    apart = math.dist(*(foot_of(SHEET, w) for w in ("lf", "lr")))
    assert tape.outcome == "fail"
    assert tape.reason.startswith("The tapes disagree: by them the left-hand wheels are ")
    assert f"by the sheet {apart:.1f} m" in tape.reason
    assert tape.value == pytest.approx(shown_by((1.3, -0.4, 7.0), ("3", "lf")) * 100, rel=0.05)  # mm
    assert "read all four again" in tape.remedy
    assert part(found, "where").outcome == "not_done"
    where = stands_by(readings)
    assert where.missing
    assert where.standing == BAY.standing


def test_swapped_tapes_are_told():
    read = answers((1.3, -0.4, 7.0), ("1", "4"), "right")
    read["tape.1.rf"], read["tape.1.rr"] = read["tape.1.rr"], read["tape.1.rf"]
    tape = part(judged(check("standing"), read), "tapes")
    assert tape.outcome == "fail"
    assert "from corner 1 to the right front wheel and from corner 1 to the right rear wheel" in tape.remedy


def test_tapes_that_do_not_meet_say_to_which_wheel():
    readings = {**answers((1.3, -0.4, 0.0)), "tape.4.lf": "4 m", "tape.3.lf": "5 m"}
    tape = part(judged(check("standing"), readings), "tapes")
    assert tape.outcome == "fail"
    assert tape.reason == (  # by hand: the corners are 13 m apart
        "The tapes to the left front wheel do not meet: from corner 4 and corner 3 they are together too short by "
        "4000 mm."
    )


def test_marks_in_line_with_the_wheels_tell_too_little():
    bay = changed(BAY, marks=(Mark(name="a", at=Point(x=-3, y=0.88)), Mark(name="b", at=Point(x=8, y=0.88))))
    places = {"a": (-3, 0.88), "b": (8, 0.88)}
    found = judged(check("standing"), answers((0, 0, 0), ("a", "b"), places=places), bay=bay)
    assert part(found, "tapes").outcome == "not_done"
    assert "tell little" in part(found, "tapes").reason
    assert part(found, "where").outcome == "not_done"


def test_a_place_outside_the_bay_fails():
    found = judged(check("standing"), answers((7.5, 0, 0)))
    assert part(found, "tapes").outcome == "pass"
    assert part(found, "where").outcome == "fail"
    assert "1.2 m outside Invented bay" in part(found, "where").reason  # by hand: 7.5 + 2.7 - 9


# --- either side of the marks --------------------------------------------------------------------

NAILS = {"a": (-1.0, 1.5), "b": (5.0, 1.5)}


@pytest.mark.parametrize(("line", "pose"), [("right", (1, 0, 3.0)), ("left", (3.7, 2.97, -177.0))])
def test_where_the_car_can_be_on_either_side_it_is_asked_which(line, pose):
    # left-hand wheels nearly 0.6 m to the right of the line, and a car turned round as far to its left
    readings = answers((1, 0, 3.0), ("a", "b"), places=NAILS)
    questions = asked(check("standing"), readings, bay=INNER)
    assert list(questions)[-1] == "line"
    assert questions["line"].hint == "looking along the line from nail to drain"
    assert stands_by(readings, bay=INNER).missing[0].key == "line"
    found = stands_by({**readings, "line": line}, bay=INNER)
    if line == "right":
        assert off(found, pose) == pytest.approx((0, 0, 0), abs=2e-3)
    else:  # by hand: the wheels' mirror images about y = 1.5
        both = [at_place((1, 0, 3.0), foot_of(SHEET, w)) for w in ("lf", "lr")]
        there = (found.standing.x, found.standing.y, found.standing.heading)
        for w, (x, y) in zip(("lf", "lr"), both, strict=True):
            assert at_place(there, foot_of(SHEET, w)) == pytest.approx((x, 3 - y), abs=2e-3)
    said = judged(check("standing"), {**readings, "line": line}, bay=INNER)
    assert "fit on the other side of the line from nail to drain" in said.details[-1]


def test_corners_and_marks_have_a_key_each_however_many_there_are():
    round_bay = changed(
        INNER,
        outline=tuple(
            Point(x=9 * math.cos(k / 6 * math.pi), y=9 * math.sin(k / 6 * math.pi)) for k in range(12)
        ),
    )
    keys = mark_keys(round_bay)
    assert sorted(keys.values()) == sorted(["nail", "drain", *(f"corner {n}" for n in range(1, 13))])
    assert (keys["a"], keys["1"], keys["9"], keys["c"]) == ("nail", "corner 1", "corner 9", "corner 10")
    first = asked(check("standing"), {"where": "t", "mark.1": "corner 2"}, bay=round_bay)
    assert "corner 2" not in [c.value for c in first["mark.2"].choices]


# --- what the others get -------------------------------------------------------------------------


def both(readings, bay, **more):
    one, two = check("standing", voided_by=("car_moved",)), floor()
    return visit(one, two, readings={"standing": readings, "floor": HOLDS}, bay=bay, **more), one, two


def test_the_floor_is_judged_where_the_car_really_stands():
    # a floor that rises in one corner only; the same car on the bay's own marks there is the outside answer
    def height(x, y):
        return 3.0 * max(0.0, x + y)

    pose = (1.1, -0.6, 12.0)
    bay = surveyed(height, xs=(-4, -2, 0, 2, 4, 6), ys=(-3, -1, 1, 3))
    own = judged(floor(), HOLDS, bay=changed(bay, standing=Standing(x=1.1, y=-0.6, heading=12.0)))
    marks = judged(floor(), HOLDS, bay=bay)
    for readings in (
        {"where": "c", "plan.x": "1.1 m", "plan.y": "-0.6 m", "plan.heading": "12 deg"}, answers(pose),
    ):  # fmt: skip
        made, _, two = both(readings, bay)
        found = find(made, two, "", NOW)
        for key in ("slope_along", "slope_across", "twist", "target.reflector.1"):
            value = next(p.value for p in found.parts if p.key == key)
            assert value == pytest.approx(part(own, key).value, abs=0.02)
            assert value != pytest.approx(part(marks, key).value, abs=0.02)


def test_the_floor_waits_until_it_is_said_where_the_car_stands():
    bay = surveyed(lambda x, y: 0.0)
    made, _, two = both({}, bay)
    found = find(made, two, "", NOW)
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert found.parts[0].reason.endswith("First say where the car stands: answer Standing.")
    made, _, two = both({"where": "m"}, bay)
    assert find(made, two, "", NOW).outcome == "pass"


def test_a_car_that_was_moved_stands_nowhere_until_it_is_said_again():
    moved = (Event(event="car_moved", at=AT.replace(minute=5), by="A. Test"),)
    made, one, two = both({"where": "m"}, surveyed(lambda x, y: 0.0), events=moved)
    assert find(made, one, "", NOW).outcome == "lapsed"
    found = find(made, two, "", NOW)
    assert found.outcome == "lapsed"
    assert "say where the car stands again, for the car was moved at 09:05" in found.reason


def test_tapes_that_disagree_leave_the_floor_unknown():
    readings = answers((1.3, -0.4, 7.0), error=lambda key, wheel: 0.3 if (key, wheel) == ("3", "lf") else 0.0)
    made, _, two = both(readings, surveyed(lambda x, y: 0.0))
    assert (
        "It is not known where the car stands: put Standing right."
        in find(made, two, "", NOW).parts[0].reason
    )


def test_set_aside_the_car_stands_on_the_bays_own_marks_and_it_blocks():
    waiver = Waiver(check="standing", reason="no bay", at=AT, by="A. Test")
    made, one, two = both({}, surveyed(lambda x, y: 0.0), waivers=(waiver,))
    assert find(made, two, "", NOW).outcome == "pass"
    assert find(made, one, "", NOW).outcome == "waived"
    assert judge(made, NOW).go is False


def test_a_checklist_that_does_not_ask_takes_the_bays_own_marks():
    found = place.where(scene(floor(), HOLDS, bay=surveyed(lambda x, y: 0.0)))
    assert (found.standing, found.missing, found.why) == (BAY.standing, (), "")


# --- beside the judgement ------------------------------------------------------------------------


def test_the_picture_shows_the_bay_as_the_car_sees_it_with_the_tapes():
    pose = (1.3, -0.4, 90.0)
    found = judged(check("standing"), answers(pose))
    lines = [s for s in found.picture if s.role == "clearance"]
    assert len(lines) == 4
    # by hand: seen by a car at 1.3, -0.4 that looks along y, corner 4 at -4, 4 lies 4.4 ahead and 5.3 to the left
    assert lines[0].points[0] == pytest.approx((4.4, 5.3), abs=2e-3)
    assert lines[0].points[1] == pytest.approx(foot_of(SHEET, "lf"))
    assert car_outline(SHEET) in found.picture


def test_a_shop_in_feet_reads_feet():
    from tests.scenes import SHOP

    found = judged(check("standing"), answers((1.3, -0.4, 7.0)), shop=changed(SHOP, units="us"))
    assert " ft apart, by the sheet " in part(found, "tapes").reason
    assert " m " not in part(found, "where").reason
    assert " m " not in " ".join(found.details).replace(" m,", "")


@pytest.mark.parametrize("name", ["closing", "mark_u"])
def test_limits_of_nothing_are_refused(name):
    from readiness.checks.standing import Limits

    assert [p[0] for p in Limits(**{name: 0.0}).problems()] == [name]
    assert list(Limits().problems()) == []
