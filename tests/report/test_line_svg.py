"""The number line on paper: its places are those of the numbers, read back from the picture."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.checks.kind import Part
from readiness.checks.scale import scale_of
from readiness.measure.decide import decide
from readiness.report.line_svg import EDGE, number_line
from readiness.report.markup import Element, text_of

WIDTH = 200.0


def part(value: float | None, low: float | None, high: float | None, u: float = 1.0) -> Part:
    """A number of kPa, judged as the checks judge it."""
    found = None if value is None else decide(value, u, low, high)
    outcome = "not_done" if found is None else found.call
    guard = None if found is None else found.guard
    return Part("p", "Pressure", outcome, "", value, "kPa", low, high, None if found is None else u, guard)


def of_class(line: Element, name: str) -> list[Element]:
    elements = [c for c in line.children if isinstance(c, Element)]
    return [e for e in elements if dict(e.attributes).get("class") == name]


def ends(bar: Element) -> tuple[float, float]:
    start, stop = re.fullmatch(r"M([\d.]+),[\d.]+ H([\d.]+)", str(dict(bar.attributes)["d"])).groups()
    return float(start), float(stop)


def limits(line: Element) -> list[float]:
    return [float(re.match(r"M([\d.]+),", str(dict(e.attributes)["d"]))[1]) for e in of_class(line, "limit")]


def reading(line: Element) -> float | None:
    discs = [dict(e.attributes) for e in of_class(line, "reading") if e.tag == "circle"]
    return float(discs[0]["cx"]) if discs else None


numbers = st.floats(0, 1000).map(lambda x: round(x, 2))


@given(numbers, st.floats(1, 100), st.floats(-0.49, 1.49), st.floats(0.01, 10))
@settings(max_examples=80)
def test_limits_reading_and_guard_bands_lie_where_their_numbers_lie(low, wide, share, u):
    """Two limits, the nearer kinds of reading: places on paper are to one another as the numbers are."""
    high, value = low + wide, low + share * wide
    line = number_line(part(value, low, high, u), "metric", WIDTH)
    at_low, at_high = limits(line)
    per_kpa = (at_high - at_low) / wide
    assert reading(line) == pytest.approx(at_low + (value - low) * per_kpa, abs=0.01)
    w = 1.645 * u  # of ISO 14253-1 (2017), from memory
    passes = of_class(line, "pass")
    assert bool(passes) == (low + w < high - w)
    if passes:
        assert ends(passes[0]) == pytest.approx((at_low + w * per_kpa, at_high - w * per_kpa), abs=0.01)
    for start, stop in map(ends, of_class(line, "guard")):
        assert EDGE - 0.01 <= start < stop <= WIDTH - EDGE + 0.01


@pytest.mark.parametrize(("value", "where"), [(-500.0, "left"), (2000.0, "right")])
def test_what_lies_beyond_is_an_arrow_at_that_end(value, where):
    line = number_line(part(value, 225.0, 240.0), "metric", WIDTH)
    assert reading(line) is None
    (arrow,) = of_class(line, "reading")
    tip = float(re.match(r"M([\d.]+),", str(dict(arrow.attributes)["d"]))[1])
    assert tip < EDGE if where == "left" else tip > WIDTH - EDGE


def test_a_pass_lies_within_the_bar_and_what_is_too_close_within_a_band():
    for value, kind in ((231.0, "pass"), (226.0, "guard"), (239.5, "guard")):
        line = number_line(part(value, 225.0, 240.0), "metric", WIDTH)
        assert any(a <= reading(line) <= b for a, b in map(ends, of_class(line, kind))), value


def test_one_limit_has_one_stroke_and_one_number():
    line = number_line(part(1.0, None, 8.0), "metric", WIDTH)
    assert len(limits(line)) == 1
    assert [text_of(c) for c in line.children if isinstance(c, Element) and c.tag == "text"] == ["8"]


def test_its_words_say_all_of_it():
    line = number_line(part(219.0, 225.0, 240.0), "metric", WIDTH)
    assert text_of(line.children[0]) == "219 kPa; 225 to 240 kPa; fail"
    assert (
        text_of(number_line(part(None, 225.0, None), "metric", WIDTH).children[0])
        == "at least 225 kPa; not done"
    )


def test_limits_are_shown_in_the_units_of_the_shop():
    """1 psi = 6.894757 kPa (NIST SP 811, from memory)."""
    line = number_line(part(231.0, 225.0, 240.0), "us", WIDTH)
    told = [float(text_of(c)) for c in line.children if isinstance(c, Element) and c.tag == "text"]
    assert told == pytest.approx([225 / 6.894757, 240 / 6.894757], abs=0.06)


def test_nothing_is_drawn_without_limits_and_no_number_ends_the_page():
    assert number_line(part(5.0, None, None), "metric") is None
    odd = Part("p", "x", "fail", "", math.nan, "kPa", 1.0, 2.0)
    assert of_class(number_line(odd, "metric", WIDTH), "reading") == []
    assert scale_of(odd) is not None
