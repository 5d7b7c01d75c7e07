"""Light: illuminance at each place, evenness over the places, no direct sun, no flicker.

Uniformity is the least illuminance over the mean of all places (EN 12464-1). Its uncertainty takes the
readings as independent, although an error of the meter's scale cancels: that is on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct

from readiness.checks.common import name_problems
from readiness.checks.kind import YES_NO, Answer, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part, number_part, state_part
from readiness.checks.words import capital
from readiness.job import Fraction, Lux
from readiness.measure.light import light_of
from readiness.measure.uncertain import Estimate, propagated

KIND = "light"

BRIGHTEST = 150_000.0
"""lx; more than the sun at noon gives."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `light`."""

    places: tuple[str, ...]
    """Where to hold the meter, in walking order."""
    least: Lux
    most: Lux | None = None
    uniformity: Fraction | None = None
    """Least that counts of minimum over mean."""
    no_sun: bool = True
    no_flicker: bool = False

    WORDS: ClassVar[dict[str, str]] = {
        "least": "every place at least {}",
        "most": "every place at most {}",
        "uniformity": "darkest place at least {} of the mean",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from name_problems("places", self.places)
        if not self.places:
            yield "places", "no place", "at least one place to hold the meter"
        if self.least < 0:
            yield "least", f"{self.least:g} lx", "zero or more"
        if self.most is not None and self.most <= self.least:
            yield "most", f"{self.most:g} lx", f"more than least ({self.least:g} lx)"
        if self.uniformity is not None and len(self.places) < 2:
            yield "uniformity", "fewer than two places", "two places or more to compare"


def ask(scene: Scene, limits: Limits) -> list[Question]:
    questions = [
        Question(key, capital(place), unit="lx", measures="illuminance", low=0, high=BRIGHTEST,
                 hint="meter flat on the spot, cap off, your shadow off it", part=key)
        for key, place in _places(limits)
    ]  # fmt: skip
    if limits.no_sun:
        questions.append(
            Question("sun", "Direct sun there", "choice", choices=YES_NO, evidence="seen", part="sun",
                     hint="on the target or its surroundings, also by a mirror or a wet floor")
        )  # fmt: skip
    if limits.no_flicker:
        questions.append(
            Question("flicker", "Lamps flicker", "choice", choices=YES_NO, evidence="seen", part="flicker",
                     hint="look at the lamps with a phone's camera: moving stripes are flicker")
        )  # fmt: skip
    return questions


def judge(scene: Scene, limits: Limits) -> Judgement:
    answers = [(key, place, scene.answer(key)) for key, place in _places(limits)]
    parts = [_place_part(scene, limits, *a) for a in answers]
    if limits.uniformity is not None:
        parts.append(_uniformity_part(scene, limits.uniformity, answers))
    if limits.no_sun:
        parts.append(_sun_part(scene))
    if limits.no_flicker:
        parts.append(_flicker_part(scene))
    return Judgement(tuple(parts), _notes(scene, [a for _, _, a in answers]))


def _places(limits: Limits) -> list[tuple[str, str]]:
    """Key and name of each place."""
    return [(f"light.{n}", place) for n, place in enumerate(limits.places, 1)]


def _place_part(scene: Scene, limits: Limits, key: str, place: str, answer: Answer) -> Part:
    label = f"Light, {place},"
    if not answer.ready or answer.estimate is None:
        return missing_part(key, label.rstrip(","), answer)
    too_bright = limits.most is not None and answer.estimate.value > (limits.least + limits.most) / 2
    remedy = (
        f"Dim or screen the lamp that shines there ({place}), then read again."
        if too_bright
        else f"Switch on or bring a lamp ({place}), then read again."
    )
    return number_part(scene, key, label, answer.estimate, "lx", low=limits.least, high=limits.most,
                       remedy=remedy, readings=answer.readings)  # fmt: skip


def _uniformity_part(scene: Scene, least: float, answers: list[tuple[str, str, Answer]]) -> Part:
    key, label = "uniformity", "Evenness of the light, least over mean,"
    estimates = [a.estimate for _, _, a in answers if a.ready and a.estimate is not None]
    if len(estimates) < len(answers):
        return missing_part(key, label.rstrip(","), *(a for _, _, a in answers))
    readings = tuple(r for _, _, a in answers for r in a.readings)
    if all(e.value <= 0 for e in estimates):
        return Part(key, label, "fail", "It is dark at every place, so there is no evenness to speak of.",
                    remedy="Switch on the light, then read all places again.", readings=readings)  # fmt: skip
    by_light = sorted(answers, key=lambda a: a[2].estimate.value if a[2].estimate else 0.0)
    darkest = min(range(len(estimates)), key=lambda k: estimates[k].value)
    return number_part(
        scene, key, label, propagated(lambda *at: _evenness(at, darkest), *estimates), "fraction", low=least,
        remedy=f"Bring light to the darkest place ({by_light[0][1]}) or take some from the brightest "
        f"({by_light[-1][1]}), then read all places again.",
        readings=readings,
    )  # fmt: skip


def _evenness(readings: Sequence[float], darkest: int) -> float:
    """The darkest place over the mean; a reading less its uncertainty cannot be darker than dark.

    Which place is darkest stays fixed: where two are nearly alike, the least of both has a kink, and a
    sensitivity taken across it would be half of what it is.
    """
    lit = [max(0.0, r) for r in readings]
    mean = math.fsum(lit) / len(lit)
    return lit[darkest] / mean if mean else 0.0


def _sun_part(scene: Scene) -> Part:
    return state_part(
        "sun", "Direct sun", scene.answer("sun"), wanted="no",
        good="No direct sun on the target or its surroundings.",
        bad="Direct sun falls on the target or its surroundings.",
        remedy="Close the door or blind that lets the sun in, or wait until it has moved on.",
    )  # fmt: skip


def _flicker_part(scene: Scene) -> Part:
    return state_part(
        "flicker", "Flicker", scene.answer("flicker"), wanted="no",
        good="The lamps do not flicker.",
        bad="The lamps flicker.",
        remedy="Switch off the lamps that flicker and use others, then read the light again.",
    )  # fmt: skip


def _notes(scene: Scene, answers: list[Answer]) -> tuple[str, ...]:
    estimates: list[Estimate] = [a.estimate for a in answers if a.estimate is not None]
    if len(estimates) < 2:
        return ()
    found = light_of([e.value for e in estimates])
    mean, least = scene.show(found.mean, "lx"), scene.show(found.minimum, "lx")
    return (f"Mean {mean}, least {least} over {len(estimates)} places.",)
