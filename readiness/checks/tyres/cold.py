"""Cold pressures of the tyres: what each would read at the temperature of the bay's air, by the gas law."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.checks.common import AIR, AIR_ABROAD, altitude_pressure
from readiness.checks.kind import Answer, Scene
from readiness.job import WHEELS
from readiness.measure.gas import gauge_at
from readiness.measure.uncertain import Estimate, combined, from_half_width, propagated

STOOD, ROAD = "stood", "road"
"""How the car came to be where it is: its tyres at the bay's temperature, or each at its own."""
BAROMETER_U = 0.1
"""kPa; a station barometer's resolution and siting, common practice, no published source."""
TYRE_TEMPERATURE_A = 3.0
"""Half width in °C: a tyre's skin is not its air; common practice, no published source."""


@dataclass(frozen=True, slots=True)
class Cold:
    """One wheel's cold pressure in kPa with what was read and all that it needs; None where one of them is missing.

    `tyre`, `air` in °C and `atmosphere` in kPa, as they are now.
    """

    pressure: Answer
    needed: tuple[Answer, ...]
    cold: Estimate | None = None
    tyre: float = 0.0
    air: float = 0.0
    atmosphere: float = 0.0

    def gauge_now(self, cold: float) -> float:
        """What the gauge shows now, in kPa, on a tyre of this cold pressure."""
        return gauge_at(cold, self.atmosphere, self.air, self.atmosphere, self.tyre)


def at_temperature(scene: Scene, wheel: str, temperature: float) -> Estimate | None:
    """What the gauge would show in kPa on this tyre at that temperature in °C; None where an answer is missing.

    So readings of two hours are compared: each at the air and tyre temperature of its own hour.
    """
    parked, air = scene.answer("parked"), scene.answer(AIR.key, shared=True)
    pressure, skin = scene.answer(f"pressure.{wheel}"), scene.answer(f"temperature.{wheel}")
    if air.estimate is None or pressure.estimate is None or not parked.ready:
        return None
    if parked.word == ROAD and skin.estimate is None:
        return None
    tyre = _tyre_temperature(air.estimate, skin.estimate if parked.word == ROAD else None)
    inputs = (pressure.estimate, tyre, _atmosphere(scene))
    return propagated(lambda p, tt, pa: gauge_at(p, pa, tt, pa, temperature), *inputs)


def colds_of(scene: Scene) -> dict[str, Cold]:
    """Of the scene of a check of tyres, by wheel in walking order."""
    return scene.once(_colds)


def cold_pressures(scene: Scene) -> dict[str, Estimate] | None:
    """Cold gauge pressure in kPa of each wheel, in walking order; None while an answer is missing."""
    colds = {w: c.cold for w, c in colds_of(scene).items() if c.cold is not None}
    return colds if len(colds) == len(WHEELS) else None


def _colds(scene: Scene) -> dict[str, Cold]:
    return {w: _cold(scene, w) for w in WHEELS}


def _cold(scene: Scene, wheel: str) -> Cold:
    parked = scene.answer("parked")
    air, pressure = scene.answer(AIR.key, shared=True), scene.answer(f"pressure.{wheel}")
    skin = (scene.answer(f"temperature.{wheel}"),) if parked.word == ROAD else ()
    needed = (parked, air, pressure, *skin)
    if not all(a.ready for a in needed) or air.estimate is None or pressure.estimate is None:
        return Cold(pressure, needed)
    atmosphere, at = _atmosphere(scene), air.estimate.value
    tyre = _tyre_temperature(air.estimate, skin[0].estimate if skin else None)
    if parked.word == STOOD:
        # the tyre has the temperature of the bay: nothing to convert, only their small difference
        apart = Estimate(0.0, from_half_width(AIR_ABROAD))
        cold = propagated(
            lambda p, dt, pa: gauge_at(p, pa, at + dt, pa, at), pressure.estimate, apart, atmosphere
        )
    else:
        inputs = (pressure.estimate, tyre, air.estimate, atmosphere)
        cold = propagated(lambda p, tt, ta, pa: gauge_at(p, pa, tt, pa, ta), *inputs)
    return Cold(pressure, needed, cold, tyre.value, at, atmosphere.value)


def _tyre_temperature(air: Estimate, skin: Estimate | None) -> Estimate:
    if skin is None:
        return Estimate(air.value, combined(air.u, from_half_width(AIR_ABROAD)))
    return Estimate(skin.value, combined(skin.u, from_half_width(TYRE_TEMPERATURE_A)))


def _atmosphere(scene: Scene) -> Estimate:
    barometer = scene.answer("barometer", shared=True, accuracy=BAROMETER_U * 3**0.5)
    return barometer.estimate if barometer.estimate is not None else altitude_pressure(scene)
