"""What must agree across the lists of a checklist and the common parts that it includes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from readiness.checklist import scalars
from readiness.checklist.mistakes import listed, near, shown
from readiness.checklist.model import Check
from readiness.checklist.spot import Spot

ALL_STEPS = ("steps", "closing")
"""Where checks are asked: before the calibration, and after it."""


@dataclass(frozen=True, slots=True)
class Part:
    """A common part as one checklist takes it in: where it is asked for, and its checks.

    No checks: the part has mistakes.
    """

    asked: Spot
    checks: tuple[Check, ...] = ()


def agree(spot: Spot, parts: Sequence[Part]) -> None:
    """Ids are unique across the parts, each step names checks that exist, each check has one step and its hold time."""
    known = _known_checks(spot, parts)
    _holds(spot, parts)
    stepped: dict[str, str] = {}
    whole = all(part.checks for part in parts)
    for step, here in _stepped(spot):
        if here.text in stepped:
            found = f"{shown(here.text)}, already in step {shown(stepped[here.text])}"
            here.wrong(found, "each check in one step")
        elif here.text not in known and whole:
            hint = near(here.text, known)
            here.wrong(f"no such check, {shown(here.text)}", f"one of {listed(known)}", hint)
        stepped.setdefault(here.text, step)
    for name, here in known.items():
        if name not in stepped and spot.has("steps"):
            here.wrong(f"the check {shown(name)} in no step", "each check in one step")


def _known_checks(spot: Spot, parts: Sequence[Part]) -> dict[str, Spot]:
    """Id -> the place to point at: the include of a part, or the check's own id."""
    known: dict[str, Spot] = {}
    for part in parts:
        for check in part.checks:
            if check.id in known:
                again = f"the check {shown(check.id)} again, already in {shown(known[check.id].text)}"
                part.asked.wrong(again, "each check once")
            known.setdefault(check.id, part.asked)
    for own in spot.at("checks").items():
        here = own.at("id")
        if not here.text:
            continue
        if here.text in known:
            first = known[here.text]
            place = f"line {first.node.line}" if first.text == here.text else shown(first.text)
            here.wrong(f"{shown(here.text)} again, first in {place}", "each check once")
        known.setdefault(here.text, here)
    return known


def _stepped(spot: Spot) -> Iterator[tuple[str, Spot]]:
    for steps in ALL_STEPS:
        for step in spot.at(steps).items():
            for here in step.at("checks").items():
                if here.text:
                    yield step.at("id").text, here


def _holds(spot: Spot, parts: Sequence[Part]) -> None:
    """What is asked before the calibration holds for some time; what is asked after it lapses no more."""
    before, after = (
        {c.text for s in spot.at(steps).items() for c in s.at("checks").items()} for steps in ALL_STEPS
    )
    after -= before  # standing in both is told by itself
    for own in spot.at("checks").items():
        name = own.at("id").text
        if name in before and not own.has("hold"):
            own.named("hold").wrong("nothing", scalars.example("min"))
        for key in ("hold", "voided_by"):
            if name in after and own.has(key):
                found = f"{key} in a step of the close"
                own.at(key).wrong(found, f"no {key}: what comes after the calibration lapses no more")
    for part in parts:
        for check in part.checks:
            if check.id in after and not (check.lasting and not check.voided_by):
                part.asked.wrong(
                    f"{shown(check.id)} with hold or voided_by in a step of the close", "neither"
                )
            elif check.id in before and check.lasting:
                part.asked.wrong(f"{shown(check.id)} without hold", f"{scalars.example('min')} under hold")
