"""How to find the place that was worked out is said where the car's place is asked for, before it is parked."""

from __future__ import annotations

from dataclasses import replace

import pytest
from msgspec.structs import replace as changed

from readiness.checks import place, standing
from readiness.job import Standing
from readiness.records.parked import readings_of
from tests.scenes import AT, BAY, NOW, asked, check, checklist, visit


def test_how_to_chalk_the_place_is_said_before_the_car_is_parked():
    one = check("standing")
    place_at, tapes_there = Standing(x=3.0, y=-1.5, heading=178.0), "Left rear wheel: 2463 mm from corner 1."
    kept = readings_of(checklist(one), place_at, by="Invented", at=AT, tapes=tapes_there)
    empty = visit(one)
    made = replace(empty, job=changed(empty.job, readings=kept)).scene(one, "", NOW)
    where = next(q for q in standing.ask(made, one.limits) if q.key == "where")
    assert where.hint.startswith(tapes_there)
    assert where.default == "chalk"
    assert asked(one)["where"].hint.startswith("chock the wheels")
    # the plan shows it there, and that nobody has said yet that it stands there
    drawn = standing.judge(made, one.limits).picture
    corner = next(s for s in drawn if s.role == "mark" and s.label == "corner 1")
    assert corner.at == pytest.approx(place.in_car(place_at, (BAY.outline[0].x, BAY.outline[0].y)))
    assert all(s.hollow for s in drawn if s.role == "wheel")
