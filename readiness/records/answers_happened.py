"""What happened beside the answers, from a file of answers: fixes, events, what was set aside or attached, the end."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from readiness.checklist.mistakes import listed, shown
from readiness.checklist.model import Check
from readiness.checklist.spot import Spot
from readiness.job import OF_ONE_SIDE, VOID_EVENTS, Attached, Ended, Event, Fix, Waiver
from readiness.records.answers_file import Done, File, FileAttached
from readiness.records.answers_head import judge_waivers, known_or_wrong
from readiness.records.attachments import attached_file
from readiness.records.chained import JournalError


class Happened:
    """Understands the rest of one file, noting mistakes where they stand.

    `places`: each check with each side on which it is asked; `folder`: the shop that attached files lie in.
    """

    def __init__(self, file: File, spot: Spot, places: Sequence[tuple[Check, str]], folder: Path) -> None:
        self.file = file
        self.spot = spot
        self.places = [(check.id, side) for check, side in places]
        self.checks = {check.id: check for check, _ in places}
        self.folder = folder

    def all(self) -> dict[str, Any]:
        """Everything by the name of its field in a job."""
        return {
            "fixes": self._fixes(),
            "events": self._events(),
            "waivers": self._waivers(),
            "attached": self._attached(),
            "ended": self._ended(),
        }

    def _fixes(self) -> tuple[Fix, ...]:
        self._places_of("fixes")
        return tuple(
            Fix(
                check=f.check,
                question=f.question,
                side=self._side(f.check, f.side),
                text=f.text,
                **self._who(f),
            )
            for f in self.file.fixes
        )

    def _waivers(self) -> tuple[Waiver, ...]:
        self._places_of("not_applicable")
        judge_waivers(self.spot, self.checks)
        return tuple(
            Waiver(check=w.check, side=self._side(w.check, w.side), reason=w.reason, **self._who(w))
            for w in self.file.not_applicable
        )

    def _events(self) -> tuple[Event, ...]:
        for here in self.spot.at("events").items() if self.spot.has("events") else ():
            known_or_wrong(here.at("event"), VOID_EVENTS, "event")
            if here.has("side"):
                self._side_of_event(here.at("side"), here.at("event").text)
        return tuple(Event(event=e.event, side=e.side, **self._who(e)) for e in self.file.events)

    def _side_of_event(self, side: Spot, event: str) -> None:
        sides = self.file.sides if event in OF_ONE_SIDE else ()
        if side.text not in sides:
            side.wrong(
                shown(side.text), f"one of {listed(sides)}" if sides else "no side: it concerns the whole car"
            )

    def _attached(self) -> tuple[Attached, ...]:
        if not self.file.attached:
            return ()
        given = zip(self.file.attached, self.spot.at("attached").items(), strict=True)
        return tuple(a for file, here in given if (a := self._file(file, here)) is not None)

    def _file(self, given: FileAttached, spot: Spot) -> Attached | None:
        """As it was said to be when it was attached; otherwise as it is now."""
        who = self._who(given)
        if given.sha256 is not None and given.size is not None:
            return Attached(path=given.path, what=given.what, sha256=given.sha256, size=given.size, **who)
        if given.sha256 is not None or given.size is not None:
            missing = "size" if given.size is None else "sha256"
            spot.named(missing).wrong("nothing", "sha256 and size, or neither")
            return None
        try:
            return attached_file(self.folder / given.path, self.folder, given.what, **who)
        except JournalError as error:
            spot.at("path").wrong(shown(given.path), "a file of the shop", str(error))
            return None

    def _ended(self) -> Ended | None:
        ended = self.file.ended
        return None if ended is None else Ended(why=ended.why, **self._who(ended))

    def _who(self, done: Done) -> dict[str, Any]:
        return {"at": done.at or self.file.at, "by": done.by or self.file.by}

    def _side(self, check: str, side: str) -> str:
        """'single' may be left out in a file."""
        return "single" if {s for c, s in self.places if c == check} == {"single"} else side

    def _places_of(self, key: str) -> None:
        """Notes what is none of the places at which something is asked."""
        for here in self.spot.at(key).items() if self.spot.has(key) else ():
            check = here.at("check")
            if not known_or_wrong(check, dict.fromkeys(c for c, _ in self.places), "check"):
                continue
            side = here.at("side") if here.has("side") else here.named("side")
            given = side.text if here.has("side") else ""
            sides = [s for c, s in self.places if c == check.text]
            if self._side(check.text, given) not in sides:
                expected = f"one of {listed(sides)}" if any(sides) else "no side"
                side.wrong(shown(given) if given else "nothing", expected)
