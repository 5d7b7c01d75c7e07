"""Between which readings a question passes, as far as that is known before anything is read.

It is found by asking the judgement itself: a reading is tried at each limit and at what the guard band leaves, and
where the judged number is not the reading as it stands (a tyre that is warm, a sum of several readings), nothing is
said. So what is printed here and what is decided later cannot differ.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation

from readiness import units
from readiness.checklist.model import Check
from readiness.checks.entry import understood
from readiness.checks.finding import Visit, find
from readiness.checks.kind import Part
from readiness.checks.walking import Stop
from readiness.job import Instrument
from readiness.records.blank_visit import PERFECT, reading_of, with_readings

ROUNDS = 4
"""A guard band that grows with the reading is tried again at what it leaves; it then changes by less than is shown."""
MOST_DIGITS = 4


@dataclass(frozen=True, slots=True)
class ReadingLimits:
    """Limits of a reading, as one types them in the shop's unit; empty where there is none."""

    low: str
    high: str
    counts_from: str
    """The least that passes with the instrument, and the most."""
    counts_to: str
    instrument: Instrument | None
    undecidable: bool = False
    """The guard bands meet: no reading passes with this instrument."""

    @property
    def counts(self) -> bool:
        """Whether it is known what passes."""
        return bool(self.counts_from or self.counts_to)


Asked = Sequence[tuple[Check, str]]


def reading_limits(visit: Visit, stop: Stop, asked_by: Asked, now: datetime) -> ReadingLimits | None:
    """The limits of the first of these checks, with their side, that judges the reading as it stands; None without.

    `visit` has the usual answers, and a perfect instrument where the shop has none.
    """
    if stop.question.type != "quantity":
        return None
    for check, side in asked_by:
        found = _Trial(visit, stop, check, side, now).limits()
        if found is not None:
            return found
    return None


@dataclass(frozen=True)
class _Trial:
    """Readings of one question tried, and how one check judges each."""

    visit: Visit
    stop: Stop
    check: Check
    side: str
    now: datetime

    def limits(self) -> ReadingLimits | None:
        question = self.stop.question
        part = self._judged(float(self.visit.readings[self.stop.place][-1].value)) if self._read else None
        if part is None or part.unit != question.unit:
            return None
        low, high = (self._counting(limit, sign) for limit, sign in ((part.low, 1.0), (part.high, -1.0)))
        hopeless = self._hopeless(part.low, part.high)
        bare = self._tool is not None and self._tool.id.startswith(PERFECT)
        tool = None if bare else self._tool
        return ReadingLimits(self._said(part.low), self._said(part.high), low, high, tool, hopeless)

    def _hopeless(self, low: float | None, high: float | None) -> bool:
        """Whether not even the middle between two limits passes."""
        middle = None if low is None or high is None else self._judged((low + high) / 2.0)
        return middle is not None and middle.outcome != "pass"

    @property
    def _tool(self) -> Instrument | None:
        return self.visit.instruments.get(reading_of(self.visit, self.stop, 0.0, self.now).instrument)

    @property
    def _read(self) -> bool:
        return self.stop.place in self.visit.readings

    def _judged(self, value: float) -> Part | None:
        """The part that a reading decides, where that reading is the number judged and there is a limit to it."""
        reading = reading_of(self.visit, self.stop, value, self.now)
        finding = find(with_readings(self.visit, [reading]), self.check, self.side, self.now)
        key = self.stop.question.part or self.stop.question.key
        part = next((p for p in finding.parts if p.key == key), None)
        if part is None or not isinstance(part.value, float) or (part.low is None and part.high is None):
            return None
        return part if math.isclose(part.value, value, rel_tol=1e-9, abs_tol=1e-9) else None

    def _counting(self, limit: float | None, sign: float) -> str:
        """The reading nearest to a limit that passes, as one types it; empty where none does or nothing is known.

        `sign` is +1 for the least, -1 for the most.
        """
        if limit is None:
            return ""
        bound = limit
        for _ in range(ROUNDS):
            part = self._judged(bound)
            if part is None or part.guard is None:
                return ""
            bound = limit + sign * part.guard
        room = self._resolution(bound)
        near = (text for text in self._near(bound, sign) if self._passes(text, bound, sign, room))
        return next(near, "")

    def _resolution(self, value: float) -> float:
        """What the instrument can just tell apart: between two of its readings nobody needs to know more."""
        return (
            0.0
            if self._tool is None
            else units.accuracy(self._tool.resolution, self.stop.question.unit, value)
        )

    def _near(self, bound: float, sign: float) -> Iterator[str]:
        """Numbers near a bound with few decimals first, going inwards."""
        system = self.visit.shop.units
        for digits in range(MOST_DIGITS + 1):
            step = Decimal(1).scaleb(-digits)
            try:
                at = Decimal(units.number(bound, self.stop.question.unit, system, digits))
            except InvalidOperation:  # a share is shown in percent or eighths: no number to count on from
                return
            yield from (f"{at + n * int(sign) * step:f}" for n in range(3))

    def _passes(self, text: str, bound: float, sign: float, room: float) -> bool:
        """Whether a reading is inside the bound, no farther than `room`, and passes."""
        try:
            value, _ = understood(self.stop.question, text, self.visit.shop.units)
        except units.UnitsError:
            return False
        inside = sign * (float(value) - bound)
        part = self._judged(float(value)) if -1e-9 <= inside <= room + 1e-9 else None
        return part is not None and part.outcome == "pass"

    def _said(self, limit: float | None) -> str:
        return "" if limit is None else units.number(limit, self.stop.question.unit, self.visit.shop.units)
