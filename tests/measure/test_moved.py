"""What changed between two surveys of one floor: by hand, against numpy, and as often wrong as it says."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.stats import norm

from readiness.measure.decide import e_n
from readiness.measure.moved import SAME_PLACE, factor_for, moved
from readiness.measure.surface import Surface

GRID = {f"{x}{y}": (1.5 * x, 1.2 * y) for x in range(4) for y in range(3)}


def floor(
    heights: dict[str, float], u: float = 0.5, places: dict[str, tuple[float, float]] = GRID
) -> Surface:
    return Surface({n: places[n] for n in heights}, heights, {n: {n: u} for n in heights})


def tilted(a: float, b: float, c: float) -> dict[str, float]:
    return {n: a + b * x + c * y for n, (x, y) in GRID.items()}


def test_another_datum_is_no_change():
    """A shift and a tilt of the whole floor cannot be told from a laser set up otherwise."""
    found = moved(floor(tilted(0, 0, 0)), floor(tilted(7.5, 1.2, -3.0)))
    assert max(abs(c.rise.value) for c in found.changes) < 1e-9
    assert not found.moved


def test_a_corner_of_a_square_by_hand():
    """On a square the plane takes 3/4 of what one corner rises: 4 mm are 1 mm up there and 1 mm at each corner, up
    and down in turn. u of each: one quarter of the twist, whose variance is 4 u^2 in each survey: u sqrt 2 / 2."""
    square = {"a": (0.0, 0.0), "b": (2.0, 0.0), "c": (2.0, 2.0), "d": (0.0, 2.0)}
    flat = floor(dict.fromkeys(square, 0.0), 0.5, square)
    bent = floor({"a": 4.0, "b": 0.0, "c": 0.0, "d": 0.0}, 0.5, square)
    found = {c.after: c.rise for c in moved(flat, bent).changes}
    assert {n: e.value for n, e in found.items()} == pytest.approx({"a": 1.0, "b": -1.0, "c": 1.0, "d": -1.0})
    assert [e.u for e in found.values()] == pytest.approx([0.5 * math.sqrt(2.0) / 2.0] * 4)


def test_as_numpy_has_it():
    chance = random.Random(3)
    was = {n: h + chance.gauss(0, 2) for n, h in tilted(1, 2, 3).items()}
    now = {n: h + chance.gauss(0, 2) for n, h in tilted(-4, 0.5, 1).items()}
    design = np.array([(1.0, x, y) for x, y in GRID.values()])
    hat = design @ np.linalg.pinv(design)
    rises = (np.eye(len(GRID)) - hat) @ np.array([now[n] - was[n] for n in GRID])
    us = np.sqrt(np.diag((np.eye(len(GRID)) - hat) @ (np.eye(len(GRID)) - hat).T) * 2 * 0.25)
    found = {c.after: c.rise for c in moved(floor(was), floor(now)).changes}
    assert [found[n].value for n in GRID] == pytest.approx(list(rises))
    assert [found[n].u for n in GRID] == pytest.approx(list(us))


def test_as_a_surface_says_it_where_errors_are_shared():
    """`Surface.over_plane`, place by place; an error that all share alike moves the plane with them."""
    shared = {n: {n: 0.4, "staff": 0.7, "tilt": 0.1 * x} for n, (x, _) in GRID.items()}
    chance = random.Random(5)
    was, now = (Surface(GRID, {n: chance.gauss(0, 3) for n in GRID}, shared) for _ in range(2))
    for change in moved(was, now).changes:
        old, new = (s.over_plane(change.after, tuple(GRID)) for s in (was, now))
        assert change.rise.value == pytest.approx(new.value - old.value)
        assert change.rise.u == pytest.approx(math.hypot(old.u, new.u))


def test_two_surveys_of_hundreds_of_places():
    many = {f"{k}": (0.1 * (k % 50), 0.1 * (k // 50)) for k in range(800)}
    sank = {n: -9.0 * (n == "777") for n in many}
    found = moved(floor(dict.fromkeys(many, 0.0), places=many), floor(sank, places=many))
    assert (found.worst.after, found.moved) == ("777", True)


def test_the_place_that_sank_comes_first_and_is_named():
    now = tilted(2, -1, 0.5)
    now["11"] -= 6.0
    found = moved(floor(tilted(0, 0, 0)), floor(now))
    assert found.moved
    assert found.worst.after == "11"
    assert found.worst.rise.value < -4.0
    assert found.ratio == pytest.approx(
        abs(e_n(found.worst.rise.value, 0.0, found.factor * found.worst.rise.u, 0.0))
    )


def test_places_are_the_same_by_where_they_lie_not_by_name():
    near = {f"new {n}": (x + 0.6 * SAME_PLACE, y - 0.6 * SAME_PLACE) for n, (x, y) in GRID.items()}
    far = {f"new {n}": (x + 0.2, y) for n, (x, y) in GRID.items()}
    old = floor(tilted(0, 0, 0))
    found = moved(old, floor(dict.fromkeys(near, 0.0), places=near))
    assert {(c.before, c.after) for c in found.changes} == {(n, f"new {n}") for n in GRID}
    with pytest.raises(ValueError, match="0 places in common"):
        moved(old, floor(dict.fromkeys(far, 0.0), places=far))


def test_three_places_tell_nothing():
    three = dict(list(tilted(0, 0, 0).items())[3:6])
    with pytest.raises(ValueError, match="3 places in common, and four"):
        moved(floor(tilted(0, 0, 0)), floor(three))


def test_places_on_one_line_have_no_plane():
    row = {n: h for n, h in tilted(0, 0, 0).items() if n.endswith("0")}
    with pytest.raises(ValueError, match="on one line"):
        moved(floor(row), floor(row))


@pytest.mark.parametrize("places", [1, 4, 12, 35, 200])
def test_the_factor_shares_the_risk_among_the_places(places):
    """Bonferroni's inequality; scipy as oracle. For one place it is the usual 1.96."""
    assert factor_for(places) == pytest.approx(norm.isf(0.05 / (2 * places)))


def test_a_floor_that_did_not_move_is_said_to_have_in_one_of_twenty_at_most():
    """800 floors of 12 places; at a risk of 5 % more than 61 wrong words have a chance of under 0.1 % (binomial)."""
    chance = random.Random(11)

    def read() -> Surface:
        return floor(
            {n: h + chance.gauss(0, 0.5) for n, h in tilted(*(chance.gauss(0, 3) for _ in "abc")).items()}
        )

    wrong = sum(moved(read(), read()).moved for _ in range(800))
    assert 5 <= wrong <= 61
