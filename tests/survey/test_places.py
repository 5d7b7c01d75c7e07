"""Which places are proposed, in which order, and which level runs between them."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.car import foot_places, wheel_places
from readiness.job import Disc, Obstacle, Point, Target
from readiness.survey.links import bridges, linked, pieces
from readiness.survey.net import free_name, runs, with_node, with_run, without, without_run
from readiness.survey.order import walked
from readiness.survey.places import ONE_PLACE, Use, in_bay, propose, wanted
from readiness.survey.room import Room
from readiness.survey.surveying import nodes_of, questions
from tests.scenes import SHEET
from tests.survey.floors import L_SHAPED, POST, ROOM, bay, rooms, surveying, uses

lengths = st.floats(1.0, 3.0)
BOTH = (Use(SHEET, ("left", "right")),)


def places_of(nodes):
    return [(n.x, n.y) for n in nodes]


def edges_of(nodes, planned):
    at = {n.name: k for k, n in enumerate(nodes)}
    return [(at[a], at[b]) for a, b in planned]


@settings(max_examples=60, deadline=None)
@given(rooms(), uses(), st.sampled_from(["laser", "level"]), lengths)
def test_every_wheel_and_foot_in_the_bay_is_covered(room, used, way, length):
    nodes = propose(room, used, way, length if way == "level" else None)
    floor = Room(room)
    for sheet, sides in used:
        for at in (*wheel_places(sheet).values(), *foot_places(sheet, sides).values()):
            x, y = in_bay(room.standing, at)
            if floor.holds((x, y)):
                assert min(math.dist((x, y), p) for p in places_of(nodes)) < ONE_PLACE
    assert all(floor.holds(p) for p in places_of(nodes))
    assert [n.name for n in nodes] == [str(k) for k in range(1, len(nodes) + 1)]
    assert len(set(places_of(nodes))) == len(nodes)


@settings(max_examples=60, deadline=None)
@given(rooms(), uses(), lengths)
def test_level_runs_join_all_places_and_none_is_too_long(room, used, length):
    nodes = propose(room, used, "level", length)
    planned = runs(nodes, length, Room(room))
    at = dict(zip((n.name for n in nodes), places_of(nodes), strict=True))
    assert all(0 < math.dist(at[a], at[b]) <= length for a, b in planned)
    assert len({frozenset(r) for r in planned}) == len(planned)
    assert len(set(pieces(len(nodes), edges_of(nodes, planned)))) == 1
    order = [max(map(int, r)) for r in planned]
    assert order == sorted(order), "a run is read when its later place is reached"


@settings(max_examples=40, deadline=None)
@given(uses(), lengths)
def test_in_an_open_room_every_run_can_be_checked_by_a_walk_round(used, length):
    nodes = propose(ROOM, used, "level", length)
    planned = runs(nodes, length, Room(ROOM))
    assert bridges(len(nodes), edges_of(nodes, planned)) == []
    assert all(sum(n.name in r for r in planned) >= 2 for n in nodes)


def test_about_three_runs_are_read_for_two_places():
    nodes = propose(ROOM, BOTH, "level", 2.0)
    assert 1.4 <= len(runs(nodes, 2.0)) / len(nodes) <= 1.6


def test_a_way_is_found_round_a_corner():
    hidden = Target(id="hidden", at=SHEET.targets[0].at, feet=(Point(x=-4.0, y=7.0),))
    used = (Use(changed(SHEET, targets=(hidden,)), ("single",)),)
    room = Room(L_SHAPED)
    nodes = propose(L_SHAPED, used, "level", 1.5)
    planned = runs(nodes, 1.5, room)
    at = dict(zip((n.name for n in nodes), places_of(nodes), strict=True))
    assert any("hidden" in n.what for n in nodes)
    assert all(room.clear(at[a], at[b]) for a, b in planned), "no run leaves the bay"
    assert len(set(pieces(len(nodes), edges_of(nodes, planned)))) == 1


def test_a_run_is_laid_beside_a_post_and_not_through_it():
    room = bay(obstacles=(POST,))
    nodes = propose(room, BOTH, "level", 2.0)
    at = dict(zip((n.name for n in nodes), places_of(nodes), strict=True))
    for a, b in runs(nodes, 2.0, Room(room)):
        assert Room(room).clear(at[a], at[b])


def test_a_wheel_on_a_thing_is_joined_all_the_same():
    under = Obstacle(name="ramp", disc=Disc(at=Point(x=4.5, y=4.765), radius=0.4), metal="yes")
    room = bay(obstacles=(under,))
    nodes = propose(room, BOTH, "level", 1.5)
    assert len(set(pieces(len(nodes), edges_of(nodes, runs(nodes, 1.5, Room(room)))))) == 1


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 9), st.floats(0, 9)), min_size=1, max_size=14, unique=True))
def test_no_stretch_of_the_walk_is_shorter_the_other_way_round(places):
    way = walked(places)
    assert sorted(way) == list(range(len(places)))
    assert way[0] == 0

    def length(order):
        return sum(math.dist(places[a], places[b]) for a, b in pairwise(order))

    for i in range(1, len(way)):
        for j in range(i + 1, len(way) + 1):
            assert length(way) <= length([*way[:i], *way[i:j][::-1], *way[j:]]) + 1e-6


def test_places_of_two_cars_that_are_one_bear_both_names():
    other = changed(SHEET, car="Other van", targets=())
    nodes = propose(ROOM, (*BOTH, Use(other, ("single",))), "laser")
    assert nodes[0].what == "left front wheel of the Invented estate and the Other van"
    assert sum("wheel" in n.what for n in nodes) == 4


def test_feet_are_called_by_target_and_side_and_what_lies_outside_is_left_out():
    feet = [n.what for n in propose(ROOM, BOTH, "laser") if "foot" in n.what]
    assert sorted(feet) == sorted(
        f"foot {n} of the reflector, {s} side" for n in (1, 2) for s in ("left", "right")
    )
    small = bay(((2, 2), (10, 2), (10, 8), (2, 8)))
    assert len(wanted(small, BOTH)) == 8
    left = [n.what for n in propose(small, BOTH, "laser") if "foot" in n.what]
    assert len(left) < 4
    assert all(2 <= n.x <= 10 for n in propose(small, BOTH, "laser"))


# --- changing the plan ---------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 9.5), st.floats(0.5, 7.5))
def test_a_place_more_is_joined_to_its_neighbours(x, y):
    survey = surveying("level", straightedge=3.0)
    assume(min(math.dist((x, y), p) for p in places_of(survey.nodes)) > 0.06)
    plan = with_node(survey, x, y, "by the drain", room=Room(ROOM))
    new = next(n for n in plan.nodes if n.what == "by the drain")
    assert new.name == free_name(survey)
    assert plan.nodes[0] == survey.nodes[0], "the walk begins where it began"
    assert set(survey.runs) <= set(plan.runs)
    near = min(math.dist((x, y), p) for p in places_of(survey.nodes))
    assert any(new.name in r for r in plan.runs) == (near <= 3.0)


@pytest.mark.parametrize("k", range(8))
def test_a_place_less_leaves_no_piece_apart(k):
    survey = surveying("level", straightedge=3.0)
    gone = survey.nodes[k].name
    plan = without(survey, gone, Room(ROOM))
    assert gone not in [n.name for n in plan.nodes]
    assert not any(gone in r for r in plan.runs)
    assert {r for r in survey.runs if gone not in r} <= set(plan.runs), "what was read stays"
    assert len(set(pieces(len(plan.nodes), edges_of(plan.nodes, plan.runs)))) == 1


def test_runs_are_added_and_left_out_one_by_one():
    survey = surveying("level")
    places = {n.name: (n.x, n.y) for n in survey.nodes}
    reached = [(b, a) for a in places for b in places if 0 < math.dist(places[a], places[b]) <= 2.0]
    new = next(r for r in reached if not {r, r[::-1]} & set(survey.runs))
    assert with_run(survey, new).runs == (*survey.runs, new)
    assert with_run(survey, survey.runs[0][::-1]).runs == survey.runs
    assert without_run(survey, survey.runs[0]).runs == survey.runs[1:]


def test_a_run_that_cannot_be_is_refused():
    survey = surveying("level")
    a, b = survey.nodes[0].name, survey.nodes[-1].name
    for run, said in (
        ((a, b), "apart and the straightedge is 2.00 m"),
        ((a, a), "itself"),
        ((a, "99"), "no place 99"),
    ):
        with pytest.raises(ValueError, match=said):
            with_run(survey, run)


def test_a_place_that_is_there_is_not_added_again():
    survey = surveying("laser")
    with pytest.raises(ValueError, match="The place 3 lies there already"):
        with_node(survey, survey.nodes[2].x + 0.02, survey.nodes[2].y)


@pytest.mark.parametrize("name", ["a-b", "x.1", "", " ", "much too long for a floor", "ä"])
def test_names_that_cannot_be_chalked_or_keyed_are_refused(name):
    survey = surveying("laser")
    if name.strip():
        with pytest.raises(ValueError, match="letters and digits"):
            with_node(survey, 1, 1, name=name)
    else:
        assert with_node(survey, 1, 1, name=name).nodes
    with pytest.raises(ValueError, match="already"):
        with_node(survey, 1, 1, name="1")


def test_every_question_knows_its_places_and_keys_are_unique():
    for way in ("laser", "level"):
        survey = surveying(way)
        asked = questions(survey)
        assert len({q.key for q in asked}) == len(asked)
        assert {n for q in asked for n in nodes_of(q.key, survey)} == {n.name for n in survey.nodes}
        assert all(q.measures == ("height" if way == "laser" else "slope") for q in asked)
        assert all(len(q.hint) > 10 for q in asked)


def test_a_single_place_or_none_asks_nothing_impossible():
    assert propose(ROOM, (), "laser") == ()
    assert runs((), 2.0) == ()
    assert linked([], 2.0, Room(ROOM)) == []
    assert walked([]) == []
