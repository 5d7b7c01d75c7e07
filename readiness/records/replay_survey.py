"""The entries of a survey's journal -> the survey being taken, as it stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, ClassVar

import msgspec
from msgspec.structs import replace

from readiness.job import Reading
from readiness.records.lines import Entry, LineFault
from readiness.records.replay import Replay
from readiness.survey.surveying import HIGHEST_READING, Planned, Surveying

FARTHEST = 1000.0
"""m; no place of a bay lies farther from its corner."""


class SurveyReplay(Replay):
    """A survey being taken."""

    FIRST = "survey"
    KEEPS: ClassVar[dict[str, type[Any]]] = {"reading": Reading, "planned": Planned}

    @property
    def surveying(self) -> Surveying:
        """The survey as it stands; the same object until the next entry."""
        if self._state is None:
            plans = self._all(Planned)
            last = {"nodes": plans[-1].nodes, "runs": plans[-1].runs} if plans else {}
            self._state = replace(
                self._base, readings=self._all(Reading), left_out=tuple(_left_out(self._base, plans)), **last
            )
        surveying: Surveying = self._state
        return surveying

    def take(self, entry: Entry) -> None:
        if self._base is not None and self._base.finished is not None:
            raise LineFault(entry.n, "it comes after the survey was finished")
        if self._base is not None and self._base.set_aside is not None:
            raise LineFault(entry.n, "it comes after the survey was set aside")
        super().take(entry)

    def _special(self) -> dict[str, Callable[[Entry], None]]:
        return {**super()._special(), "finished": self._finished, "set-aside": self._set_aside}

    def _opened(self, entry: Entry) -> None:
        base = msgspec.convert({**entry.body, "opened": entry.at}, Surveying)
        if base.straightedge is not None and not 0 < base.straightedge <= FARTHEST:
            raise TypeError("its straightedge has no length")
        _check_plan(base)
        self._base = base

    def _check(self, kept: Any) -> None:
        super()._check(kept)
        if isinstance(kept, Planned):
            _check_plan(kept)
        elif isinstance(kept.value, str) or not abs(kept.value) <= HIGHEST_READING:
            raise TypeError("its reading is no number that can be read there")
        elif kept.unit not in ("mm", "mm/m"):
            raise TypeError("its reading is neither a height nor a slope")

    def _finished(self, entry: Entry) -> None:
        self._base = replace(self._base, finished=entry.at)

    def _set_aside(self, entry: Entry) -> None:
        self._base = replace(self._base, set_aside=entry.at)


def _left_out(base: Surveying, plans: Iterable[Planned]) -> Iterator[str]:
    """Why each plan has fewer places than the one before, or fewer level runs and no other places."""
    yield from base.left_out
    before: Surveying | Planned = base
    for plan in plans:
        fewer = len(plan.nodes) < len(before.nodes)
        if plan.why and (fewer or (len(plan.runs) < len(before.runs) and plan.nodes == before.nodes)):
            yield plan.why
        before = plan


def _check_plan(plan: Surveying | Planned) -> None:
    """Raises TypeError for places of one name, and for runs between places that are not there."""
    names = {n.name for n in plan.nodes}
    if not all(abs(at) <= FARTHEST for n in plan.nodes for at in (n.x, n.y)):
        raise TypeError("a place lies nowhere in a bay")
    if len(names) < len(plan.nodes):
        raise TypeError("two places have one name")
    if not all(a in names and b in names and a != b for a, b in plan.runs):
        raise TypeError("a level run names a place that is not there")
