"""Clear area: long things and steel that are told of, and where the car stands before anything is judged."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from readiness.checks import kinds
from readiness.checks.picture import Circle, Line, Outline
from tests.checks.areas import AREA, BARE, DISC, NOTHING_ELSE, area, bay, bin_at, found_at, post, sheet
from tests.scenes import AT, NOW, asked, check, part, scene, visit

# --- long things and steel -----------------------------------------------------------------------


def test_something_long_has_two_ends():
    words = {"other": "l", "other.1.name": "ladder", "other.1.metal": "y", "other.1.more": "n"}
    ends_ = {"other.1.x": "-5 m", "other.1.y": "3 m", "other.1.end.x": "-1 m", "other.1.end.y": "3 m"}
    j = area(answers={**words, **ends_})
    assert found_at(j, "ladder") == Line(
        "obstacle", ((-5.0, 3.0), (-1.0, 3.0)), "ladder", False, found_at(j, "ladder").note
    )
    assert part(j, "other.1").value == pytest.approx(0.5)  # the disc ends at y = 2.5
    wide = area(answers={**words, **ends_, "other.1.radius": "0.25 m"})
    assert isinstance(found_at(wide, "ladder"), Outline)
    assert part(wide, "other.1").value == pytest.approx(0.25)


def test_one_end_is_not_enough():
    words = {"other": "l", "other.1.name": "ladder", "other.1.metal": "y", "other.1.more": "n"}
    j = area(answers={**words, "other.1.x": "-5 m", "other.1.y": "3 m"})
    assert part(j, "other.1").outcome == "not_done"


def test_steel_in_the_floor_is_metal_that_stays_and_belongs_into_the_bays_file():
    answers = {
        "other": "s",
        "other.1.name": "drain cover",
        "other.1.x": "-3 m",
        "other.1.y": "1.5 m",
        "other.1.more": "n",
    }
    questions = asked(BARE, answers, sheet=sheet(DISC), side="left")
    assert "other.1.metal" not in questions
    j = area(answers=answers)
    assert part(j, "other.1").outcome == "fail"
    assert part(j, "other.1").remedy == "The drain cover is fixed: choose another place or bay for the car."
    assert "Put the drain cover into the bay's file" in " ".join(j.notes)


def test_a_thing_of_the_bay_is_not_asked_for():
    assert list(asked(BARE, sheet=sheet(DISC), bay=bay(post(1, 1)), side="left")) == ["other"]


def test_a_disc_is_drawn_as_wide_as_it_is():
    j = area(answers=bin_at(-3.0, 3.5, radius="0.25 m"))
    assert isinstance(found_at(j), Circle)
    assert (found_at(j).at, found_at(j).radius) == ((-3.0, 3.5), 0.25)


def test_answers_of_the_car_are_those_of_both_sides():
    answers = {"kit.1": "n", "kit.1.way": "t"}
    for side in ("left", "right"):
        questions = asked(AREA, answers, sheet=sheet(DISC), side=side, bay=bay())
        assert all(q.shared for q in questions.values())
    assert scene(AREA, answers, sheet=sheet(DISC), side="right").word("kit.1.way", shared=True) == "tapes"


# --- where the car stands ------------------------------------------------------------------------

STANDING = check("standing", {}, hold=45.0, title="Place")


def with_standing(said):
    """What the clear area says of a post in the disc, after these answers on where the car stands."""
    made = visit(
        STANDING, BARE, readings={"standing": said, (BARE.id, "left"): NOTHING_ELSE}, sheet=sheet(DISC),
        bay=bay(post(-3.0, 3.5)), sides=("left",),
    )  # fmt: skip
    return kinds()[BARE.kind].judge(made.scene(BARE, "left", NOW), BARE.limits)


def test_before_it_is_known_where_the_car_stands_nothing_is_said_of_the_bays_things():
    j = with_standing({})
    assert {p.key: p.outcome for p in j.parts} == {"place": "not_done", "other": "pass"}
    assert "Place" in part(j, "place").remedy
    assert (j.details, j.notes) == ((), ())  # not that nothing stands there, either


def test_the_heading_of_the_car_acts_with_its_lever():
    # each axle stands off its marks by 0.02 m at most: sqrt 2 x 0.02 / sqrt 3 / 2.7 rad, at the post's x of -3 m
    turn = math.sqrt(2) * 0.02 / math.sqrt(3) / 2.7
    p = part(with_standing({"where": "m"}), "disc/bay.1")
    assert p.value == pytest.approx(1.0)
    assert p.u == pytest.approx(math.hypot(0.02, 0.02, 3.0 * turn))


def test_it_ends_when_the_place_of_the_car_does():
    assert with_standing({"where": "m"}).until == AT + timedelta(minutes=45)
    assert with_standing({}).until is None
