"""Shapes in metres -> rows of characters: braille dots for lines and hatching, words on top. Pure.

A braille cell holds 2 x 4 dots, and a terminal's cell is about twice as high as wide, so dots are
nearly square and circles look round. x forward points up, unless the picture was turned on its side.

`drawn` is the door, `view` says what part of the plan is seen, `ink` sets dots, `naming` finds words a place.
"""

from __future__ import annotations

from dataclasses import replace

from readiness.checks.picture import BEHIND, Picture, Shape, Spot, is_plan, sound, turned, tyres
from readiness.job import System
from readiness.wizard.canvas.ink import DOTS, Ink
from readiness.wizard.canvas.naming import Names
from readiness.wizard.canvas.view import BLANK, Cell, View, fitting, lies_better

NARROWEST, LOWEST = 10, 4
"""Cells under which nothing can be made out."""
LOWEST_WITH_SCALE = 8


def drawn(
    picture: Picture, width: int, height: int, *,
    view: View | None = None, system: System | None = None, chosen: int | None = None,
) -> list[list[Cell]]:  # fmt: skip
    """`height` rows of exactly `width` cells; a wide character fills its cell and leaves the next one empty.

    Without a view all of the picture is seen. With the shop's units a plan has a scale. The shape with the
    number `chosen` is lit up.
    """
    rows: list[list[Cell]] = [[BLANK] * width for _ in range(height)]
    shapes = sound(picture)
    if not shapes or width < NARROWEST or height < LOWEST:
        return rows
    lit = picture[chosen] if chosen is not None else None
    scaled = system if is_plan(shapes) and height >= LOWEST_WITH_SCALE else None
    view = (
        replace(view, width=width, height=height)
        if view
        else fitting(shapes, width, height, scaled=scaled is not None)
    )
    ink = _inked(shapes, view, lit)
    ink.pour(rows)
    names = Names(rows, view, ink.lines)
    if scaled:
        names.scale(scaled)
    names.write(shapes, lit)
    return rows


def _inked(picture: Picture, view: View, lit: Shape | None) -> Ink:
    """Hatching first, then lines, what stands out last; car and things are blank inside, so that they stand out."""
    ink = Ink(view)
    bars = tuple(bar for _, bar in tyres(picture))
    there = (*(s for s in picture if not isinstance(s, Spot)), *bars)
    for shape in there:
        if shape.role == "zone":
            ink.hatch(shape)
    for shape in there:
        if shape.role in ("car", "obstacle"):
            ink.blank(shape)
    for shape in sorted(there, key=lambda s: (BEHIND.index(s.role), s.marked)):
        ink.line(shape, lit=shape is lit)
        if shape.role == "wheel":
            ink.solid(shape)
    return ink


__all__ = ["DOTS", "Cell", "View", "drawn", "fitting", "lies_better", "turned"]
