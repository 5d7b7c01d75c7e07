"""The number line on paper: what counts as a pass, the guard bands, the limits, and where the reading lies.

    outside ├──┊▒▒▓▓▓▓●▓▓▓▒▒┊──┤    the same line as on the screen (`checks.scale`), drawn

Light bar: counts as a pass. Hatched bar: guard band, too close to call. Tall strokes: the limits. Nothing in it
needs a colour.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from readiness import units
from readiness.checks.kind import Part
from readiness.checks.scale import Scale, scale_of
from readiness.job import System
from readiness.report.markup import Child, Element, el
from readiness.report.numbers import limits_in_words, shown
from readiness.report.signs import WORDS
from readiness.report.svg_words import n

WIDTH, EDGE = 168.0, 7.0
"""Of a line in pixels, and what its ends keep clear of the edge."""
MIDDLE, HIGH, UNDER = 8.0, 25.0, 24.0
"""Where the line runs, how high the picture is, and where the numbers of its limits stand."""
THICK = 8.0
STYLE: Final = """
.line { overflow: visible; }
.line .run { stroke: var(--quiet); stroke-width: 1; }
.line .pass { stroke: var(--band); stroke-width: 8; }
.line .guard { stroke: var(--guard); stroke-width: 8; stroke-dasharray: 1 1.5; }
.line .limit { stroke: var(--ink); stroke-width: 1.2; }
.line .reading { fill: var(--ink); stroke: var(--paper); stroke-width: 1; }
.line text { font-size: 9px; fill: var(--quiet); }
"""
"""Of a page that holds number lines, beside `style.BASE`."""


def number_line(part: Part, system: System, width: float = WIDTH, enlarged: float = 1.0) -> Element | None:
    """The line of a number with limits, `width` pixels wide, all of it `enlarged`; None where there is nothing to draw."""
    scale = scale_of(part)
    if scale is None:
        return None
    ruler = _Ruler(scale, width)
    return el(
        "svg",
        {
            "class": "line", "role": "img", "width": n(width * enlarged), "height": n(HIGH * enlarged),
            "viewBox": f"0 0 {n(width)} {n(HIGH)}",
        },
        el("title", in_words(part, system)),
        el("path", {"class": "run", "d": f"M{n(EDGE)},{n(MIDDLE)} H{n(width - EDGE)}"}),
        list(_bars(part, ruler)),
        list(_limits(part, ruler, system)),
        _reading(part, ruler),
    )  # fmt: skip


def in_words(part: Part, system: System) -> str:
    """What the picture shows, for who cannot see it."""
    told = [shown(part, system), limits_in_words(part, system), WORDS[part.outcome]]
    return "; ".join(filter(None, told))


class _Ruler:
    """From values to pixels."""

    def __init__(self, scale: Scale, width: float) -> None:
        self.scale, self.width = scale, width

    def at(self, value: float) -> float:
        return EDGE + self.scale.share(value) * (self.width - 2 * EDGE)


def _bars(part: Part, ruler: _Ruler) -> Iterator[Child]:
    """The bar of what counts, and a guard band half inside, half outside each limit."""
    w = part.guard or 0.0
    low = -math.inf if part.low is None else part.low
    high = math.inf if part.high is None else part.high
    if low + w < high - w:
        yield _bar("pass", ruler.at(low + w), ruler.at(high - w))
    if w:
        bands = [(x - w, x + w) for x in (low, high) if math.isfinite(x)]
        if len(bands) == 2 and bands[0][1] > bands[1][0]:  # no reading could pass
            bands = [(bands[0][0], bands[1][1])]
        yield from (_bar("guard", ruler.at(a), ruler.at(b)) for a, b in bands)


def _bar(kind: str, start: float, stop: float) -> Element | None:
    return el("path", {"class": kind, "d": f"M{n(start)},{n(MIDDLE)} H{n(stop)}"}) if stop > start else None


def _limits(part: Part, ruler: _Ruler, system: System) -> Iterator[Child]:
    for value in (part.low, part.high):
        if value is not None:
            x = ruler.at(value)
            yield el("path", {"class": "limit", "d": f"M{n(x)},{n(MIDDLE - 6.5)} V{n(MIDDLE + 6.5)}"})
            yield el(
                "text",
                {"x": n(x), "y": n(UNDER), "text-anchor": "middle"},
                units.number(value, part.unit, system),
            )


def _reading(part: Part, ruler: _Ruler) -> Element | None:
    """A disc where the reading lies; an arrow head at the end beyond which it lies."""
    value = part.value
    if not isinstance(value, float) or not math.isfinite(value):
        return None
    if value < ruler.scale.start:
        return _arrow(EDGE, -1)
    if value > ruler.scale.stop:
        return _arrow(ruler.width - EDGE, 1)
    return el("circle", {"class": "reading", "cx": n(ruler.at(value)), "cy": n(MIDDLE), "r": "4.5"})


def _arrow(x: float, way: int) -> Element:
    tip, back = x + way * (EDGE - 1), x - way * 4
    points = f"M{n(tip)},{n(MIDDLE)} L{n(back)},{n(MIDDLE - 5.5)} V{n(MIDDLE + 5.5)}Z"
    return el("path", {"class": "reading", "d": points})
