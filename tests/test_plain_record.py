"""Which answers count, what is set aside, under which go a result was read: held against a second opinion on the file."""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.checks.finding import Visit, ask, find
from readiness.closing import RESULT, closing
from readiness.job import VOID_EVENTS, Ended, Event, Fix, Reading, Waiver
from readiness.jobstate import job_state
from readiness.records.account import account
from readiness.records.index import JobIndex
from readiness.records.journal import Journal
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
from readiness.watch import undone
from tests.plain_record import SHARED, PlainRecord
from tests.shop import demo_shop

JOB = "HB-0422"
READY = 62
"""Lines of its journal after which both sides are a go."""
Deed = tuple[str, int, int]
"""What is done, to which of several, and how many minutes later."""
DEEDS = ("read", "read", "mistyped", "fix", "event", "touch", "waive", "withdraw", "result", "result", "scan", "bay", "sides", "end")  # fmt: skip
SHOP: list[ShopFolder] = []
SERIAL = itertools.count()


@pytest.fixture(scope="module", autouse=True)
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Its disk need not be waited for."""
    SHOP[:] = [demo_shop(tmp_path_factory.mktemp("plain"))]
    path = SHOP[0].jobs_folder / f"{JOB}.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)[:READY]
    for other in SHOP[0].jobs_folder.glob("*.jsonl"):
        other.unlink()
    path.write_bytes(b"".join(lines))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda descriptor: None)
        yield


class Job:
    """A journal in which things go on."""

    def __init__(self) -> None:
        base = (SHOP[0].jobs_folder / f"{JOB}.jsonl").read_bytes()
        self.path = SHOP[0].path / f"job-{next(SERIAL)}.jsonl"
        self.path.write_bytes(base)
        self.journal = Journal.open(self.path)
        self.at = self.journal.last_at

    def visit(self) -> Visit:
        return SHOP[0].visit(self.journal.job)

    def do(self, deed: Deed) -> None:
        what, which, minutes = deed
        if self.journal.job.ended is not None and what != "withdraw":
            return
        self.at = max(self.at + timedelta(minutes=minutes), self.journal.last_at)
        job = self.journal.job
        old = job.readings[which % len(job.readings)]
        side = job.sides[which % len(job.sides)]
        events = sorted(VOID_EVENTS)
        if what == "read":
            self.journal.record(replace(old, at=self.at, number=0))
        elif what == "mistyped":
            self.journal.instead(old, replace(old, at=self.at, number=0), "mistyped", "x")
        elif what == "fix" and not old.question.startswith("packed"):
            question = ("", old.question, old.question.split(".")[0])[which % 3]
            self.journal.fix(Fix(check=old.check, question=question, side=old.side, at=self.at, by="x"))
        elif what == "event":
            self.journal.happen(Event(event=events[which % len(events)], at=self.at, by="x"))
        elif what == "touch":
            self.journal.happen(Event(event="sensor_touched", at=self.at, by="x", side=side))
        elif what == "waive" and old.check != SHARED:
            self.journal.waive(Waiver(check=old.check, side=old.side, reason="why", at=self.at, by="x"))
        elif what == "withdraw":
            latest = self.journal.latest
            assert latest is not None
            self.journal.withdraw(latest[0], "undone", "x", self.at)
        elif what in ("result", "scan"):
            self._answer(RESULT if what == "result" else "rescan", side, which)
        elif what == "bay":
            self.journal.change(bay=f"bay-{1 + which % 3}", by="x", at=self.at)
        elif what == "sides":
            self.journal.change(sides=(("left",), ("left", "right"))[which % 2], by="x", at=self.at)
        elif what == "end":
            self.journal.end(Ended(at=self.at, by="x"))

    def _answer(self, kind: str, side: str, which: int) -> None:
        """All questions of a check after the calibration, or the last one only, as where the first stands there already."""
        visit = self.visit()
        check = next(c for c in visit.checklist.close_walk() if c.kind == kind)
        where = side if check.per_side else ""
        asked = ask(visit, check, where, self.at)
        there = any(c == check.id and s == where for c, s, _ in visit.readings)
        for k, question in enumerate(asked[-1:] if there and which % 3 == 0 else asked):
            value: float | str = "yes" if question.type == "choice" else (0.4, 9.0)[which % 2]
            self.journal.record(
                Reading(
                    check=check.id, question=question.key, value=value, side=where, unit=question.unit, evidence="seen",
                    at=self.at + timedelta(seconds=k), by="x", text=str(value),
                )
            )  # fmt: skip
        self.at = self.journal.last_at


def agrees(job: Job, now: datetime) -> None:
    """What the program says of the journal at a moment is what the second opinion says."""
    visit, plain = job.visit(), PlainRecord(job.path)
    seen, verdict = visit.until(now), judge(visit, now)
    assert (seen.job.sides, seen.bay.bay) == plain.setting(now)
    for check in visit.checklist.walk():
        for side in seen.job.sides if check.per_side else ("",):
            counts = {
                place: plain.counting(visit.checklist, check, side, place, now)
                for place in ((check.id, side), (SHARED, ""))
            }
            scene = seen.scene(check, side, now)
            for c, s, key in seen.readings:
                if (c, s) == (check.id, side):
                    mine = {r.number for r in scene.series(key)}
                    assert mine == {r.number for r in seen.readings[c, s, key]} & counts[c, s]
            finding = find(seen, check, side, now)
            assert (finding.outcome == "waived") == plain.set_aside(check.id, side, now), check.id
            used = {
                r.number for part in finding.parts for r in part.readings if r.check in (check.id, SHARED)
            }
            if finding.outcome == "pass":
                assert used <= counts[check.id, side] | counts[SHARED, ""], check.id
    for word, findings in ((s.verdict, s.findings) for s in verdict.sides.values()):
        outcomes = {f.outcome for f in findings}
        expected = (
            "go" if outcomes == {"pass"} else "go-with-waivers" if outcomes == {"pass", "waived"} else "no-go"
        )
        assert word == expected


def undoes_what_was_said(job: Job, event: str) -> None:
    """What the watch announces of an event is what the second opinion finds gone after it."""
    visit, at = job.visit(), job.journal.last_at + timedelta(seconds=1)
    told = {c.id for c in undone(visit, at)[event]}
    before = {f.check for s in judge(visit, at).sides.values() for f in s.findings if f.outcome == "pass"}
    job.journal.happen(Event(event=event, at=at + timedelta(seconds=1), by="x"))
    plain, after = PlainRecord(job.path), at + timedelta(seconds=2)
    gone = set()
    for check in visit.checklist.walk():
        for side in visit.job.sides if check.per_side else ("",):
            place = (check.id, side)
            was = plain.counting(visit.checklist, check, side, place, at)
            if check.id in before and not was <= plain.counting(visit.checklist, check, side, place, after):
                gone.add(check.id)
    assert gone <= told, "what it undoes by itself; more may rest on that"


def result_keeps_its_go(job: Job) -> None:
    """A result was read under the verdict of the journal as it was then: of its first lines, whatever came later."""
    visit, now = job.visit(), job.journal.last_at
    plain, taken_back = PlainRecord(job.path), set(PlainRecord(job.path).back)
    check = next(c for c in visit.checklist.close_walk() if c.kind == RESULT)
    for side, close in closing(visit, now).sides.items():
        fixed = any(f.check == check.id for f in visit.job.fixes)
        if close.read_at is None or fixed:
            continue
        assert close.read_at == plain.last_calibration(check.id, side, now)
        assert account(visit, now).sides[side].at == close.read_at
        then = [line["n"] for line in plain.lines if datetime.fromisoformat(line["at"]) <= close.read_at]
        before = {n for n in then if plain.lines[n - 1]["kind"] != "waiver"}
        if before & taken_back or any("taken" in line for line in plain.lines):
            continue  # what was a mistake was one then, too
        first = job.path.with_suffix(".first.jsonl")
        first.write_bytes(b"".join(job.path.read_bytes().splitlines(keepends=True)[: max(then)]))
        with Journal.open(first, write=False) as journal:
            as_it_was = judge(SHOP[0].visit(journal.job), close.read_at, (side,)).sides[side]
        assert close.ready is not None
        assert (close.ready.verdict, close.ready.lapses_at) == (as_it_was.verdict, as_it_was.lapses_at)
        assert bool(close.said) == (as_it_was.verdict != "go")


def list_says_the_same(job: Job, now: datetime) -> None:
    """The index of jobs, asked through its cache, says of each side what the verdict says."""
    path = SHOP[0].jobs_folder / f"{JOB}.jsonl"
    base = path.read_bytes()
    try:
        path.write_bytes(job.path.read_bytes())
        index = JobIndex(SHOP[0], SHOP[0].path / "cache", worth_it=1)
        state = index.states(index.lines(), now)[JOB]
        again = JobIndex(SHOP[0], SHOP[0].path / "cache", worth_it=1)
        assert again.states(again.lines(), now)[JOB] == state
    finally:
        path.write_bytes(base)
    visit, now = job.visit(), max(now, job.journal.last_at)
    assert state == job_state(visit, job.journal.last_at, now)
    assert (state.ended is not None) == PlainRecord(job.path).ended
    if state.ended is None:
        verdict, close = judge(visit, now), closing(visit, now)
        for side in state.sides:
            done = close.sides[side.side].finding(RESULT).counts
            ready = close.sides[side.side].ready if done else verdict.sides[side.side]
            assert ready is None or (side.word in ("go", "go-with-waivers")) == (ready.verdict != "no-go")
            assert ready is None or side.word == ready.verdict or ready.verdict == "no-go"


def lives(deeds: Iterable[Deed], look: int) -> None:
    job = Job()
    for deed in deeds:
        job.do(deed)
    last = job.journal.last_at
    agrees(job, last)
    agrees(job, last + timedelta(minutes=look))
    agrees(job, last - timedelta(minutes=look))
    result_keeps_its_go(job)
    list_says_the_same(job, last + timedelta(minutes=look))
    if job.journal.job.ended is None:
        undoes_what_was_said(job, sorted(VOID_EVENTS)[look % len(VOID_EVENTS)])
    job.journal.close()


LIFE = st.lists(
    st.tuples(st.sampled_from(DEEDS), st.integers(0, 997), st.sampled_from([0, 1, 4, 17, 45, 130])),
    max_size=14,
)
CALM = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large]


@settings(max_examples=12, deadline=None, suppress_health_check=CALM)
@any_of(LIFE, st.sampled_from([0, 3, 29, 61, 200]))
def test_a_job_in_which_anything_happens(deeds: list[Deed], look: int) -> None:
    lives(deeds, look)


@pytest.mark.slow
@settings(max_examples=80, deadline=None, suppress_health_check=CALM)
@any_of(LIFE, st.sampled_from([0, 3, 29, 61, 200]))
def test_a_job_in_which_anything_happens_many_times(deeds: list[Deed], look: int) -> None:
    lives(deeds, look)
