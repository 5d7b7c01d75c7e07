"""A picture as SVG, from the plain shapes that the terminal draws too.

It stands alone: no style, font or picture from outside, and every text escaped. Zones differ by their hatching
and everything by its shape, so that it can be read on a grey print; colours are CSS custom properties, darker or
lighter as the reader's system has it, and a page that holds the picture may set them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from hashlib import blake2s

from readiness.checks.picture import (
    BEHIND,
    KEEPS_OUT,
    Circle,
    Outline,
    Picture,
    Shape,
    Spot,
    bounds,
    is_plan,
    scale_of,
    sound,
    turned,
    tyres,
)
from readiness.job import Reason, System
from readiness.report.svg_words import LETTER, LINE, MARGIN, Sheet, escaped, n, words

NARROWEST = 160.0
HATCHES: dict[Reason, str] = {
    "metal-free": '<path d="M-2,2 l4,-4 M0,8 l8,-8 M6,10 l4,-4"/>',
    "nothing between": '<path d="M-2,6 l4,4 M0,0 l8,8 M6,-2 l4,4"/>',
    "people-free": '<circle cx="2" cy="2" r="1.1"/><circle cx="6" cy="6" r="1.1"/>',
    "walking room": '<path d="M0,2 h5 M4,6 h4 M0,6 h1"/>',
}
STYLE = """
.plan { --paper: #ffffff; --ink: #1b1f24; --quiet: #6a737d; --area: #8a6100; --thing: #b9bec5; --eye: #0b57a4;
  --wrong: #b3261e; background: var(--paper); font: 13px system-ui, "Segoe UI", sans-serif; }
@media (prefers-color-scheme: dark) { .plan { --paper: #16191d; --ink: #e8eaed; --quiet: #9aa4af; --area: #e0b24c;
  --thing: #4d5661; --eye: #8ab8f0; --wrong: #ff8a80; } }
@media print { .plan { --paper: #ffffff; --ink: #000000; --quiet: #555555; --area: #555555; --thing: #bbbbbb;
  --eye: #000000; --wrong: #000000; } }
.plan .paper { fill: var(--paper); }
.plan .bay { fill: none; stroke: var(--quiet); stroke-width: 1.5; }
.plan .zone { stroke: var(--area); stroke-width: 1.5; stroke-dasharray: 6 3; }
.plan .hatch { stroke: var(--area); fill: none; stroke-width: 1; }
.plan .hatch circle { fill: var(--area); stroke: none; }
.plan .obstacle { fill: var(--thing); stroke: var(--ink); stroke-width: 1; }
.plan path.obstacle.open { fill: none; stroke-width: 3; }
.plan .car { fill: var(--paper); fill-opacity: 0.7; stroke: var(--ink); stroke-width: 2; }
.plan .wheel { fill: var(--ink); stroke: var(--ink); }
.plan .clearance { fill: none; stroke: var(--ink); stroke-width: 2.5; }
.plan .sensor, .plan .target { stroke: var(--eye); fill: var(--eye); stroke-width: 2; }
.plan .mark, .plan .height, .plan .here { stroke: var(--ink); fill: var(--ink); stroke-width: 1.5; }
.plan .hollow { fill: var(--paper); }
.plan .wrong { stroke: var(--wrong); stroke-width: 3; }
.plan .wrong:not(.zone):not(.obstacle):not(.open) { fill: var(--wrong); }
.plan .scale { fill: none; stroke: var(--ink); stroke-width: 2; }
.plan text { fill: var(--ink); stroke: var(--paper); stroke-width: 4; stroke-linejoin: round; paint-order: stroke; }
.plan text.strong { font-weight: bold; }
.plan text.quiet { fill: var(--quiet); }
"""


def svg(
    picture: Picture, *, title: str, width: float = 720.0, system: System = "metric", shown: float = 1.0
) -> str:
    """The picture as one `<svg>` element, `width` pixels wide, as high as it needs; lengths in the shop's units.

    `shown` is how large it is on the page: 0.8 makes room for more words, each a fifth smaller.

    A picture that is longer than broad is laid on its side: the front of the car to the right then.
    """
    shapes = sound(picture)
    x1, y1, x2, y2 = bounds(shapes)
    if x2 - x1 > y2 - y1:
        shapes = turned(shapes)
    sheet = Sheet.of(shapes, max(NARROWEST, width))
    mark = f"plan-{blake2s(repr((picture, title)).encode(), digest_size=4).hexdigest()}"
    reasons = [r for r in HATCHES if any(_reason(s) == r for s in shapes)]
    legend = _legend(reasons, sheet, mark)
    high = sheet.bottom + 30 + LINE * 1.25 * sum(line.startswith("<text") for line in legend)
    body = [
        f'<title id="{mark}-title">{escaped(title)}</title>',
        f'<desc id="{mark}-desc">{escaped(" ".join(described(picture)))}</desc>',
        f"<style>{STYLE}</style>",
        f"<defs>{''.join(_pattern(r, mark) for r in reasons)}</defs>",
        f'<rect class="paper" width="{n(sheet.width)}" height="{n(high)}"/>',
        *_drawn(shapes, sheet, mark),
        *(_scale(sheet, system) if is_plan(shapes) else ()),
        *legend,
        *words(shapes, sheet),
    ]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plan" role="img" viewBox="0 0 {n(sheet.width)} {n(high)}" '
        f'width="{n(sheet.width * shown)}" height="{n(high * shown)}" aria-labelledby="{mark}-title" aria-describedby="{mark}-desc">'
    )
    return "\n".join((head, *body, "</svg>")) + "\n"


def described(picture: Picture) -> Iterator[str]:
    """A sentence for each named shape, for who cannot see the picture."""
    for shape in picture:
        if shape.label:
            wrong = ", marked" if shape.marked else ""
            yield f"{shape.role.capitalize()} {shape.label}{wrong}.{' ' * bool(shape.note)}{shape.note}"


# --- shapes --------------------------------------------------------------------------------------


def _drawn(picture: Picture, sheet: Sheet, mark: str) -> Iterator[str]:
    wheels = tuple(bar for _, bar in tyres(picture))
    there = (*(s for s in picture if not (isinstance(s, Spot) and s.role == "wheel")), *wheels)
    for shape in sorted(there, key=lambda s: (BEHIND.index(s.role), s.marked)):
        yield _element(shape, sheet, mark)


def _element(shape: Shape, sheet: Sheet, mark: str) -> str:
    kind = f"{shape.role}{' wrong' * shape.marked}"
    reason = _reason(shape)
    fill = f' style="fill: url(#{mark}-{_id(reason)})"' if reason else ""
    if isinstance(shape, Circle):
        (c, r), radius = sheet.at(shape.at), shape.radius * sheet.scale
        return f'<circle class="{kind}" cx="{n(c)}" cy="{n(r)}" r="{n(radius)}"{fill}/>'
    if isinstance(shape, Spot):
        return _spot(shape, kind, *sheet.at(shape.at))
    closed = isinstance(shape, Outline)
    opened = "" if closed else " open"
    return f'<path class="{kind}{opened}" d="{sheet.path(shape.points, closed=closed)}"{fill}/>'


def _spot(shape: Spot, kind: str, c: float, r: float) -> str:
    """A sensor is a diamond, a target a disc, a mark a cross, a thin thing a square, any other place a dot."""
    if shape.role == "sensor":
        return f'<path class="{kind}" d="M{n(c)},{n(r - 6)} l6,6 l-6,6 l-6,-6Z"/>'
    if shape.role == "mark":
        return f'<path class="{kind}" d="M{n(c - 5)},{n(r)} h10 M{n(c)},{n(r - 5)} v10"/>'
    if shape.role == "obstacle":
        return f'<rect class="{kind}" x="{n(c - 3.5)}" y="{n(r - 3.5)}" width="7" height="7"/>'
    size = 5.5 if shape.role == "target" else 3.5
    return f'<circle class="{kind}{" hollow" * shape.hollow}" cx="{n(c)}" cy="{n(r)}" r="{size}"/>'


def _reason(shape: Shape) -> Reason | None:
    if shape.role != "zone" or not isinstance(shape, Outline | Circle):
        return None
    return shape.reason or "metal-free"


def _id(reason: Reason | None) -> str:
    return (reason or "").replace(" ", "-")


def _pattern(reason: Reason, mark: str) -> str:
    return (
        f'<pattern id="{mark}-{_id(reason)}" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<g class="hatch">{HATCHES[reason]}</g></pattern>'
    )


# --- under the drawing ---------------------------------------------------------------------------


def _scale(sheet: Sheet, system: System) -> Iterator[str]:
    """A bar of a round length under the drawing, on the left."""
    length, words = scale_of(sheet.width / 4 / sheet.scale, system)
    long, r = length * sheet.scale, sheet.bottom + 4
    yield f'<path class="scale" d="M{n(MARGIN)},{n(r - 5)} v10 M{n(MARGIN)},{n(r)} h{n(long)} m0,-5 v10"/>'
    yield f'<text x="{n(MARGIN + long + 8)}" y="{n(r + 4.5)}">{words}</text>'


def _legend(reasons: Sequence[Reason], sheet: Sheet, mark: str) -> list[str]:
    """A row a reason, or two where the sheet is too narrow for its words."""
    lines, r = [], sheet.bottom + 20
    for reason in reasons:
        lines.append(
            f'<rect class="zone" x="{n(MARGIN)}" y="{n(r)}" width="30" height="14" style="fill: url(#{mark}-{_id(reason)})"/>'
        )
        whole = f"{reason}: {KEEPS_OUT[reason]}"
        fits = MARGIN + 38 + LETTER * len(whole) <= sheet.width
        for words_of in (whole,) if fits else (f"{reason}:", KEEPS_OUT[reason]):
            lines.append(f'<text x="{n(MARGIN + 38)}" y="{n(r + 11.5)}">{words_of}</text>')
            r += 1.25 * LINE
    return lines
