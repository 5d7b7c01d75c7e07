"""The number line says the same as the decision: what lies under the reading is its outcome."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.checks.kind import Part
from readiness.measure.decide import decide
from readiness.wizard.numberline import cells, scale_of


def part(value: float, low: float | None, high: float | None, u: float) -> Part:
    d = decide(value, u, low, high)
    return Part("k", "Left front", d.call, "", value, "kPa", low, high, u, d.guard, d.p_conform, d.margin)


@given(
    value=st.floats(180, 280),
    width=st.integers(7, 60),
    u=st.floats(0, 8),
    window=st.tuples(st.floats(200, 230), st.floats(1, 40)),
)
def test_exactly_as_wide_as_asked_with_one_reading(value, width, u, window):
    drawn = cells(part(value, window[0], window[0] + window[1], u), width)
    assert len(drawn) == width
    assert sum(look == "reading" for _, look in drawn) == 1


@given(value=st.floats(150, 300), u=st.floats(0.1, 4))
def test_the_ground_under_the_reading_is_its_outcome(value, u):
    """Away from the borders of a cell, a pass lies on pass ground, a fail outside, the rest on guard."""
    low, high, width = 220.0, 240.0, 402
    p = part(value, low, high, u)
    scale = scale_of(p)
    assert scale is not None
    if not scale.start <= value <= scale.stop:
        return
    empty = Part("k", "", "not_done", "", None, "kPa", low, high, u, p.guard)
    ground = cells(empty, width)[1 + scale.cell(value, width - 2)][1]
    half_cell = 0.5 * (scale.stop - scale.start) / (width - 2)
    borders = (low - p.guard, low + p.guard, high - p.guard, high + p.guard)
    if min(abs(value - b) for b in borders) > half_cell:
        assert ground == {"pass": "inside", "fail": "outside", "too_close": "guard"}[p.outcome]


@pytest.mark.parametrize(("value", "glyph", "at"), [(100.0, "◄", 0), (400.0, "►", -1)])
def test_a_reading_beyond_the_scale_shows_at_that_end(value, glyph, at):
    assert cells(part(value, 220, 240, 1), 20)[at][0] == glyph


def test_one_limit_and_none():
    assert cells(part(1.0, None, 3.0, 0.2), 20)
    assert cells(part(-0.4, None, 3.0, 0.2), 20)
    assert cells(part(5.0, 1.6, None, 0.2), 20)
    assert cells(part(5.0, None, None, 0.2), 20) == []
    assert cells(part(5.0, 1.6, None, 0.2), 5) == []
