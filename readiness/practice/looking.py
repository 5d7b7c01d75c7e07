"""From what there is to see to what a person sees of it: by the chosen instrument, by eye, or in words."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction

from readiness import units
from readiness.checks.kind import Place
from readiness.job import Instrument
from readiness.practice.ground import moment
from readiness.practice.model import Sight
from readiness.practice.sights import Quantity, Said, State, found
from readiness.practice.tool import Tool
from readiness.practice.world import World

AWAY = "There is nothing like that to look at on this car."
FINE_PSI = 0.1
"""psi; the steps of a gauge that is set to it."""


def look(world: World, place: Place, instrument: str = "", nth: int = 0, said: Said | None = None) -> Sight:
    """What a person finds at a question. Never raises: what this car does not have is said to be away."""
    try:
        there = found(world, place, said)
    except (KeyError, IndexError, ValueError, StopIteration):
        return Sight(AWAY)
    if isinstance(there, State):
        return Sight(there.words, there.typed)
    text = shown(world, place, there, instrument, nth)
    if not text:
        return Sight(f"That takes an instrument that measures {there.measures}: choose one.")
    tool = world.tools.get(instrument)
    if there.measures and tool is not None and tool.instrument.measures == there.measures:
        return Sight(f"{tool.instrument.title}: it shows {text}.", text)
    return Sight((there.words or "By eye it is about {}.").format(text), text)


def truly(world: World, place: Place, said: Said | None = None) -> str:
    """What a careful person types: the answer to a state, or the reading of the best instrument in date."""
    there = found(world, place, said)
    if isinstance(there, State):
        return there.answer
    return shown(world, place, there, best(world.instruments, there.measures), 0)


def best(instruments: Mapping[str, Instrument], measures: str, day: date | None = None) -> str:
    """The finest instrument in date that measures it, else the finest of all; empty where there is none."""
    day = day or moment().date()
    unit = units.MEASURES.get(measures, "")
    fit = [i for i in instruments.values() if i.measures == measures]
    fit.sort(key=lambda i: (i.due < day, units.accuracy(i.accuracy, unit, 100.0)))
    return fit[0].id if fit else ""


def shown(world: World, place: Place, there: Quantity, instrument: str, nth: int) -> str:
    """A number with its unit as it is read; empty where it takes another instrument."""
    of = "/".join(place)
    tool = world.tools.get(instrument)
    if there.measures and tool is not None and tool.instrument.measures == there.measures:
        return display(tool, tool.reads(there.true, there.unit, of, nth), there.unit)
    return by_eye(world.seed, there, of, nth) if there.eye else ""


def display(tool: Tool, value: float, unit: str) -> str:
    """A reading as the instrument shows it, in its own unit or in divisions of its vial."""
    if tool.instrument.division:
        one = units.accuracy(tool.instrument.division, unit, 0.0)
        return f"{_decimals(value / one, 0.1)} div"
    if tool.shows_in:
        return f"{_decimals(units.convert(value, unit, tool.shows_in), FINE_PSI)} {tool.shows_in}"
    step = units.accuracy(tool.instrument.resolution, unit, value)
    return f"{_decimals(value, step)} {units.label(unit)}"


def without_error(world: World, there: Quantity, instrument: str) -> str:
    """A number as it would be read without any error, to the step of the display."""
    tool = world.tools.get(instrument)
    if there.measures and tool is not None:
        return display(replace(tool, off=0.0), there.true, there.unit)
    return by_eye(world.seed, replace(there, eye=there.step / 2.0), "", 0)


def by_eye(seed: str, there: Quantity, of: str, nth: int) -> str:
    """Judged by eye or by hand, within what that may be off; a share of a tank in sixteenths."""
    off = random.Random(f"eye {seed} {of} {nth}").uniform(-1.0, 1.0) * max(there.eye - there.step / 2.0, 0.0)
    steps = round((there.true + off) / there.step)
    if there.unit == "fraction":
        share = Fraction(min(max(steps * there.step, 0.0), 1.0)).limit_denominator(16)
        return f"{share.numerator}/{share.denominator}"
    return f"{_decimals(steps * there.step, there.step)} {units.label(there.unit)}".rstrip()


def _decimals(value: float, step: float) -> str:
    """With the decimals that the step has."""
    places = max(0, math.ceil(-math.log10(step) - 1e-9)) if step else 2
    shorter = places if not step or abs(round(step, places) - step) < 1e-9 else places + 1
    text = f"{value:.{shorter}f}"
    return text.removeprefix("-") if float(text) == 0 else text
