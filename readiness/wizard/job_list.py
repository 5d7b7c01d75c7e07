"""The jobs on the start screen: the open ones first, the ended ones apart, any of them found by a few letters.

Like the start screen it imports nothing of the house before there are jobs to show.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option, OptionDoesNotExist

if TYPE_CHECKING:
    from readiness.job import Outcome
    from readiness.jobstate import JobState, SideState
    from readiness.records.listing import JobLine

NEW, ENDED, MORE = "new", "ended", "more"
MOST = 200
"""Jobs listed at once, the latest; any other is found by its letters."""
OUTCOME = 27
"""Cells kept for how a job stands, so that nothing moves when that is filled in."""
ROOM_FOR_PEOPLE = 100
"""Cells of the screen from which on a line also says who opened the job."""


class JobList(OptionList):
    """All jobs of the shop, of which it lists some; `shown` are those."""

    def __init__(self, clock: Callable[[], datetime]) -> None:
        super().__init__(Option(Content("n  New job"), id=NEW))
        self._clock = clock
        self._jobs: Sequence[JobLine] = ()
        self._standing: dict[str, JobState] = {}
        self._whole = True
        self.ended = False
        """Whether the ended jobs are listed instead of the open ones."""
        self.wanted = ""
        """Letters that the jobs listed have; empty: none are looked for."""
        self.shown: list[JobLine] = []

    def take(self, jobs: Sequence[JobLine], whole: bool = True) -> None:
        """The jobs there are, the latest touched first; `whole` is False while there are more than these."""
        there = {job.id: job for job in self._jobs}
        again = {job.id for job in jobs if there.get(job.id) != job}
        self._standing = {id: state for id, state in self._standing.items() if id not in again}
        self._jobs, self._whole = jobs, whole
        self.list_anew()

    def stand(self, states: Mapping[str, JobState]) -> None:
        """How some of the jobs stand."""
        self._standing.update(states)
        for job, line in zip(self.shown, self._told(self.shown), strict=True):
            if job.id in states:
                with suppress(OptionDoesNotExist):
                    self.replace_option_prompt(f"job:{job.id}", Content(line))

    def find(self, text: str) -> None:
        """List those whose number, plate, sheet or people have all words of a text; all again for an empty one."""
        if text != self.wanted:
            self.wanted = text
            self.list_anew()

    def turn(self) -> None:
        """From the open jobs to the ended ones, and back."""
        self.ended = not self.ended
        self.list_anew()

    def count_ended(self) -> int:
        return sum(job.ended for job in self._jobs)

    def on_resize(self) -> None:
        """Other columns fit."""
        if self._jobs:
            self.list_anew()

    def list_anew(self) -> None:
        """List anew; the cursor stays on its job, or where it was."""
        from readiness.records.selection import found_by

        at, highlighted = self.highlighted or 0, self.highlighted_option
        if self.wanted:
            found = found_by(self._jobs, self.wanted)
        else:
            found = [job for job in self._jobs if job.ended == self.ended]
        self.shown = found[:MOST]
        options = [Option(Content(line), id=f"job:{job.id}") for job, line in zip(self.shown, self._told(self.shown), strict=True)]  # fmt: skip
        self.clear_options()
        self.add_options([*self._before(), *options, *self._after(len(found))])
        ids = [option.id for option in self.options]
        same = highlighted is not None and highlighted.id in ids
        if self.wanted:
            at = 0
        self.highlighted = ids.index(highlighted.id) if same and highlighted else min(at, len(ids) - 1)

    def _before(self) -> list[Option]:
        if self.wanted:
            return []
        if self.ended:
            return [Option(Content("e  Back to the jobs that are open"), id=ENDED)]
        return [Option(Content("n  New job"), id=NEW)]

    def _after(self, found: int) -> list[Option]:
        """What is not listed."""
        more = found - len(self.shown)
        after = []
        if self.wanted and not found:
            after.append(Option(Content(f"   No job has '{self.wanted}' in its number, plate, sheet or people."), id=MORE, disabled=True))  # fmt: skip
        elif more or not self._whole:
            said = f"{more:,} more" if self._whole else "more"
            after.append(Option(Content(f"   … {said}: / finds any of them"), id=MORE, disabled=True))
        ended = self.count_ended()
        if ended and not self.wanted and not self.ended:
            count = f"{ended:,} ended {'job' if ended == 1 else 'jobs'}" if self._whole else "Ended jobs"
            after.append(Option(Content(f"e  {count}"), id=ENDED))
        return after

    # --- lines -----------------------------------------------------------------------------------

    def _told(self, jobs: Sequence[JobLine]) -> list[str]:
        from readiness.report.columns import columns, cut

        room = max(40, self.app.size.width - 7)  # margins, three blanks in front, a scroll bar
        if not jobs:
            return []
        rows = columns([self._row(job) for job in jobs], room, {0: 12, 1: 9, 2: 9, 3: 8})
        bad = (f"{job.id}  cannot be opened: {job.problem}" if job.problem else "" for job in jobs)
        return [
            f"   {cut(trouble, room) if trouble else line}" for line, trouble in zip(rows, bad, strict=True)
        ]

    def _row(self, job: JobLine) -> tuple[str, ...]:
        from readiness.report.jobs import when

        if job.problem or job.last is None:
            return ("",) * 6
        by = job.by if self.app.size.width >= ROOM_FOR_PEOPLE else ""
        state = self._standing.get(job.id)
        outcome = outcome_of(state) if state is not None else ""
        return job.id, job.plate, job.sheet, by, when(job.last, self._clock()), f"{outcome:<{OUTCOME}}"


def outcome_of(state: JobState) -> str:
    """How a job stands, in a few words with a glyph: '✓ go until 10:11', 'left ✓ 10:14, right ✗', 'ended without a go'."""
    from readiness.wizard.closing_pages import in_short

    if state.problem:
        return "cannot be judged: open it to see why"
    return in_short(state) or _at_work(state)


def _at_work(state: JobState) -> str:
    """No line of the list has room for a word and two times."""
    first = min(state.sides, key=lambda s: (s.until is None, s.until or 0), default=None)
    if first is None:
        return ""
    if len(state.sides) == 1 or state.words == {"go-with-waivers"}:
        return _side(first)
    timed = "go-with-waivers" not in state.words
    return ", ".join(_one_of_both(side, timed=timed) for side in state.sides)


def _side(side: SideState) -> str:
    from readiness.wizard.pages import clock

    if side.word == "unfinished":
        return f"{side.of - side.done} of {side.of} checks to do"
    told = {
        "go": "go" + (f" until {clock(side.until)}" if side.until else ""),
        "go-with-waivers": "go with waivers" + (f" to {clock(side.until)}" if side.until else ""),
        "no-go": f"no-go, {side.wrong} to put right",
        "lapsed": "lapsed",
    }
    return f"{_glyph(side)} {told[side.word]}"


def _one_of_both(side: SideState, *, timed: bool) -> str:
    from readiness.wizard.pages import clock

    until = clock(side.until) if timed and side.until else ""
    more = "result" if side.in_range else "waivers" if side.word == "go-with-waivers" else until
    return " ".join(filter(None, (side.side, _glyph(side), more)))


def _glyph(side: SideState) -> str:
    from readiness.wizard.looks import GLYPHS

    outcomes: dict[str, Outcome] = {
        "go": "pass", "go-with-waivers": "waived", "no-go": "fail", "lapsed": "lapsed", "unfinished": "not_done",
    }  # fmt: skip
    return GLYPHS[outcomes[side.word]]
