"""The whole way: cars from their seeds, filled by two scripted apprentices, marked, kept on the disk, scored, compared.

Each calls what the engine makes of his own answers, so that only how he looked and read tells them apart.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from readiness.checks.finding import find
from readiness.practice.agreement import agreement
from readiness.practice.exercise import exercise
from readiness.practice.faults import CATALOGUE, VERSION
from readiness.practice.finished import finished
from readiness.practice.ground import moment
from readiness.practice.kept import everybody, keep
from readiness.practice.marking import marked
from readiness.practice.model import Call, GoCall
from readiness.practice.score import score
from readiness.practice.to_practise import checks
from tests.practice.apprentices import careful, careless, played

pytestmark = pytest.mark.slow

CARS = range(1, 25)
LEVEL = 3


def called(car, visit, topic, at):
    outcome = find(visit, visit.checklist.check(topic[0]), topic[1], at).outcome
    return Call(topic, outcome if outcome in ("pass", "too_close") else "fail", at)


def practised(seed: int, who: str, apprentice):
    car = exercise(seed, LEVEL)
    at = moment() + timedelta(minutes=seed)
    job = played(car, apprentice)
    calls = [called(car, job.visit, topic, moment()) for topic in car.topics]
    goes = [
        GoCall(side, all(c.said == "pass" for c in calls if c.topic[1] in ("", side)), at)
        for side in car.sides
    ]
    return finished(car, who, at, marked(car, job.visit, job.looks, calls, goes, moment()), VERSION)


@pytest.fixture(scope="module")
def people(tmp_path_factory):
    shop = tmp_path_factory.mktemp("shop")
    for seed in CARS:
        for who, apprentice in (("Careful", careful), ("Careless", careless)):
            keep(shop, practised(seed, who, apprentice))
    found = everybody(shop)
    assert found.notes == ()
    return found.people


def test_the_careful_one_catches_what_the_careless_one_misses(people):
    good, bad = (score(who, people[who], checks()) for who in ("Careful", "Careless"))
    assert good.exercises == bad.exercises == len(CARS)
    assert good.checks.bad.of == bad.checks.bad.of > 5
    assert good.checks.missed == 0
    assert bad.checks.missed > 3
    assert good.points.share > bad.points.share
    assert good.level > bad.level
    assert good.goes.missed <= bad.goes.missed


def test_what_got_past_the_careless_one_is_of_the_catalogue(people):
    got_past = score("Careless", people["Careless"]).got_past
    assert got_past
    assert {fault for fault, _ in got_past} <= set(CATALOGUE)


def test_each_topic_comes_with_its_title_and_the_whole_with_every_call(people):
    found = score("Careful", people["Careful"], checks())
    assert checks().items() <= {t.check: t.title for t in found.topics}.items()
    assert {t.check for t in found.topics if t.to_practise} == set(checks())
    assert sum(t.tally.calls for t in found.topics) == sum(len(r.calls) for r in people["Careful"])


def test_they_met_the_same_cars_and_agree_less_than_each_with_himself(people):
    between = agreement("Careful", people["Careful"], "Careless", people["Careless"])
    assert len(between.cars) == len(CARS)
    himself = agreement("Careful", people["Careful"], "Careful again", people["Careful"])
    assert himself.calls.kappa.value == 1
    assert between.calls.kappa.value < 0.9
