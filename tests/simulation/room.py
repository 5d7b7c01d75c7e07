"""The truth about light and single readings, and what is read of them."""

from __future__ import annotations

from typing import Any

import numpy as np

from readiness.checklist.model import Check, Checklist
from tests.simulation.tools import Shows
from tests.simulation.topics import ON_STEP, Bound, Topic, sizes, under


def light(checklist: Checklist, chance: np.random.Generator) -> Topic:
    """Illuminances in lx; how even by least over mean."""
    limits = checklist.check("light").limits
    lux = chance.uniform(300, 1400) * chance.uniform(0.5, 1.0, len(limits.places))
    keys = [f"light.{n}" for n in range(1, len(lux) + 1)]
    says: dict[Any, Any] = {
        ("light", "", k): Shows("illuminance", float(v)) for k, v in zip(keys, lux, strict=True)
    }
    says |= {("light", "", "sun"): "no", ("light", "", "flicker"): "no"}
    dark = {k: -float(v) for k, v in zip(keys, lux, strict=True)}
    wide: dict[Any, Any] = {} if limits.most is None else {("light", "most"): 9999.0}
    bounds = [Bound("light", "least", sizes("light", "illuminance, least", dark), -1e9, limit=under)]
    if limits.most is not None and chance.random() < 0.5:
        bounds = [
            Bound("light", "most", sizes("light", "illuminance, most", {k: -v for k, v in dark.items()}))
        ]
        wide = {("light", "least"): 1.0}
    if limits.uniformity is not None:
        even = {"uniformity": -float(lux.min() / lux.mean())}
        bounds.append(
            Bound("light", "uniformity", sizes("light", "evenness of light", even), -1.0, limit=under)
        )
    return Topic(bounds, says, wide)


USUAL = {"V": (12.0, 15.0), "deg": (-2.0, 2.0), "um": (80.0, 350.0)}
"""Where the numbers of cars lie, by unit."""


STEP = {"V": 0.1, "deg": 0.1, "um": 10.0}
"""A round number, which every display can show."""


def singles(check: Check, sides: tuple[str, ...], air: float, chance: np.random.Generator) -> Topic:
    """Readings that are held against limits as they are; either the lower or the upper one is near."""
    topic, on_step = Topic(), chance.random() < 0.3
    for item in check.limits.items:
        low = item.low is not None and (item.high is None or bool(chance.integers(2)))
        parts: dict[Any, Any] = {}
        for side in sides if check.per_side else ("",):
            true = air if item.key == "air" else float(chance.uniform(*USUAL[item.unit]))
            if item.key != "air" and on_step:
                true = round(true / STEP[item.unit]) * STEP[item.unit]
            if item.key != "air":
                topic.says[check.id, side, item.key] = Shows(item.measures, true)
            kind = f"single reading, {item.measures}{ON_STEP if on_step and item.key != 'air' else ''}"
            parts |= sizes(check.id, kind, {item.key: -true if low else true}, side)
        name = f"{item.key}.{'low' if low else 'high'}"
        topic.bounds.append(Bound(check.id, name, parts, -1e9, limit=under if low else float))
    return topic
