"""What one sees at each question: there is something at all of them, and what a careful person types is understood."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.checks import walking
from readiness.checks.entry import understood
from readiness.checks.kind import SHARED
from readiness.practice.exercise import with_fault
from readiness.practice.faults import CATALOGUE
from readiness.practice.filling import blank, filled, said_in, skipped
from readiness.practice.ground import moment, sheets
from readiness.practice.looking import AWAY, best, look, truly
from readiness.practice.model import Sight
from readiness.verdict import judge
from tests.practice.apprentices import careful, played
from tests.practice.cars import NOW, everywhere, sides_of, sound_car

LONGEST = 180
"""Characters that find room beside the form of a screen of 80x24."""


def asked_of(car, answer):
    """Every question that a walk of this car comes to, with the visit at that moment."""
    stops = []

    def respond(visit, stop):
        stops.append((visit, stop))
        return answer(visit, stop)

    filled(blank(car.world, moment()), respond, moment())
    return stops


def each_question(car):
    from tests.practice.apprentices import Walk

    walk = Walk(car, moment())
    return asked_of(car, lambda visit, stop: careful(walk, visit, stop))


@pytest.mark.parametrize("sheet", sheets())
def test_every_question_of_every_car_has_a_sight_and_a_good_answer(sheet):
    cars = [sound_car(str(seed), sheet) for seed in range(8)]
    cars += [with_fault("q", CATALOGUE[id], sheet, sides_of(sheet)) for id, on in everywhere() if on == sheet]
    for car in cars:
        for visit, stop in each_question(car):
            said, tool = said_in(visit), best(car.world.instruments, stop.question.measures)
            seen = car.look(stop.place, tool, 0, said)
            assert seen.words != AWAY, stop.place
            assert seen.words.endswith("."), seen.words
            assert len(seen.words) <= LONGEST, seen.words
            if skipped(stop):
                continue
            text = truly(car.world, stop.place, said)
            understood(stop.question, text, "metric", _division(car, tool))
            if seen.typed:
                understood(stop.question, seen.typed, "metric", _division(car, tool))


def _division(car, tool):
    return car.world.instruments[tool].division if tool else ""


@pytest.mark.parametrize("way", ["car", "tapes", "bay"])
@pytest.mark.parametrize("sheet", sheets())
def test_a_thing_is_found_where_it_stands_by_each_way_of_placing_it(sheet, way):
    """Own kit in a zone fails by every way; the engine's clearance agrees with the true one to what tapes leave open."""
    from dataclasses import replace

    from readiness.measure.plan import DiscAt
    from readiness.practice.sound import clearances

    for seed in "abc":
        car = with_fault(seed, CATALOGUE["trolley-in-zone"], sheet, sides_of(sheet)[:1])
        thing = replace(car.world.kit[1], way=way)
        car = replace(car, world=replace(car.world, kit={1: thing}, others=()))
        said = played(car, careful)
        topic = car.planted[0].topic
        found = judge(said.visit, NOW).sides[car.sides[0]].finding(topic[0])
        part = next(p for p in found.parts if p.key == "kit.1")
        assert part.outcome == "fail"
        margin = car.world.check("clear_area").limits.margin
        worst = min(clearances(car.world, DiscAt(*thing.at, thing.radius)))
        assert part.margin <= worst - margin + 0.05


def test_states_do_not_say_the_answer():
    car = sound_car("1", "tern-rear-corner")
    for _, stop in each_question(car):
        if stop.question.type == "choice" and stop.question.choices[0].value == "yes":
            assert not car.look(stop.place, "").typed


def test_a_gauge_shows_its_unit():
    car = with_fault("a", CATALOGUE["gauge-in-psi"], "tern-rear-corner", ("left",))
    shown = car.look(("tyres", "", "pressure.lf"), "gauge-1")
    assert shown.typed.endswith(" psi")
    assert shown.typed in shown.words
    assert 34.0 < float(shown.typed.split()[0]) < 37.0  # 244 kPa are 35.4 psi (6.894757 kPa, NIST SP 811)


def test_a_number_wants_an_instrument_that_measures_it():
    car = sound_car("1", "tern-rear-corner")
    place = ("tyres", "", "pressure.lf")
    for tool in ("", "lux-1", "no-such"):
        assert car.look(place, tool) == Sight("That takes an instrument that measures pressure: choose one.")


def test_the_same_look_shows_the_same_and_another_may_differ():
    car = sound_car("1", "tern-rear-corner")
    place = ("light", "", "light.1")
    assert car.look(place, "lux-1", 3) == car.look(place, "lux-1", 3)
    assert len({car.look(place, "lux-1", n).typed for n in range(20)}) > 1


def test_a_level_read_both_ways_gives_away_its_zero():
    """Half of the sum of both readings, with one turned, is the zero error (level both ways round, common practice)."""
    car = with_fault("a", CATALOGUE["level-zero"], "pipit-front", ("single",))
    one, turned = (
        float(car.look(("floor", "", f"run.rf-lf.{way}"), "level-1").typed.split()[0]) for way in "12"
    )
    assert (one + turned) / 2 == pytest.approx(-1.65, abs=0.2)
    assert (one - turned) / 2 == pytest.approx(8.8, abs=0.7)


def test_a_vial_is_read_in_divisions():
    car = sound_car("1", "tern-rear-corner")
    assert car.look(("floor", "", "run.rf-lf.1"), "level-2").typed.endswith(" div")


KEYS = sorted(
    {stop.place[2] for sheet in sheets() for _, stop in each_question(sound_car("k", sheet))}
    | {
        "kit.1.tape1",
        "kit.9",
        "other.7.name",
        "extra.12.mass",
        "run.xx-yy.1",
        "tape.q.lf",
        "plan.x",
        "",
        ".",
        "size",
    }
)
PLACES = st.tuples(
    st.sampled_from(
        ["tyres", "load", "floor", "standing", "clear_area", "light", "closed", SHARED, "nowhere", "aim"]
    ),
    st.sampled_from(["", "left", "single", "elsewhere"]),
    st.one_of(st.sampled_from(KEYS), st.text(max_size=12)),
)
CARS = [
    with_fault("p", CATALOGUE[id], sheet, sides_of(sheet))
    for id, sheet in random.Random("cars").sample(everywhere(), 12)
]


@given(st.sampled_from(CARS), PLACES, st.sampled_from(["", "gauge-1", "level-2", "tape-1", "no-such"]), st.integers(0, 50),
       st.dictionaries(PLACES, st.text(max_size=8), max_size=3))  # fmt: skip
@settings(deadline=None, max_examples=400)
def test_a_look_never_raises(car, place, tool, nth, said):
    seen = look(car.world, place, tool, nth, said)
    assert seen.words


def test_stops_are_those_of_the_wizard():
    """The walk that the tests make is the walk of every face."""
    car = sound_car("1", "pipit-front")
    done = played(car, careful).visit
    shown = {s.place for step in done.checklist.steps for s in walking.stops(done, step, moment())}
    assert set(done.readings) <= shown
    assert {p for p in shown if not p[2].startswith(("quick", "packed"))} - set(done.readings) == set()
