"""A second opinion on a journal: slow and obvious, from the file's own JSON and the rules as the design says them.

Every finding has a hold time and events that void it. A reading that was taken back counts no more, nor one from before
a fix of it, nor one from before an event that voids its check, nor one that is older than the hold time of the check. A fix
brings about the events that its check names, for all checks but its own. What happens to a sensor happens on one side.
A check that a person set aside is set aside until that is taken back or something of it is answered.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from readiness.checklist.model import Check, Checklist

SIDED = ("sensor_touched",)
SHARED = "shared"
Line = dict[str, Any]


class PlainRecord:
    """What one file says, line by line."""

    def __init__(self, path: Path) -> None:
        self.lines: list[Line] = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
        self.back = {line["entry"]: at_of(line) for line in self.lines if line["kind"] == "withdrawn"}

    def standing(self, kind: str, now: datetime) -> list[Line]:
        """Lines of a kind that were not taken back, as far as they took place until then."""
        return [
            x for x in self.lines if x["kind"] == kind and x["n"] not in self.back and took_place(x) <= now
        ]

    def counting(
        self, checklist: Checklist, check: Check, side: str, place: tuple[str, str], now: datetime
    ) -> set[int]:
        """Numbers of the lines whose answers count for a check on a side; `place` is the check and side they lie under."""
        found = set()
        for reading in self.standing("reading", now):
            if (reading["check"], reading.get("side", "")) != place:
                continue
            age = now - took_place(reading)
            put_right = any(
                took_place(fix) > took_place(reading) and covers(fix, reading)
                for fix in self.standing("fix", now)
            )
            voided = any(at > took_place(reading) for at in self._voiding(checklist, check, side, now))
            if age < timedelta(minutes=check.hold) and not put_right and not voided:
                found.add(reading["n"])
        return found

    def _voiding(self, checklist: Checklist, check: Check, side: str, now: datetime) -> Iterator[datetime]:
        for event in self.standing("event", now):
            if event["event"] in check.voided_by and _concerns(event.get("side", ""), side):
                yield took_place(event)
        for fix in self.standing("fix", now):
            fixed = next((c for c in checklist.checks if c.id == fix["check"]), None)
            if fixed is None or fixed.id == check.id:
                continue
            for event in set(fixed.a_fix_is) & set(check.voided_by):
                if event not in SIDED or _concerns(fix.get("side", ""), side):
                    yield took_place(fix)

    def set_aside(self, check: str, side: str, now: datetime) -> bool:
        waivers = [
            w for w in self.lines
            if w["kind"] == "waiver" and (w["check"], w.get("side", "")) == (check, side) and at_of(w) <= now
            and (w["n"] not in self.back or self.back[w["n"]] > now)
        ]  # fmt: skip
        last = max((at_of(w) for w in waivers), default=None)
        return last is not None and not any(
            (r["check"], r.get("side", "")) == (check, side) and took_place(r) > last
            for r in self.standing("reading", now)
        )

    def setting(self, now: datetime) -> tuple[tuple[str, ...], str]:
        """For which sides the job was, and in which bay."""
        said = [
            x for x in self.lines if x["kind"] in ("opened", "changed") and at_of(x) <= now
        ] or self.lines[:1]
        return tuple(said[-1]["sides"]), said[-1]["bay"]

    def last_calibration(self, check: str, side: str, now: datetime) -> datetime | None:
        """When the last result began to be read: from the end on backwards, until a question comes a second time."""
        readings = [
            r for r in self.standing("reading", now) if (r["check"], r.get("side", "")) == (check, side)
        ]
        began, asked = None, set[str]()
        for reading in sorted(readings, key=lambda r: (took_place(r), r["n"]), reverse=True):
            if reading["question"] in asked:
                break
            began = took_place(reading)
            asked.add(reading["question"])
        return began

    @property
    def ended(self) -> bool:
        return any(x["kind"] == "ended" and x["n"] not in self.back for x in self.lines)


def covers(fix: Line, reading: Line) -> bool:
    """Whether a fix starts the answers to a question anew: its own, all of its check, or all of one thing ('front')."""
    if (fix["check"], fix.get("side", "")) != (reading["check"], reading.get("side", "")):
        return False
    named, question = fix.get("question", ""), reading["question"]
    return named in ("", question) or question.startswith(f"{named}.")


def _concerns(happened_on: str, side: str) -> bool:
    return happened_on == "" or side == "" or happened_on == side


def at_of(line: Line) -> datetime:
    return datetime.fromisoformat(line["at"])


def took_place(line: Line) -> datetime:
    return datetime.fromisoformat(line.get("taken", line["at"]))
