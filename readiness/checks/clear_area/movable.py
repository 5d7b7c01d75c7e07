"""What the bay's file has as movable: whether it still stands where the file has it is asked, and need not be answered.

Not answered it counts as standing there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from readiness.checks.clear_area.things import Thing, matters
from readiness.checks.kind import Choice, Part, Question, Scene
from readiness.checks.words import capital, the

STANDS, MOVED = "no", "yes"
CHOICES = (
    Choice("n", STANDS, "no: it stands as in the bay's plan"),
    Choice("y", MOVED, "yes; if it is still near, name it below"),
)


def ask_movable(scene: Scene, of_bay: Sequence[Thing]) -> list[Question]:
    return [
        Question(_key(thing), f"{capital(thing.name)} moved", "choice", choices=CHOICES, evidence="seen", optional=True,
                 default=STANDS, part=_key(thing), shared=True,
                 hint=f"whether {the(thing.name)} is gone from its place")
        for thing in _movable(scene, of_bay)
    ]  # fmt: skip


def still_there(scene: Scene, of_bay: Sequence[Thing]) -> list[Thing]:
    """The things of the bay without those that a person has moved."""
    gone = {thing.key for thing in _moved(scene, of_bay)}
    return [thing for thing in of_bay if thing.key not in gone]


def moved_parts(scene: Scene, of_bay: Sequence[Thing]) -> Iterator[Part]:
    for thing in _moved(scene, of_bay):
        key, name = _key(thing), capital(thing.name)
        readings = scene.answer(key, shared=True).readings
        yield Part(key, name, "pass", f"{name} is gone from its place.", MOVED, readings=readings)


def _moved(scene: Scene, of_bay: Sequence[Thing]) -> Iterator[Thing]:
    for thing in _movable(scene, of_bay):
        said = scene.answer(_key(thing), shared=True)
        if said.ready and said.word == MOVED:
            yield thing


def _movable(scene: Scene, of_bay: Sequence[Thing]) -> Iterator[Thing]:
    """Those that could disturb a zone; no other makes a difference."""
    return (t for t in of_bay if not t.fixed and any(matters(zone, t) for zone in scene.sheet.zones))


def _key(thing: Thing) -> str:
    return f"moved.{thing.key.removeprefix('bay.')}"
