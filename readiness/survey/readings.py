"""The readings of a survey, by question, with their uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from readiness import units
from readiness.checks.kind import Part
from readiness.job import Instrument, Reading
from readiness.measure.uncertain import (
    CRITICAL_RANGE,
    Estimate,
    combined,
    from_half_width,
    from_resolution,
    series_of,
)
from readiness.survey.surveying import CHECK, Surveying

Readings = Mapping[str, tuple[Reading, ...]]


@dataclass(frozen=True)
class Findings:
    """What one way of surveying finds: see `so_far.SoFar`."""

    parts: Mapping[str, Part] = field(default_factory=dict)
    problems: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    suspect: frozenset[str] = frozenset()
    heights: Mapping[str, float] = field(default_factory=dict)
    details: tuple[str, ...] = ()


def read_of(surveying: Surveying) -> dict[str, tuple[Reading, ...]]:
    """Question key -> its readings in the order taken; those that are no numbers are left out."""
    found: dict[str, list[Reading]] = {}
    for reading in surveying.readings:
        if reading.check == CHECK and isinstance(reading.value, float):
            found.setdefault(reading.question, []).append(reading)
    return {key: tuple(readings) for key, readings in found.items()}


def reading_u(reading: Reading, instruments: Mapping[str, Instrument]) -> float:
    """Standard uncertainty of one reading in its unit. Raises ValueError where the instrument cannot say."""
    tool = instruments.get(reading.instrument)
    if tool is None:
        raise ValueError(
            f"{reading.text or reading.value} was read with '{reading.instrument}', which is not among the shop's "
            "instruments: name the instrument it was read with."
        )
    value = float(reading.value)
    accuracy, step = (units.accuracy(t, reading.unit, value) for t in (tool.accuracy, tool.resolution))
    return combined(from_half_width(accuracy), from_resolution(step))


def series(readings: tuple[Reading, ...], instruments: Mapping[str, Instrument]) -> Estimate:
    """The mean of the readings of one question. Raises ValueError."""
    u = max(reading_u(r, instruments) for r in readings)
    return series_of([float(r.value) for r in readings], u)


def far_apart(values: list[float], u_each: float) -> bool:
    """Whether repeat readings lie farther apart than their instrument explains (ISO 5725-6, critical range)."""
    return len(values) > 1 and max(values) - min(values) > CRITICAL_RANGE[min(len(values), 10)] * u_each
