"""Which readings can be drawn, and what makes one likelier: each reason by itself, by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checklist.model import Step
from readiness.job import Again, Event, Fix, Waiver
from readiness.spotcheck.candidates import (
    CHANGED,
    COARSE_TOOL,
    NEAR_ITS_LIMIT,
    POINTS,
    SEEN,
    SET_ASIDE,
    TOLD,
    candidates,
)
from tests.scenes import AT, NOW, check, visit
from tests.scenes import given as answer

U = sqrt(1 / 3 + 1 / 12)
"""mm; of the tape of the scenes: a = 1 mm, d = 1 mm."""


def item(key, low="100 mm", high="300 mm", measures="length", unit="mm"):
    return {"key": key, "label": f"Item {key}", "measures": measures, "low": low, "high": high,
            "plausible_low": f"-90 {unit}", "plausible_high": f"999 {unit}"}  # fmt: skip


def lengths(gap="200 mm", *, low="100 mm", high="300 mm", **more):
    one = check("readings", {"items": [item("gap", low, high)]}, voided_by=("car_moved",))
    return visit(one, readings={"readings": {"gap": gap}}, **more)


def states(shut="y", hold=60.0, **more):
    one = check(
        "states", {"items": [{"key": "shut", "label": "Doors shut"}]}, hold=hold, voided_by=("door_opened",)
    )
    return visit(one, readings={"states": {"shut": shut}}, **more)


def the_one(seen, now=NOW, touched=()):
    [found] = candidates(seen, now, touched).found
    assert found.weight == 1 + sum(POINTS[why] for why in found.why)
    return found


def none(seen, now=NOW):
    found = candidates(seen, now)
    assert found.found == ()
    return list(found.others.values())


def test_a_plain_reading_has_nothing_that_makes_it_likelier():
    found = the_one(lengths())
    assert (found.what, found.weight, found.why) == ("Readings, Item gap", 1, ())
    assert the_one(states()).why == ()


@given(st.floats(-12, 12))
@settings(deadline=None, max_examples=40)
def test_near_is_within_two_guard_bands_on_either_side(apart):
    """Of the lower limit, 100 mm; the guard band is 1.645 u."""
    seen = lengths(f"{100 + apart * U:.6f} mm")
    assert (NEAR_ITS_LIMIT in the_one(seen).why) == (abs(apart) <= 2 * 1.645 + 1e-5 and abs(apart) < 3.29)


@pytest.mark.parametrize(
    ("reading", "why"),
    [
        (answer("200 mm", evidence="told"), (TOLD,)),
        (answer("200 mm", evidence="seen"), (SEEN,)),
        ((answer("200 mm"), answer("200 mm", minutes=1)), (CHANGED,)),
    ],
)
def test_how_it_is_known_counts(reading, why):
    assert the_one(lengths(reading)).why == why


def test_a_state_that_was_seen_is_no_worse_for_that():
    assert the_one(states(answer("y", evidence="seen"))).why == ()
    assert the_one(states(answer("y", evidence="told"))).why == (TOLD,)


@pytest.mark.parametrize(("width", "coarse"), [(8 * U * 1.01, False), (8 * U * 0.99, True)])
def test_coarse_is_an_eighth_of_the_zone(width, coarse):
    seen = lengths("100 mm", low=f"{100 - width / 2:.6f} mm", high=f"{100 + width / 2:.6f} mm")
    assert (COARSE_TOOL in the_one(seen).why) == coarse


def test_what_was_changed_or_set_aside_is_likelier():
    seen = lengths()
    assert the_one(seen, touched={("readings", "", "gap")}).why == (CHANGED,)
    aside = Waiver(check="readings", reason="no use", at=AT + timedelta(minutes=1), by="x")
    assert the_one(lengths(waivers=(aside,))).why == (SET_ASIDE,)


def test_what_was_voided_is_not_drawn_and_the_event_is_named():
    moved = Event(event="car_moved", at=AT + timedelta(minutes=2), by="x")
    assert none(lengths(events=(moved,))) == ["voided: the car was moved at 09:02"]
    opened = Event(event="door_opened", at=AT + timedelta(minutes=2), by="x")
    [why] = none(states(events=(opened,)))
    assert why == "voided: a door, bonnet, boot or window was opened at 09:02"


def test_a_road_test_moved_the_car_though_nobody_said_so():
    road = check("road_test", {})
    gap = check("readings", {"items": [item("gap")]}, voided_by=("car_moved",))
    free = check("readings", {"items": [item("free")]}, id="free")
    after = {"closing": (Step(id="after", title="After", checks=("road_test",)),)}
    steps = {"steps": (Step(id="all", title="All", checks=("readings", "free")),)}

    def driven(made):
        answers = {
            "readings": {"gap": "200 mm"},
            "free": {"free": "200 mm"},
            "road_test": {"made": answer(made, minutes=5)},
        }
        return candidates(visit(gap, free, road, readings=answers, **steps, **after), NOW)

    assert len(driven("n").found) == 2
    found = driven("y")
    assert [c.stop.question.key for c in found.found] == ["free"]
    assert list(found.others.values()) == ["voided: the car was moved at 09:05"]


def test_what_was_put_right_is_drawn_only_as_read_since():
    fixed = Fix(check="readings", question="gap", at=AT + timedelta(minutes=2), by="x")
    assert none(lengths(fixes=(fixed,))) == ["fixed since and not read again"]
    again = lengths((answer("90 mm"), answer("200 mm", minutes=3)), fixes=(fixed,))
    assert the_one(again).answer.estimate.value == 200


def test_a_length_is_as_it_was_for_ever_and_a_state_as_long_as_it_holds():
    late = AT + timedelta(days=3)
    assert the_one(lengths(), late).what == "Readings, Item gap"
    assert none(states(), late) == ["whose time is over, as they change with time"]
    assert the_one(states(), AT + timedelta(minutes=59)).what == "States, Doors shut"


@pytest.mark.parametrize(
    ("measures", "unit"), [("temperature", "degC"), ("illuminance", "lx"), ("voltage", "V")]
)
def test_what_changes_by_itself_is_drawn_only_as_long_as_it_holds(measures, unit):
    one = check("readings", {"items": [item("it", f"1 {unit}", f"90 {unit}", measures, unit)]})
    seen = visit(one, readings={"readings": {"it": f"20 {unit}"}})
    assert the_one(seen).what == "Readings, Item it"
    assert none(seen, AT + timedelta(minutes=61)) == ["whose time is over, as they change with time"]


def test_a_number_without_its_instrument_is_not_drawn():
    assert none(lengths(answer("200 mm", instrument=""))) == [
        "without an instrument, so that nobody knows how sure they are"
    ]


def test_how_something_was_measured_is_not_drawn_nor_what_was_only_told_of_before():
    limits = {
        "pressure_below": 10.0,
        "pressure_above": 20.0,
        "side_difference": 10.0,
        "least_tread": 1.6,
        "tread_difference": 3.0,
    }
    seen = visit(
        check("tyres", limits), readings={"tyres": {"parked": "stood", "air": "20 degC", "sizes": "y"}}
    )
    assert {c.what for c in candidates(seen, NOW).found} == {
        "Air in the bay",
        "Tyres, All four as the placard",
    }


def test_what_was_checked_is_not_drawn_again_unless_it_was_left_out():
    seen = lengths()
    [first] = seen.job.readings
    again = Again(spot_check=9, entry=4, at=NOW, by="x", what="gap", outcome="agrees")

    def with_(outcome):
        job = changed(
            seen.job, readings=(changed(first, number=4),), again=(changed(again, outcome=outcome),)
        )
        return replace(seen, job=job)

    assert none(with_("agrees")) == ["checked before"]
    assert none(with_("differs")) == ["checked before"]
    assert the_one(with_("not compared")).why == ()


def test_both_sides_are_named():
    one = check("readings", {"items": [item("gap")]}, per_side=True)
    seen = visit(
        one,
        sides=("left", "right"),
        readings={("readings", side): {"gap": "200 mm"} for side in ("left", "right")},
    )
    assert [c.what for c in candidates(seen, NOW).found] == [
        "Readings, left, Item gap",
        "Readings, right, Item gap",
    ]
