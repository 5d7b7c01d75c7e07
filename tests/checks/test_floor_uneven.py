"""Feet and wheels between survey points, on simulated floors whose heights are related over 0.3 m to 2 m.

A floor is a random field of numpy's (exponential relation, rough, or Gaussian, smooth). Whatever its length, the
height of a foot over the plane of the wheels may lie beyond 1.645 u to one side in 5 % of floors at most.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy.stats import binom

from readiness.checks.car import wheel_places
from readiness.checks.floor.from_survey import under_car
from readiness.job import WHEELS, Standing, Survey, SurveyPoint
from tests.scenes import INSTRUMENTS, SHEET

CAR = wheel_places(SHEET)
ROUGH, SMOOTH = "rough", "smooth"
GRIDS = {
    "every metre": [(x, y) for x in np.arange(-4.3, 4.8) for y in np.linspace(-2.2, 2.2, 5)],
    "every other metre": [(x, y) for x in (-4, -2, 0, 2, 4) for y in (-2, 0, 2)],
    "the wheels and two more": [*CAR.values(), (-4.0, 2.0), (4.0, 0.0)],
    "the wheels only": [*CAR.values()],
}
FEET = {"close": (-3.15, 1.35), "between": (-2.5, 1.6), "beyond": (-4.4, 2.5), "far": (-5.3, 2.9)}
STANDING = Standing(x=0.0, y=0.0)


def related(places, length, kind):
    """What turns independent numbers into heights in mm at these places, of 2 mm standard deviation."""
    apart = np.linalg.norm(places[:, None] - places[None], axis=-1) / length
    alike = np.exp(-apart) if kind == ROUGH else np.exp(-apart * apart)
    return 2.0 * np.linalg.cholesky(alike + 1e-7 * np.eye(len(places)))


def off(grid, feet, make, rng):
    """How far each foot is found over the plane of the wheels, less how far it is, in u; all on one floor."""
    where = {**CAR, **feet}
    z = make @ rng.normal(size=len(make))
    n = len(GRIDS[grid])
    points = tuple(
        SurveyPoint(name=f"p{k}", x=x, y=y, height=float(h + rng.uniform(-1, 1)))
        for k, ((x, y), h) in enumerate(zip(GRIDS[grid], z, strict=False))
    )
    survey = Survey(date=date(2026, 1, 15), by="B. Test", instrument="laser", points=points)
    floor = under_car(survey, STANDING, (INSTRUMENTS["laser"],), tuple(where.items()), "metric")
    plane = np.linalg.pinv(np.array([(1.0, *xy) for xy in CAR.values()])) @ z[n : n + 4]
    found = [floor.surface.over_plane(foot, WHEELS) for foot in feet]
    true = [h - plane @ (1.0, *at) for h, at in zip(z[n + 4 :], feet.values(), strict=True)]
    return [(f.value - t) / f.u for f, t in zip(found, true, strict=True)]


def not_beyond(grid, feet, length, kind, floors):
    """Each foot by itself, on so many floors; that the feet share these floors makes each no less sure."""
    rng = np.random.default_rng([int(10 * length), len(kind), floors])
    make = related(np.array([*GRIDS[grid], *CAR.values(), *feet.values()]), length, kind)
    found = np.array([off(grid, feet, make, rng) for _ in range(floors)])
    most = binom.ppf(0.9995, floors, 0.05)
    for foot, beyond in zip(feet, found.T, strict=True):
        assert max((beyond > 1.645).sum(), (beyond < -1.645).sum()) <= most, foot


@pytest.mark.parametrize("grid", GRIDS)
@pytest.mark.parametrize("length", [0.3, 1.0])
def test_a_foot_between_points_keeps_the_risk(grid, length):
    not_beyond(grid, {"between": FEET["between"]}, length, ROUGH, 60)


@pytest.mark.slow
@pytest.mark.parametrize("kind", [ROUGH, SMOOTH])
@pytest.mark.parametrize("length", [0.3, 0.6, 1.0, 2.0])
@pytest.mark.parametrize("grid", GRIDS)
def test_feet_keep_the_risk_on_any_floor(grid, length, kind):
    not_beyond(grid, FEET, length, kind, 1000)


def test_three_points_say_nothing_of_what_lies_between_them():
    # half width 4 mm: DIN 18202 table 3 row 3 at 1 m (check-values, text seen)
    points = tuple(
        SurveyPoint(name=f"p{k}", x=x, y=y, height=0.0)
        for k, (x, y) in enumerate([(-4, -2), (-4, 2), (4, 0)])
    )
    survey = Survey(date=date(2026, 1, 15), by="B. Test", instrument="laser", points=points)
    floor = under_car(survey, STANDING, (INSTRUMENTS["laser"],), (("lr", (0.0, 0.0)),), "metric")
    # half way: the weights are 1/4, 1/4 and 1/2
    uneven = 4 / 3**0.5 * (1 + 3 / 8) ** 0.5
    assert floor.surface.total({"lr": 1.0}).u == pytest.approx(
        np.hypot(uneven, (1 / 3 + 0.25 / 12) ** 0.5 * (3 / 8) ** 0.5)
    )
