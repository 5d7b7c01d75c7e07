"""Questions and answers that more than one kind of check uses."""

from __future__ import annotations

from readiness.checks.kind import Question, Scene
from readiness.measure.uncertain import Estimate

AIR = Question(
    "air",
    "Air in the bay",
    unit="degC",
    measures="temperature",
    low=-30.0,
    high=50.0,
    hint="thermometer in the shade, where the car stands",
    shared=True,
)
"""Asked once a visit; tyres, fuel and the air check all use it."""

AIR_ABROAD = 1.0
"""Half width in °C by which the air at a tyre may differ from the air at the thermometer;
common practice, no published source."""


def altitude_pressure(scene: Scene) -> Estimate:
    """Atmospheric pressure in kPa from the shop's altitude.

    Weather moves it by about 2 kPa either way (one standard deviation about 1 kPa; from memory).
    """
    from readiness.measure.atmosphere import standard_pressure

    return Estimate(standard_pressure(scene.shop.altitude), 1.2)
