"""A spot check being taken: drawn and kept at once, then one reading after the other, each kept as it is entered.

Who stops in between loses nothing, and goes on another time with what is still to come. It is not all or nothing, as then
somebody who sees that the first one does not agree could stop, and nobody would ever know.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from readiness.checks.entry import understood
from readiness.checks.finding import Visit
from readiness.checks.kind import SHARED, Place, Question
from readiness.checks.walking import Stop
from readiness.job import Again, Drawn, Instrument, Reading, SpotCheck
from readiness.measure.draw import SEEDS, drawn
from readiness.records.chained import Head
from readiness.records.history import Step, stories
from readiness.records.journal import Journal
from readiness.records.shop import ShopError, ShopFolder
from readiness.spotcheck.blind import asked_beside, question_of, reading_place
from readiness.spotcheck.candidates import Candidate, Candidates, candidates, needs_beside
from readiness.spotcheck.compare import Taken, left_out, outcome
from readiness.spotcheck.words import Told, open_check, others_line, told_of
from readiness.units import UnitsError

TAKEN_BACK = "its first reading was taken back since"


@dataclass(frozen=True, slots=True)
class Typed:
    """What somebody answers."""

    text: str
    instrument: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Item:
    """A reading that is to be taken again, as it is shown before: there is nothing of the first one in it."""

    number: int
    """1 for the first that is to come."""
    of: int
    what: str
    stop: Stop


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing to ask for. `offers`: instruments that can answer it, the best first."""

    item: Item
    question: Question
    place: Place
    offers: tuple[Instrument, ...]
    used: frozenset[str]
    """Those of them with which it was read first."""
    beside: bool = False
    """It is not what was drawn, but read with it so that the two can be compared."""
    last: Typed | None = None
    """The same, as it was answered before in this spot check."""


class LeftOut(Exception):
    """It cannot be taken again; the text says why."""


class Stopped(Exception):
    """No more answers for now."""


class Skipped(Exception):
    """No answer to this one for now."""


class Asker(Protocol):
    """Somebody, or something, that answers. Raises LeftOut, Skipped, Stopped."""

    def begin(self, item: Item, question: Question) -> None: ...

    def answer(self, asked: Asked) -> Typed: ...

    def refused(self, asked: Asked, why: str) -> None: ...

    def sure(self, asked: Asked, reading: Reading) -> bool: ...

    def outcome(self, drawn: Drawn, again: Again) -> None: ...


class SpotChecking:
    """One spot check of the job of a journal that is held for writing."""

    def __init__(
        self, folder: ShopFolder, journal: Journal, by: str, now: Callable[[], datetime] = datetime.now
    ) -> None:
        self.folder, self.journal, self.by = folder, journal, by
        self._clock = now
        self.began = self.now
        self._found: tuple[Head, Candidates] | None = None
        self._answered: dict[Place, Typed] = {}
        self.others: tuple[str, ...] = ()
        """Why the readings that could not be drawn could not be."""

    @property
    def now(self) -> datetime:
        return self.journal.time(self._clock().astimezone()).astimezone()

    @property
    def visit(self) -> Visit:
        """With what was kept so far."""
        return self.folder.visit(self.journal.job, self.journal.units)

    @property
    def told(self) -> Told:
        """How the latest spot check stands."""
        return told_of(self.visit.job)[-1]

    @property
    def open(self) -> Told | None:
        """The spot check that was drawn and is not finished, if there is one."""
        return open_check(self.visit.job)

    @property
    def places(self) -> set[Place]:
        """Of everything that the open check drew, and of what belongs to it."""
        drawn_ = {d.entry for d in self.told.check.drawn}
        found = {(r.check, r.side, r.question) for r in self.visit.job.readings if r.number in drawn_}
        for candidate in self._candidates().found:
            if candidate.stop.place in found:
                check, side, _ = candidate.stop.place
                beside = needs_beside(candidate.stop)
                found |= {p for key in beside for p in ((SHARED, "", key), (check, side, key))}
        return found

    def draw(self, count: int, seed: int | None = None) -> SpotCheck:
        """Draw readings, and keep that: nobody draws again until it suits. Raises ShopError where there is none."""
        found = self._candidates()
        self.others = tuple(found.others.values())
        if not found.found:
            why = f" Not to be drawn: {others_line(self.others)}." if self.others else ""
            raise ShopError(f"No reading of {self.journal.job.job} can be taken again and compared.{why}")
        chosen = secrets.randbelow(SEEDS) if seed is None else seed
        places = drawn([c.weight for c in found.found], count, chosen)
        rows = tuple(_row(found.found[n]) for n in places)
        check = SpotCheck(at=self.now, by=self.by, seed=chosen, of=len(found.found), drawn=rows)
        return self.journal.draw(check)

    def items(self) -> Iterator[Item]:
        """What is to come, in walking order. What can no longer be compared is left out with its reason on the way."""
        there = self.open
        if there is None:
            return
        self._leave_out_what_is_gone(there)
        left = [d.entry for d in self.told.to_come]
        inside = [c for c in self._candidates().found if c.last.number in left]
        for number, candidate in enumerate(inside, 1):
            yield Item(number, len(inside), candidate.what, candidate.stop)

    def take(self, item: Item, asker: Asker) -> None:
        """Ask for one reading, and what belongs to it, and keep what came of it. Raises Skipped, Stopped."""
        candidate = self._candidate(item)
        question = question_of(self.visit, item.stop, self._hidden(), self.now)
        asker.begin(item, question)
        tools = frozenset(r.instrument for r in candidate.answer.readings)
        try:
            beside = self._beside(item, asker)
            reading = self._reading(self._asked(item, question, item.stop.place, tools), asker)
        except LeftOut as why:
            again = left_out(self.visit, candidate, str(why), self.by, self.told.check.number, self.now)
        else:
            taken = Taken(reading, tuple(beside))
            again = outcome(self.visit, candidate, taken, self.told.check.number, self.now)
        kept = self.journal.check_again(again)
        row = next(d for d in self.told.check.drawn if d.entry == kept.entry)
        asker.outcome(row, kept)

    def needed(self, item: Item) -> list[Asked]:
        """What is asked beside an item, as far as that is known before any answer."""
        return [
            self._asked(item, q, reading_place(item.stop, q), frozenset(), beside=True)
            for q in asked_beside(self.visit, item.stop, [], self.now)
        ]

    def asked_of(self, item: Item) -> Asked:
        """An item as it will be asked for."""
        tools = frozenset(r.instrument for r in self._candidate(item).answer.readings)
        question = question_of(self.visit, item.stop, self._hidden(), self.now)
        return self._asked(item, question, item.stop.place, tools)

    # --- one answer ------------------------------------------------------------------------------

    def _beside(self, item: Item, asker: Asker) -> list[tuple[Question, Reading]]:
        found: list[tuple[Question, Reading]] = []
        while left := asked_beside(self.visit, item.stop, [r for _, r in found], self.now):
            question = left[0]
            place = reading_place(item.stop, question)
            asked = self._asked(item, question, place, frozenset(), beside=True)
            found.append((question, self._reading(asked, asker)))
        return found

    def _asked(
        self, item: Item, question: Question, place: Place, used: frozenset[str], *, beside: bool = False
    ) -> Asked:
        offers = offered(self.visit.instruments.values(), question, used, self.now.date())
        return Asked(item, question, place, offers, used, beside, self._answered.get(place))

    def _reading(self, asked: Asked, asker: Asker) -> Reading:
        while True:
            typed = asker.answer(asked)
            try:
                reading = self._understood(asked, typed)
            except UnitsError as fault:
                asker.refused(asked, str(fault))
                continue
            if asker.sure(asked, reading):
                self._answered[asked.place] = typed
                return reading

    def _understood(self, asked: Asked, typed: Typed) -> Reading:
        """Raises UnitsError."""
        question, (check, side, key) = asked.question, asked.place
        tool = self._tool(asked, typed.instrument)
        division = tool.division if tool is not None else ""
        value, unit = understood(question, typed.text, self.visit.shop.units, division)
        return Reading(
            check=check, question=key, side=side, value=value, unit=unit, text=typed.text, at=self.now, by=self.by,
            evidence=question.evidence, instrument=tool.id if tool is not None else "", note=typed.note,
        )  # fmt: skip

    def _tool(self, asked: Asked, name: str) -> Instrument | None:
        if not asked.question.instrumented:
            return None
        found = next((i for i in asked.offers if i.id == name), None)
        if found is None:
            there = ", ".join(i.id for i in asked.offers) or "none"
            raise UnitsError(
                f"'{name}' is no instrument of the shop for {asked.question.measures} (there: {there})."
            )
        return found

    # --- what there is ---------------------------------------------------------------------------

    def _candidates(self) -> Candidates:
        """As of when the check was begun: nothing runs out while somebody is at it."""
        head = self.journal.head
        if self._found is None or self._found[0] != head:
            told = stories(self.journal.entries)
            touched = {place for place, story in told.items() if _touched(story.steps)}
            self._found = head, candidates(self.visit, self.began, touched)
        return self._found[1]

    def _candidate(self, item: Item) -> Candidate:
        found = self._candidates().found
        return next(c for c in found if c.stop.place == item.stop.place)

    def _hidden(self) -> set[Place]:
        """Places of everything that was drawn and is to come."""
        left = {d.entry for d in self.told.to_come}
        return {(r.check, r.side, r.question) for r in self.visit.job.readings if r.number in left}

    def _leave_out_what_is_gone(self, there: Told) -> None:
        """A reading that was drawn and was taken back, voided or fixed since."""
        found = self._candidates()
        for row in there.to_come:
            if found.of(row.entry) is None:
                why = found.others.get(row.entry, TAKEN_BACK)
                gone = Again(
                    spot_check=there.check.number, entry=row.entry, at=self.now, by=self.by, what=row.what,
                    outcome="not compared", why=why,
                )  # fmt: skip
                self.journal.check_again(gone)


def offered(
    instruments: Collection[Instrument], question: Question, used: frozenset[str], day: date
) -> tuple[Instrument, ...]:
    """What can answer a question: in date before out of date, another than was used before, as the shop lists them."""
    if not question.instrumented:
        return ()
    fitting = [i for i in instruments if i.measures == question.measures]
    return tuple(sorted(fitting, key=lambda i: (i.due < day, i.id in used)))


def _row(candidate: Candidate) -> Drawn:
    return Drawn(entry=candidate.last.number, what=candidate.what, weight=candidate.weight, why=candidate.why)


def _touched(steps: Sequence[Step]) -> bool:
    """Whether more was done than one reading, notes and earlier spot checks apart."""
    return sum(step.what not in ("noted", "checked") for step in steps) > 1
