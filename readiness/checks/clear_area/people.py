"""Zones that people must stay out of: whether anybody can walk in is looked at, zone by zone."""

from __future__ import annotations

from collections.abc import Iterator

from readiness.checks.clear_area.zones import PEOPLE_FREE, same_on_both, zone_name
from readiness.checks.kind import YES_NO, Part, Question, Scene
from readiness.checks.parts import state_part
from readiness.checks.words import capital
from readiness.job import Zone


def ask_people(scene: Scene) -> list[Question]:
    """One state a zone; once for both sides where the zone is the same on both."""
    return [
        Question(_key(zone), f"{capital(zone.id)}: roped off or watched", "choice", choices=YES_NO, evidence="seen",
                 part=_key(zone), shared=same_on_both(zone), hint="so that nobody can walk in while it runs")
        for zone in _zones(scene)
    ]  # fmt: skip


def people_parts(scene: Scene) -> Iterator[Part]:
    for zone in _zones(scene):
        answer = scene.answer(_key(zone), shared=same_on_both(zone))
        name = zone_name(zone)
        yield state_part(
            _key(zone), f"Nobody in {zone.id}", answer, wanted="yes",
            good=f"Nobody can walk into {name}.", bad=f"{capital(name)} is open: anybody can walk into it.",
            remedy="Rope it off, or have somebody watch it.",
        )  # fmt: skip


def _key(zone: Zone) -> str:
    return f"nobody.{zone.id}"


def _zones(scene: Scene) -> list[Zone]:
    return [zone for zone in scene.sheet.zones if zone.reason == PEOPLE_FREE]
