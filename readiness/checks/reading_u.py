"""How uncertain one reading is, by what it was read with."""

from __future__ import annotations

from collections.abc import Mapping

from readiness import units
from readiness.job import Instrument, Reading
from readiness.measure.uncertain import combined, from_half_width, from_resolution


def reading_u(
    reading: Reading, instruments: Mapping[str, Instrument], accuracy: float | None = None
) -> float:
    """Standard uncertainty in the reading's unit, from its instrument's accuracy and resolution.

    `accuracy` is the half width where no instrument is named. Raises UnitsError where there is neither, or where the
    instrument cannot have given this reading.
    """
    instrument = instruments.get(reading.instrument)
    if instrument is None and accuracy is not None:
        return from_half_width(accuracy)
    if instrument is None:
        named = (
            f"the shop has no instrument '{reading.instrument}'"
            if reading.instrument
            else "no instrument is named for it"
        )
        raise units.UnitsError(named)
    value = float(reading.value)
    try:
        a = units.accuracy(instrument.accuracy, reading.unit, value)
        d = units.accuracy(instrument.resolution, reading.unit, value)
    except units.UnitsError:
        raise units.UnitsError(
            f"{instrument.title} ({instrument.id}) measures {instrument.measures}, not this"
        ) from None
    return combined(from_half_width(a), from_resolution(d))
