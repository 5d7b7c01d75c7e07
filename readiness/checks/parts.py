"""Parts of a finding from numbers and states: the decision, and the sentence that says it."""

from __future__ import annotations

import math
from dataclasses import replace

from readiness.checks.kind import Answer, Part, Scene
from readiness.job import Reading
from readiness.measure.decide import conformance, decide
from readiness.measure.uncertain import Estimate


def number_part(
    scene: Scene,
    key: str,
    label: str,
    estimate: Estimate,
    unit: str,
    *,
    low: float | None = None,
    high: float | None = None,
    remedy: str = "",
    readings: tuple[Reading, ...] = (),
    signed: float | None = None,
    said: str = "",
) -> Part:
    """Judge one number against its limits and say so in a sentence, which begins with `said` or the label.

    `signed` is the number itself where its size is judged: either way may then break the upper limit.
    """
    d = decide(estimate.value, estimate.u, low, high, scene.factor)
    reason = _sentence(scene, said or label, estimate, unit, low, high, d.call, d.guard)
    if d.call != "pass" and not d.decidable and d.u_needed is not None:
        reason += (
            f" No reading could pass: the limits lie {scene.show((high or 0) - (low or 0), unit_of_difference(unit))} apart "
            f"and the uncertainty takes {scene.show(2 * d.guard, unit_of_difference(unit))} of that. An instrument good to "
            f"±{scene.show(d.u_needed * 3**0.5, unit_of_difference(unit))} or better could decide."
        )
    p = d.p_conform if signed is None or high is None else conformance(signed, estimate.u, -high, high)
    return Part(
        key, label, d.call, reason, estimate.value, unit, low, high, estimate.u, d.guard,
        p, d.margin, "" if d.call == "pass" else remedy, readings,
    )  # fmt: skip


def magnitude_part(
    scene: Scene, key: str, label: str, estimate: Estimate, unit: str, limit: float, *,
    remedy: str = "", readings: tuple[Reading, ...] = (),
) -> Part:  # fmt: skip
    """Judge how far a signed number lies from zero, either way, and say so in a sentence."""
    size = Estimate(abs(estimate.value), estimate.u)
    part = number_part(
        scene, key, label, size, unit, high=limit, remedy=remedy, readings=readings, signed=estimate.value
    )
    if part.outcome == "pass" or part.guard is None or part.guard <= limit:
        return part
    finer = (
        f" A measurement {math.ceil(part.guard / limit * 10) / 10:g} times as fine could decide."
        if limit
        else ""
    )
    reason = (
        f"{part.reason} No reading could pass: the uncertainty alone takes {scene.show(part.guard, unit)} of "
        f"the {scene.show(limit, unit)} allowed.{finer}"
    )
    return replace(part, reason=reason)


def missing_part(key: str, label: str, *answers: Answer) -> Part:
    """A part that cannot be judged because an answer is missing, has lapsed or lacks its instrument."""
    lapsed = any(a.missing == "lapsed" for a in answers)
    problem = next((a.problem for a in answers if a.problem), "")
    if lapsed:
        reason = (
            f"{label}: an earlier reading no longer counts ({problem or 'it has lapsed'}); read it again."
        )
    elif problem:
        reason = f"{label}: {problem}; a number without its instrument cannot be judged."
    else:
        reason = f"{label}: not read yet."
    readings = tuple(r for a in answers for r in a.readings)
    return Part(key, label, "lapsed" if lapsed else "not_done", reason, readings=readings)


def state_part(
    key: str, label: str, answer: Answer, *, wanted: str, good: str, bad: str, remedy: str
) -> Part:
    """Judge one state: passes when the answer is `wanted`. `good` and `bad` are whole sentences."""
    if not answer.ready:
        return missing_part(key, label, answer)
    ok = answer.word == wanted
    return Part(
        key, label, "pass" if ok else "fail", good if ok else bad, answer.word,
        remedy="" if ok else remedy, readings=answer.readings,
    )  # fmt: skip


def unit_of_difference(unit: str) -> str:
    """The unit for differences: a temperature difference has no zero point."""
    return "delta_degC" if unit == "degC" else unit


def _sentence(
    scene: Scene,
    label: str,
    estimate: Estimate,
    unit: str,
    low: float | None,
    high: float | None,
    call: str,
    guard: float,
) -> str:
    def say(value: float) -> str:
        return scene.show(value, unit)

    def gap(value: float) -> str:
        return scene.show(value, unit_of_difference(unit))

    y = estimate.value
    unsure = f" (uncertainty ±{gap(guard)})" if guard else ""
    if low is None and high is None:
        return f"{label} is {say(y)}{unsure}."
    near_low = high is None or (low is not None and y - low <= high - y)
    limit, word = (low, "least") if near_low else (high, "most")
    assert limit is not None
    away = gap(abs(y - limit))
    if call == "pass":
        side = "above" if near_low else "below"
        return f"{label} is {say(y)}, {away} {side} the {word} allowed, {say(limit)}{unsure}."
    if call == "fail":
        side = "under" if near_low else "over"
        return f"{label} is {say(y)}, {away} {side} the {word} allowed, {say(limit)}{unsure}."
    counts = limit + guard if near_low else limit - guard
    return (
        f"{label} is {say(y)}: too close to call. The {word} that counts is {say(counts)} "
        f"({say(limit)} and {gap(guard)} for the uncertainty)."
    )
