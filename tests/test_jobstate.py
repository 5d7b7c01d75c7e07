"""How a job stands, and for how long: it agrees with the whole judgement at every later moment."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from msgspec.structs import replace as changed

from readiness.checks.finding import Visit
from readiness.closing import closing
from readiness.job import Ended, Event, Fix, Job, Reading, Waiver
from readiness.jobstate import JobState, job_state, steady_until
from readiness.records.account import account
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
from readiness.watch import standing
from tests.shop import MOMENT, demo_shop

MINUTE = timedelta(minutes=1)
GO, BOTH, NO_GO, BEGUN, OLD = "HB-0417", "HB-0418", "HB-0415", "HB-0420", "HB-0409"
BY_LEVEL = "HB-0421"
"""Its floor comes from a survey, which is renewed from time to time."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> ShopFolder:
    return demo_shop(tmp_path_factory.mktemp("jobstate"))


@pytest.fixture(scope="module")
def jobs(shop) -> dict[str, Job]:
    return {line.id: shop.journal(line.id, write=False).job for line in shop.jobs()}


def last_of(job: Job) -> datetime:
    entries = (*job.readings, *job.fixes, *job.events, *job.waivers)
    ended = [job.ended.at] if job.ended else []
    return max([job.opened, *(e.at for e in entries), *ended])


def stands(visit: Visit, now: datetime) -> JobState:
    return job_state(visit, last_of(visit.job), now)


# --- words ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("job", "words"),
    [
        (GO, {"left": "go"}),
        (BOTH, {"left": "go", "right": "no-go"}),
        (NO_GO, {"single": "no-go"}),
        (BEGUN, {"right": "unfinished"}),
        (OLD, {"right": "lapsed"}),
    ],
)
def test_the_demo_jobs_stand_as_their_story_has_it(shop, jobs, job, words):
    found = stands(shop.visit(jobs[job]), MOMENT)
    assert {s.side: s.word for s in found.sides} == words


def test_time_ends_a_go_and_nothing_else(shop, jobs):
    """What was wrong or open is so until somebody comes back; the counts are those of then. To a job that is over
    time does nothing."""
    later = MOMENT + timedelta(days=3)
    for name, job in jobs.items():
        before, after = (stands(shop.visit(job), at).sides for at in (MOMENT, later))
        for a, b in zip(before, after, strict=True):
            ends = job.ended is None and a.word in ("go", "go-with-waivers")
            assert b.word == ("lapsed" if ends else a.word), name
            assert (b.wrong, b.done, b.of, b.until) == (a.wrong, a.done, a.of, None)


def test_an_event_after_the_go_ends_it_too(shop, jobs):
    """What was a go and was undone is no job that was never finished."""
    job = changed(jobs[GO], events=(Event(event="door_opened", at=MOMENT, by="x"),))
    assert stands(shop.visit(job), MOMENT).word == "lapsed"


def test_what_a_person_set_aside_shows(shop, jobs):
    job = changed(jobs[GO], waivers=(Waiver(check="light", reason="dark", at=MOMENT, by="x"),))
    assert stands(shop.visit(job), MOMENT).word == "go-with-waivers"


def with_result(visit: Visit, at: datetime, side: str, good: bool = True) -> Visit:
    """The visit with an answer to every question of the result's check, from the tester's display."""
    from readiness.checks.finding import ask

    check = next(c for c in visit.checklist.close_walk() if c.kind == "result")
    where = side if check.per_side else ""
    taken: list[Reading] = []
    for question in ask(visit, check, side, at):
        value = {"choice": "yes", "quantity": 0.0 if good else 1e3}[question.type]
        taken.append(
            Reading(check=check.id, question=question.key, value=value, at=at, by="x", side=where,
                    unit="" if question.type == "choice" else question.unit, evidence="seen")
        )  # fmt: skip
    return replace(visit, job=changed(visit.job, readings=(*visit.job.readings, *taken)))


def test_a_side_with_a_good_result_lapses_no_more(shop, jobs):
    visit = with_result(shop.visit(jobs[GO]), MOMENT, "left")
    for later in (MOMENT, MOMENT + timedelta(days=400)):
        side = stands(visit, later).sides[0]
        assert (side.word, side.until, side.in_range, side.closed) == ("go", None, True, "open")


def test_a_result_out_of_range_is_no_end(shop, jobs):
    visit = with_result(shop.visit(jobs[GO]), MOMENT, "left", good=False)
    side = stands(visit, MOMENT).sides[0]
    assert (side.word, side.in_range, side.closed) == ("go", False, "wrong")
    assert stands(visit, MOMENT + timedelta(days=1)).sides[0].word == "lapsed"


def test_a_result_that_was_set_aside_is_not_in_range(shop, jobs):
    visit = shop.visit(jobs[GO])
    aside = Waiver(check="result", side="left", reason="the customer took the car", at=MOMENT, by="x")
    side = stands(replace(visit, job=changed(visit.job, waivers=(aside,))), MOMENT + MINUTE).sides[0]
    assert (side.word, side.in_range, side.closed) == ("go", None, "open")


def test_an_ended_job_stays_as_it_was(shop, jobs):
    end = Ended(at=MOMENT + MINUTE, by="x", why="sold")
    for visit, words in (
        (with_result(shop.visit(jobs[GO]), MOMENT, "left"), ("go", True)),
        (shop.visit(jobs[GO]), ("go", None)),
        (shop.visit(jobs[BEGUN]), ("no-go", None)),
    ):
        over = replace(visit, job=changed(visit.job, ended=end))
        for later in (end.at, end.at + timedelta(days=400)):
            found = stands(over, later)
            assert found.ended == end
            assert (found.sides[0].word, found.sides[0].in_range) == words
        assert stands(over, MOMENT).ended is None


# --- it is what the whole judgement says ----------------------------------------------------------


def in_full(visit: Visit, now: datetime) -> dict[str, tuple[str, datetime | None, int, int]]:
    """Word, end of the go, wrong and done of each side, the long way: two whole verdicts and the whole close."""
    seen, left_at = visit.until(now), min(last_of(visit.job), now)
    at = seen.job.ended.at if seen.job.ended else left_at
    close = closing(seen, at).sides
    left, after, paper = judge(seen, left_at).sides, judge(seen, now).sides, account(seen, now).sides
    found = {}
    for side in seen.job.sides:
        results = [f for f in close[side].findings if f.kind == "result"]
        if seen.job.ended or (results and all(f.counts for f in results)):
            of = close[side].ready or paper[side].verdict
            found[side] = (of.verdict, None, of)
        elif after[side].verdict != "no-go":
            found[side] = (after[side].verdict, after[side].lapses_at, left[side])
        elif standing(left[side], left_at) != "no-go":
            found[side] = ("lapsed", None, left[side])
        else:
            wrong = any(f.wrong for f in left[side].findings)
            found[side] = ("no-go" if wrong else "unfinished", None, left[side])
    return {
        side: (word, until, sum(f.wrong for f in of.findings), sum(f.counts for f in of.findings))
        for side, (word, until, of) in found.items()
    }


def odd(visit: Visit, chance: random.Random) -> Visit:
    """The visit with a few things that went on or wrong: repeats, gaps, fixes, events, a wrong clock, an end."""
    job = changed(visit.job, ended=None)  # nothing more is kept of a job that has ended
    end = last_of(job)
    for _ in range(chance.randrange(1, 6)):
        at = end + timedelta(minutes=chance.choice([0, 1, 7, 25, 50, 600]), seconds=chance.randrange(6))
        what = chance.randrange(7)
        reading = chance.choice(job.readings)
        if what == 0:
            job = changed(job, readings=(*job.readings, changed(reading, at=at)))
        elif what == 1:
            job = changed(job, readings=tuple(r for r in job.readings if r is not reading))
        elif what == 2:
            fix = Fix(check=reading.check, question=reading.question, side=reading.side, at=at, by="x")
            job = changed(job, fixes=(*job.fixes, fix))
        elif what == 3:
            event = Event(event=chance.choice(["door_opened", "tyre_touched", "got_in"]), at=at, by="x")
            job = changed(job, events=(*job.events, event))
        elif what == 4:
            waiver = Waiver(check=reading.check, side=reading.side, reason="x", at=at, by="x")
            job = changed(job, waivers=(*job.waivers, waiver))
        elif what == 5:
            job = with_result(replace(visit, job=job), at, job.sides[0], chance.random() < 0.7).job
        else:
            job = changed(job, ended=Ended(at=max(at, last_of(job)), by="x"))
            break
    return replace(visit, job=job)


def moments(visit: Visit, chance: random.Random, count: int) -> list[datetime]:
    """Moments at which something may happen, to the microsecond and beside it; some far away."""
    readings, holds = visit.job.readings, [c.hold for c in visit.checklist.checks if not c.lasting]
    ends = [r.at + timedelta(minutes=chance.choice(holds)) for r in readings]
    ends += [r.at for r in readings]
    if visit.bay.survey is not None:
        days = visit.bay.survey.renew_after + chance.choice([-1, 0, 1, 2])
        day = datetime.combine(visit.bay.survey.date, datetime.min.time(), UTC) + timedelta(days=days)
        ends += [day + timedelta(hours=chance.randrange(-30, 30)) for _ in range(len(ends) // 2)]
    near = [
        chance.choice(ends) + chance.choice([-1, 0, 0, 1]) * timedelta(microseconds=1) for _ in range(count)
    ]
    zones = [timezone(timedelta(hours=h)) for h in (-11, -5, 0, 1, 14)]
    return sorted(at.astimezone(chance.choice(zones)) for at in (*near, MOMENT, MOMENT + timedelta(days=500)))


def agrees(visit: Visit, chance: random.Random, count: int) -> None:
    """At every moment the state is that of the long way, and no change comes before it was foretold."""
    before: tuple[JobState, datetime | None] | None = None
    for now in moments(visit, chance, count):
        found = stands(visit, now)
        assert {s.side: (s.word, s.until, s.wrong, s.done) for s in found.sides} == in_full(visit, now)
        if before is not None and (before[1] is None or now < before[1]):
            assert found == before[0]
        else:
            before = found, steady_until(visit, last_of(visit.job), now)
            assert before[1] is None or before[1] > now


@pytest.mark.parametrize("name", [GO, BOTH, BY_LEVEL])
def test_it_is_what_the_whole_judgement_says_at_any_later_time(shop, jobs, name):
    chance = random.Random(f"as it is {name}")
    agrees(shop.visit(jobs[name]), chance, 10)
    agrees(odd(shop.visit(jobs[name]), chance), chance, 10)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_it_is_what_the_whole_judgement_says_whatever_happened(shop, jobs, seed):
    chance = random.Random(seed)
    for name in sorted(jobs):
        agrees(odd(shop.visit(jobs[name]), chance), chance, 6)


def step_by_step(visit: Visit, steps: int) -> list[str]:
    """The words of the first side every five minutes from the last entry; each as foretold, and as the long way has it."""
    start = last_of(visit.job)
    words: list[str] = []
    until: datetime | None = start
    for now in (start + 5 * n * MINUTE for n in range(steps)):
        found = stands(visit, now)
        assert {s.side: (s.word, s.until, s.wrong, s.done) for s in found.sides} == in_full(visit, now)
        due = until is not None and until <= now
        assert not words or due or found.sides[0].word == words[-1]
        until = steady_until(visit, start, now) if due else until
        words.append(found.sides[0].word)
    return words


def shifted(visit: Visit, by: timedelta, of: str = "") -> Visit:
    """All readings, or those of one check, taken so much later."""
    readings = tuple(changed(r, at=r.at + by) if of in ("", r.check) else r for r in visit.job.readings)
    return replace(
        visit, job=changed(visit.job, opened=visit.job.opened + min(by, timedelta()), readings=readings)
    )


def test_a_go_ends_with_what_all_checks_may_use(shop, jobs):
    """What stands about is asked once; each check that uses it holds it for its own time, the clear area for an hour."""
    visit = shop.visit(jobs[GO])
    assert step_by_step(visit, 8) == ["go"] * 6 + ["lapsed"] * 2
    assert step_by_step(shifted(visit, -45 * MINUTE, of="shared"), 5) == ["go"] * 3 + ["lapsed"] * 2


def test_a_go_outlives_the_first_of_several_series(shop, jobs):
    """Everything was read again and again: when the first series is too old, the others still hold."""
    visit = shop.visit(jobs[GO])
    readings = [r for late in (0, 20, 45) for r in shifted(visit, late * MINUTE).job.readings]
    often = replace(visit, job=changed(visit.job, readings=tuple(readings)))
    assert step_by_step(often, 8) == ["go"] * 6 + ["lapsed"] * 2
    first = stands(often, last_of(often.job)).sides[0].until
    assert first == last_of(often.job) + 15 * MINUTE


def test_a_go_ends_at_midnight_with_the_survey_of_its_floor(shop, jobs):
    visit = shop.visit(jobs[GO])
    midnight = datetime.combine(MOMENT.date(), datetime.min.time(), UTC) + timedelta(days=1)
    visit = shifted(visit, midnight - 10 * MINUTE - last_of(visit.job))
    assert visit.bay.survey is not None
    date = midnight.date() - timedelta(days=1 + visit.bay.survey.renew_after)
    expiring = replace(visit, bay=changed(visit.bay, survey=changed(visit.bay.survey, date=date)))
    assert step_by_step(expiring, 4) == ["go"] * 2 + ["lapsed"] * 2
    assert step_by_step(visit, 4) == ["go"] * 4


def test_a_job_long_past_is_judged_once_and_for_all(shop, jobs):
    """Else a list of thousands would be judged anew at every look; only a survey that expires may change it."""
    for job in jobs.values():
        visit = shop.visit(job)
        until = steady_until(visit, last_of(job), MOMENT + timedelta(days=2))
        assert until is None or (visit.bay.survey is not None and until > MOMENT + timedelta(days=30))
