"""Surveys by laser and by level runs against numpy (least squares with covariance) and published planes."""

from __future__ import annotations

from datetime import date
from math import dist, hypot, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.floor.surveyed import PLACING_A, surveyed
from readiness.job import LevelRun, Standing, Survey, SurveyPoint
from tests import outside
from tests.checks.floors import HOLDS, LEVEL_READ_U, floor
from tests.scenes import BAY, INSTRUMENTS, SHEET, judged, part

U_FOOT = PLACING_A / sqrt(3)
GRID = {f"{'ABCD'[i]}{j + 1}": (1.4 * i, 1.3 * j) for i in range(4) for j in range(3)}
"""12 nodes."""
EDGES = [
    *((f"{c}{j}", f"{c}{j + 1}") for c in "ABCD" for j in (1, 2)),
    *((f"{c}{j}", f"{d}{j}") for c, d in ("AB", "BC", "CD") for j in (1, 2, 3)),
]
"""17 runs from each node to its neighbours."""


def levelled(z, places=None, edges=None, zero=0.3, one_way=(), rounded=None, **more):
    """A survey by level of these heights in mm; `rounded` to steps of the level's display."""
    places, edges = places or GRID, edges or EDGES
    runs = []
    for a, b in edges:
        slope = (z[b] - z[a]) / dist(places[a], places[b])
        first, turned = (
            s + zero if rounded is None else round((s + zero) / rounded) * rounded for s in (slope, -slope)
        )
        runs.append(LevelRun(start=a, end=b, first=first, turned=None if (a, b) in one_way else turned))
    points = tuple(SurveyPoint(name=n, x=x, y=y) for n, (x, y) in places.items())
    words = {"date": date(2026, 1, 15), "by": "B. Test", "instrument": "level", "straightedge": 4.0}
    return Survey(**{**words, "points": points, "runs": tuple(runs), **more})


def covariance(surface, names):
    """Of the heights, from the errors behind them."""
    errors = sorted({e for n in names for e in surface.effects[n]})
    root = np.array([[surface.effects[n].get(e, 0.0) for e in errors] for n in names])
    return root @ root.T


def by_numpy(survey, names):
    """Heights over the first node and their covariance, by numpy.linalg.lstsq alone."""
    at = {p.name: (p.x, p.y) for p in survey.points}
    rows, right = [], []
    for r in survey.runs:
        length = dist(at[r.start], at[r.end])
        rise = [float((n == r.end) - (n == r.start)) for n in names]
        both = r.turned is not None
        u = hypot(length * LEVEL_READ_U / (sqrt(2) if both else 1), U_FOOT, U_FOOT)
        slope = (r.first - r.turned) / 2 if both else r.first
        rows.append(np.array([*rise, 0.0 if both else length]) / u)
        right.append(length * slope / u)
        if both:
            u = hypot(LEVEL_READ_U / sqrt(2), U_FOOT / length)
            rows.append(np.array([*np.zeros(len(names)), 1.0]) / u)
            right.append((r.first + r.turned) / 2 / u)
    design, right = np.array(rows), np.array(right)
    found, *_ = np.linalg.lstsq(design, right, rcond=None)
    dof = len(rows) - len(names) - 1
    chi_square = float(np.sum((right - design @ found) ** 2))
    wide = max(1.0, chi_square / dof) if dof else 1.0
    return found, np.linalg.inv(design.T @ design) * wide, chi_square, dof


heights = st.lists(st.floats(-8, 8), min_size=12, max_size=12)


# --- the net ---------------------------------------------------------------------------------------


@any_of(heights, st.sampled_from([(), (EDGES[3],), tuple(EDGES[5:9])]))
@settings(max_examples=25, deadline=None)
def test_heights_and_their_covariance_are_those_of_numpy(zs, one_way):
    survey = levelled(dict(zip(GRID, zs, strict=True)), one_way=one_way, rounded=0.05)
    found = surveyed(survey, INSTRUMENTS)
    others = [n for n in GRID if n != "A1"]
    values, cov, chi_square, dof = by_numpy(survey, others)
    assert [found.surface.heights[n] for n in others] == pytest.approx(values[:-1], abs=1e-6)
    assert covariance(found.surface, others) == pytest.approx(cov[:-1, :-1], rel=1e-6, abs=1e-9)
    assert found.zeros["level"].value == pytest.approx(values[-1], abs=1e-6)
    assert found.zeros["level"].u == pytest.approx(sqrt(cov[-1, -1]), rel=1e-6)
    assert (found.dof, found.chi_square) == (dof, pytest.approx(chi_square, abs=1e-6))
    assert found.problems == ()


@any_of(heights, st.floats(-0.6, 0.6), st.floats(-30, 30))
@settings(max_examples=25, deadline=None)
def test_an_uneven_floor_leaves_more_in_doubt_between_the_points(zs, shift, heading):
    survey = levelled(dict(zip(GRID, zs, strict=True)), rounded=0.05)
    flat = levelled(dict.fromkeys(GRID, 0.0), zero=0.3)
    standing = Standing(x=1.0 + shift, y=1.3, heading=heading)
    bay = changed(BAY, survey=flat, standing=standing)
    found = judged(floor(), HOLDS, bay=bay)
    assert part(found, "slope_along").value == pytest.approx(0.0, abs=1e-9)
    uneven = judged(floor(), HOLDS, bay=changed(bay, survey=survey))
    for key in ("slope_along", "slope_across", "twist"):
        assert part(uneven, key).u >= part(found, key).u


def plane_at_points(survey, points, car):
    """Slopes of the plane through four survey points under the wheels and its covariance, with numpy."""
    names = [n for n in GRID if n != "A1"]
    values, cov, *_ = by_numpy(survey, names)
    z = np.array([0.0 if p == "A1" else values[names.index(p)] for p in points])
    pick = np.array([[float(n == p) for n in names] for p in points])
    pinv = np.linalg.pinv(np.array([(1.0, *xy) for xy in car]))
    spread = pinv @ pick @ cov[:-1, :-1] @ pick.T @ pinv.T
    return pinv @ z, np.sqrt(np.diag(spread))


@any_of(heights)
@settings(max_examples=25, deadline=None)
def test_a_car_on_survey_points_has_the_slopes_and_u_of_numpy(zs):
    # the axles stand on A1, A3 and D1, D3: wheelbase 4.2 m, track 2.6 m, all in bay axes
    survey = levelled(dict(zip(GRID, zs, strict=True)), rounded=0.05)
    size = changed(SHEET.dimensions, wheelbase=4.2, track_front=2.6, track_rear=2.6)
    sheet = changed(SHEET, dimensions=size, targets=())
    bay = changed(BAY, survey=survey, standing=Standing(x=0.0, y=1.3))
    found = judged(floor(), HOLDS, bay=bay, sheet=sheet)
    car = [(4.2, 1.3), (0.0, 1.3), (0.0, -1.3), (4.2, -1.3)]
    (_, along, across), us = plane_at_points(survey, ["D3", "A3", "A1", "D1"], car)
    for key, value, u in (("slope_along", along, us[1]), ("slope_across", across, us[2])):
        assert part(found, key).value == pytest.approx(abs(value), abs=1e-6)
        assert part(found, key).u == pytest.approx(u, rel=1e-6)


# --- published planes ----------------------------------------------------------------------------


@pytest.mark.parametrize("row", [r for r in outside.rows("least_squares_fits") if "points" in r.values[0]])
@pytest.mark.parametrize("by", ["laser", "level"])
def test_flatness_is_that_of_published_planes(row, by):
    # PL1, PL2, PL3: max_minus_min_residual of the table; PL3 lies in mm of a metre's grid, so in m here
    points = {f"p{n}": p for n, p in enumerate(row["points"])}
    scale = 1000.0 if max(abs(v) for p in points.values() for v in p[:2]) > 100 else 1.0
    places = {n: (x / scale, y / scale) for n, (x, y, _) in points.items()}
    z = {n: p[2] for n, p in points.items()}
    if by == "laser":
        shots = tuple(SurveyPoint(name=n, x=x, y=y, height=z[n]) for n, (x, y) in places.items())
        survey = Survey(date=date(2026, 1, 15), by="B. Test", instrument="laser", points=shots)
    else:
        names = list(places)
        edges = [(a, b) for k, a in enumerate(names) for b in names[k + 1 :]]
        survey = levelled(z, places, edges, straightedge=None)
    found = judged(floor(), HOLDS, bay=changed(BAY, survey=survey))
    assert part(found, "flatness").value == pytest.approx(row["max_minus_min_residual"], abs=1e-6)


# --- what does not fit ---------------------------------------------------------------------------

ROUGH = dict(zip(GRID, (0, 4, -3, 5, -6, 7, 2, 9, 3, -4, 6, -2), strict=True))


def with_run(survey, k, **more):
    runs = list(survey.runs)
    runs[k] = changed(runs[k], **more)
    return changed(survey, runs=tuple(runs))


@pytest.mark.parametrize("k", range(len(EDGES)))
def test_a_second_reading_with_the_wrong_sign_is_named_with_the_right_one(k):
    survey = levelled(ROUGH)
    wrong = with_run(survey, k, turned=-survey.runs[k].turned)
    found = surveyed(wrong, INSTRUMENTS)
    run = survey.runs[k]
    assert found.suspect_runs == (k,)
    assert (
        f"The second reading of {run.start} to {run.end} looks as if typed with the wrong sign"
        in found.problems[0]
    )


def test_all_second_readings_with_the_sign_of_the_slope_are_one_mistake():
    survey = levelled(ROUGH)
    wrong = changed(survey, runs=tuple(changed(r, turned=-r.turned) for r in survey.runs))
    (said,) = surveyed(wrong, INSTRUMENTS).problems
    assert said.startswith("All second readings look as if typed with the sign of the slope")


@pytest.mark.parametrize("k", range(len(EDGES)))
def test_a_run_in_two_walks_whose_foot_stood_on_a_stone_is_named(k):
    # 10 mm/m over 1.3 or 1.4 m; a run inside the net lies in two walks, one at its corner only in one
    survey = levelled(ROUGH)
    run = survey.runs[k]
    found = surveyed(with_run(survey, k, first=run.first + 10, turned=run.turned - 10), INSTRUMENTS)
    assert k in found.suspect_runs
    assert any(f"{run.start} to {run.end}" in p for p in found.problems)


def test_a_single_walk_that_does_not_close_asks_for_a_diagonal_no_longer_than_the_straightedge():
    square = {"A": (0.0, 0.0), "B": (2.0, 0.0), "C": (2.0, 2.0), "D": (0.0, 2.0)}
    edges = [("A", "B"), ("B", "C"), ("C", "D"), ("D", "A")]
    flat = levelled(dict.fromkeys(square, 0.0), square, edges)
    wrong = with_run(flat, 1, first=flat.runs[1].first + 6, turned=flat.runs[1].turned - 6)
    (said,) = surveyed(wrong, INSTRUMENTS).problems
    assert "misses its start by 12 mm" in said  # by hand: 6 mm/m over 2 m
    assert "read the diagonal A to C too" in said
    (said,) = surveyed(changed(wrong, straightedge=2.0), INSTRUMENTS).problems
    assert "read all of them again" in said  # the diagonal is 2.83 m long


def test_a_survey_that_does_not_fit_together_serves_nobody_and_says_what_to_read():
    survey = levelled(ROUGH)
    wrong = with_run(survey, 4, turned=-survey.runs[4].turned)
    found = judged(floor(), HOLDS, bay=changed(BAY, survey=wrong))
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert "does not fit together. The second reading of C1 to C2" in found.parts[0].reason
    assert "Read that again" in found.parts[0].remedy


# --- what is refused -----------------------------------------------------------------------------


def only(*names, edges):
    return levelled(dict.fromkeys(names, 0.0), {n: GRID[n] for n in names}, edges)


def points_moved(survey, **places):
    return changed(
        survey,
        points=tuple(
            changed(p, x=places[p.name][0], y=places[p.name][1]) if p.name in places else p
            for p in survey.points
        ),
    )


TRIANGLE = only("A1", "A2", "B1", edges=[("A1", "A2"), ("A2", "B1"), ("B1", "A1")])
ONCE = changed(TRIANGLE, runs=(TRIANGLE.runs[0], changed(TRIANGLE.runs[1], turned=None)))


@pytest.mark.parametrize(
    ("survey", "words"),
    [
        (points_moved(TRIANGLE, B1=GRID["A2"]), "2 different places"),
        (points_moved(TRIANGLE, B1=(0.02, 5.0)), "on one line"),
        (with_run(TRIANGLE, 0, end="X9"), "X9, which is no point of the survey"),
        (with_run(TRIANGLE, 0, end="A1"), "from A1 to itself"),
        (points_moved(only("A1", "A2", "B1", "B2", edges=[("A1", "A2"), ("A2", "B1"), ("B1", "B2")]), B2=GRID["B1"]), "no length"),
        (only("A1", "A2", "B1", "B2", edges=[("A1", "A2"), ("B1", "B2")]), "separate pieces"),
        (only("A1", "A2", "B1", "B2", edges=[("A1", "A2"), ("A2", "B1")]), "no run reaches B2"),
        (changed(ONCE, runs=tuple(changed(r, turned=None) for r in ONCE.runs)), "one way only"),
        (changed(TRIANGLE, straightedge=1.2), "straightedge 1.20 m"),
        (changed(TRIANGLE, points=(changed(TRIANGLE.points[0], height=1.0), *TRIANGLE.points[1:])), "not both"),
        (changed(TRIANGLE, runs=()), "has no height"),
        (changed(TRIANGLE, instrument="lost"), "not among the shop's instruments"),
        (changed(TRIANGLE, points=(*TRIANGLE.points, TRIANGLE.points[0])), "two of its points are called A1"),
    ],
    ids=lambda v: v.replace(" ", "-") if isinstance(v, str) else "",
)  # fmt: skip
def test_what_cannot_serve_is_refused_with_one_sentence(survey, words):
    with pytest.raises(ValueError, match=words.replace(".", r"\.")) as refused:
        surveyed(survey, INSTRUMENTS)
    assert "\n" not in str(refused.value)
    found = judged(floor(), HOLDS, bay=changed(BAY, survey=survey))
    assert {p.outcome for p in found.parts} == {"not_done"}


def test_a_run_may_be_longer_than_the_straightedge_by_what_places_are_good_to():
    assert surveyed(changed(TRIANGLE, straightedge=1.865), INSTRUMENTS).problems == ()  # A2 to B1: 1.910 m
    with pytest.raises(ValueError, match="in two runs"):
        surveyed(changed(TRIANGLE, straightedge=1.855), INSTRUMENTS)


def test_one_run_read_both_ways_serves_an_open_line_read_once():
    assert surveyed(ONCE, INSTRUMENTS).problems == ()


# --- the car's place -----------------------------------------------------------------------------


@any_of(heights, st.floats(-20, 20), st.floats(-20, 20), st.floats(0, 360), st.booleans())
@settings(max_examples=25, deadline=None)
def test_moving_and_turning_the_axes_of_the_bay_changes_nothing(zs, dx, dy, turn, by_level):
    """A law of plane geometry: slope size, flatness, twist and heights of feet are no matter of axes."""
    survey = levelled(dict(zip(GRID, zs, strict=True)), rounded=0.05)
    if not by_level:
        shots = tuple(changed(p, height=z) for p, z in zip(survey.points, zs, strict=True))
        survey = changed(survey, points=shots, runs=(), instrument="laser")
    bay = changed(BAY, survey=survey, standing=Standing(x=0.7, y=1.3, heading=5.0))
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def moved(p):
        return changed(p, x=float(c * p.x - s * p.y + dx), y=float(s * p.x + c * p.y + dy))

    other = changed(
        bay,
        survey=changed(survey, points=tuple(map(moved, survey.points))),
        standing=changed(moved(bay.standing), heading=5.0 + turn),
    )
    for a, b in zip(
        judged(floor(), HOLDS, bay=bay).parts, judged(floor(), HOLDS, bay=other).parts, strict=True
    ):
        assert (a.key, a.value, a.u) == (
            b.key,
            pytest.approx(b.value, abs=1e-6),
            pytest.approx(b.u, rel=1e-6),
        )


@any_of(heights)
@settings(max_examples=25, deadline=None)
def test_mirroring_the_bay_mirrors_the_finding(zs):
    sheet = changed(SHEET, targets=())
    survey = levelled(dict(zip(GRID, zs, strict=True)), rounded=0.05)
    mirror = changed(survey, points=tuple(changed(p, y=-p.y) for p in survey.points))
    one, other = (
        judged(floor(), HOLDS, sheet=sheet, bay=changed(BAY, survey=s, standing=Standing(x=0.7, y=y)))
        for s, y in ((survey, 1.3), (mirror, -1.3))
    )
    for a, b in zip(one.parts, other.parts, strict=True):
        assert (a.key, a.value, a.u) == (
            b.key,
            pytest.approx(b.value, abs=1e-6),
            pytest.approx(b.u, rel=1e-6),
        )
