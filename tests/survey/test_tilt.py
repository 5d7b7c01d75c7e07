"""How the floor lies so far: against planes whose slopes are put in by hand."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from readiness.job import Standing, SurveyPoint
from readiness.survey.surveying import Surveying
from readiness.survey.tilt import tilt_so_far
from tests.scenes import AT, BAY

PLACES = {"1": (1.0, 1.0), "2": (1.0, 4.0), "3": (6.0, 1.0), "4": (6.0, 4.0), "5": (3.0, 2.0)}


def surveying(names=tuple(PLACES)) -> Surveying:
    nodes = tuple(SurveyPoint(name=n, x=PLACES[n][0], y=PLACES[n][1]) for n in names)
    return Surveying(id="s", bay=BAY.bay, way="laser", by="A. Test", opened=AT, nodes=nodes)


def plane(along: float, across: float, names=tuple(PLACES)) -> dict[str, float]:
    return {n: along * PLACES[n][0] + across * PLACES[n][1] + 3.0 for n in names}


@pytest.mark.parametrize(
    ("heading", "said"),
    [
        (0.0, "So far it rises 1.2 mm/m to the front and 0.5 mm/m to the right."),
        (180.0, "So far it rises 1.2 mm/m to the rear and 0.5 mm/m to the left."),
        (90.0, "So far it rises 0.5 mm/m to the rear and 1.2 mm/m to the right."),
    ],
)
def test_a_plane_is_said_as_the_car_stands_on_it(heading, said):
    """A slope of 1.2 mm/m along the bay and -0.5 mm/m across, seen from a car turned round by hand."""
    bay = replace(BAY, standing=Standing(x=2.0, y=2.0, heading=heading))
    assert tilt_so_far(surveying(), bay, plane(1.2, -0.5), "metric") == said


@pytest.mark.parametrize("names", [(), ("1",), ("1", "2", "3")])
def test_nothing_is_said_of_too_few_places(names):
    assert tilt_so_far(surveying(), BAY, plane(1.2, -0.5, names), "metric") == ""


def test_nothing_is_said_of_places_in_one_line():
    nodes = tuple(SurveyPoint(name=str(k), x=float(k), y=2.0) for k in range(5))
    line = replace(surveying(), nodes=nodes)
    assert tilt_so_far(line, BAY, {str(k): float(k) for k in range(5)}, "metric") == ""


def test_a_height_of_a_place_that_was_left_out_does_not_count():
    heights = {**plane(1.2, -0.5), "9": 400.0}
    bay = replace(BAY, standing=Standing(x=2.0, y=2.0))
    assert tilt_so_far(surveying(), bay, heights, "metric").startswith(
        "So far it rises 1.2 mm/m to the front"
    )
