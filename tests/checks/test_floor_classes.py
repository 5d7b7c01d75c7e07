"""Classes of floors as information: DIN 18202, BS 8204 and ASTM E1155 against the published values."""

from __future__ import annotations

import pytest
from msgspec.structs import replace as changed

from readiness.job import Standing, SurveyPoint
from tests import outside
from tests.checks.floors import HOLDS, flat, floor, staffs, surveyed
from tests.scenes import judged


def hollow(depth, length=2.0):
    """A survey with a hollow of this depth in mm in the middle of a line of this length in m, far from the car."""
    ends = [("a", -3.5, 0.0), ("c", -3.5 + length, 0.0)]
    around = [(n, x, 3.0, 0.0) for n, x in (("p", -3.0), ("q", 0.3), ("r", 3.1))]
    places = [*((n, x, -3.0, z) for n, x, z in ends), ("b", -3.5 + length / 2, -3.0, -depth), *around]
    points = tuple(SurveyPoint(name=n, x=x, y=y, height=z) for n, x, y, z in places)
    return surveyed(lambda x, y: 0.0, points=points)


def notes(bay):
    return judged(floor(flatness=100), HOLDS, bay=bay).details


@pytest.mark.parametrize("row", outside.rows("floor_bs8204", name=lambda r: r["class"]))
def test_bs_8204_class_of_the_largest_gap_under_two_metres(row):
    most, name = row["max_gap_mm_under_2_m"], row["class"]
    (said,) = [n for n in notes(hollow(most)) if "BS 8204" in n]
    assert f"a gap of {most} mm at point b: BS 8204 class {name}." in said
    (over,) = [n for n in notes(hollow(most + 0.5)) if "BS 8204" in n]
    assert f"class {name}." not in over
    assert not any("BS 8204" in n for n in notes(hollow(most, length=2.2)))


@pytest.mark.parametrize(("length", "limit"), [(1.0, 4), (2.0, 6), (2.5, 7), (4.0, 10)])
def test_din_18202_limit_stands_beside_the_gap_that_uses_most_of_it(length, limit):
    # DIN 18202 table 3 row 3, and a trade handbook's interpolation (check-values, text seen)
    (said,) = [n for n in notes(hollow(3.0, length)) if "DIN 18202" in n]
    assert (
        f"over {length:g} m finds a gap of 3 mm at point b; DIN 18202 table 3 row 3 allows {limit} mm" in said
    )


@pytest.mark.parametrize("row", outside.rows("floor_fnumbers"))
def test_f_numbers_of_a_line_of_points_a_foot_apart(row):
    # F1 of the table: FF and FL, constants from memory
    line = tuple(
        SurveyPoint(name=f"f{n}", x=-1 + 0.3048 * n, y=1.0, height=25.4 * h)
        for n, h in enumerate(row["heights_in"])
    )
    aside = tuple(
        SurveyPoint(name=f"g{n}", x=-1.0 + n * 1.1, y=-1.0 - 0.01 * n * n, height=0.0) for n in range(3)
    )
    bay = changed(surveyed(lambda x, y: 0.0, points=(*line, *aside)), standing=Standing(x=0.0, y=0.0))
    (said,) = [n for n in notes(bay) if "ASTM E1155" in n]
    assert f"FF {row['FF']:.0f} and FL {row['FL']:.0f}" in said


def test_a_few_measured_places_are_told_what_would_be_allowed():
    (said,) = [n for n in judged(floor(), staffs(flat())).details if "DIN" in n]
    assert "bounds flatness, not slope" in said


def test_they_decide_nothing():
    found = judged(
        floor(flatness=100, slope_along=90, slope_across=90, twist=200, target_height=200),
        HOLDS,
        bay=hollow(30),
    )
    assert {p.outcome for p in found.parts} == {"pass"}
    assert any("more than BS 8204 allows in its last class, SR3" in n for n in found.details)
