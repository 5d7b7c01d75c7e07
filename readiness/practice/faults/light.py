"""Light."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

from readiness.practice.faults.fault import Fault, Planted, at
from readiness.practice.world import World

CAMERAS = ("dunlin-surround", "godwit-camera")


def _lit(world: World, shares: Sequence[float]) -> World:
    """Each place at its share of the least that counts; the last share for the rest."""
    least = world.check("light").limits.least
    light = {p: least * shares[min(n, len(shares) - 1)] for n, p in enumerate(world.light)}
    return replace(world, light=light)


def _dark(world: World, chance: random.Random, side: str) -> Planted:
    n = len(world.light)
    shares = [chance.uniform(1.4, 1.5) for _ in range(n - 1)] + [chance.uniform(0.65, 0.78)]
    return Planted(_lit(world, shares), (f"light.{n}",))


def _patchy(world: World, chance: random.Random, side: str) -> Planted:
    n = len(world.light)
    shares = [chance.uniform(2.6, 2.8) for _ in range(n - 1)] + [chance.uniform(1.12, 1.18)]
    return Planted(_lit(world, shares), (f"light.{n}",))


FAULTS = (
    Fault(
        "lamp-out", "One place too dark", "light",
        "One lamp was out, and the place under it was darker than the least allowed.",
        "In poor light marks are misread, and a camera loses the edges that it looks for.",
        _dark, "one_for_all", 1,
    ),
    Fault(
        "patchy-light", "Light uneven", "light",
        "Every place was bright enough, and one was far darker than the rest.",
        "A bright patch beside a dark one looks like an edge to a camera.",
        _patchy, "one_for_all", 2, CAMERAS,
    ),
    Fault(
        "sun-on-board", "Sun on the target", "light",
        "A strip of sun fell past the blind on to the target.",
        "To a camera the edge of a sunbeam is an edge like those of the pattern, and it moves.",
        at("light", "sun", "A strip of sun comes in under the blind, and lies across a corner of where the camera looks."),
        "not_looked", 1, CAMERAS,
    ),
    Fault(
        "strobing-lamp", "Lamp that flickers", "light",
        "One of the lamps flickered, too fast for the eye.",
        "A camera that takes its picture in a few thousandths of a second sees stripes.",
        at("light", "flicker", "On the phone's screen dark stripes wander over the picture of one of the lamps."),
        "not_looked", 1, CAMERAS,
    ),
)  # fmt: skip
