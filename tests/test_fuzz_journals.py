"""Journals that nobody wrote like that: refused with the line that is wrong, or read, judged and shown; nothing else.

Most have every sum right, so that what they say gets past the chain (`forged`). What verify says of a journal and what
opening it says is one and the same.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from readiness.checks.finding import Visit
from readiness.records.dossier import dossier
from readiness.records.index import JobIndex
from readiness.records.journal import Journal, JournalError
from readiness.records.listing import job_line
from readiness.records.shop import ShopError, ShopFolder
from readiness.records.sound import Chain, looked_through
from readiness.records.surveys import is_survey
from readiness.records.verify import Wanted, verified
from readiness.report.jobs import as_list, table
from readiness.report.verified import of_many, one
from tests.forged import USUAL, Fields, chained, fields_of, forged
from tests.shop import MOMENT, demo_shop
from tests.through import (
    judged,
    little_memory,
    on_pages,
    recorded,
    reported,
    steering,
    told,
    valid,
    watched,
    within,
)

pytestmark = pytest.mark.slow

ROUND = 100
FORGED, DAMAGED = 40, 10
"""Rounds of each kind."""
JOBS = ("HB-0415", "HB-0416", "HB-0418", "HB-0421", "HB-0422", "HB-0423", "HB-0424", "HB-0425")
"""Open and ended ones, with waivers, files, corrections and results."""
MANY = 400
"""Entries on top of those of a job: three times what a long working day would come to."""
NOW = MOMENT + timedelta(hours=1)


class Bench:
    """The demo shop with room for one job."""

    def __init__(self, to: Path) -> None:
        self.folder: ShopFolder = demo_shop(to)
        jobs = self.folder.jobs_folder
        self.sound = {job: (jobs / f"{job}.jsonl").read_bytes() for job in JOBS}
        self.entries: dict[str, list[Fields]] = {job: fields_of(data) for job, data in self.sound.items()}
        for path in jobs.glob("*.jsonl"):
            path.unlink()
        self.path = jobs / "HB-1.jsonl"
        self.store = to / "cache"


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    with little_memory():
        yield Bench(tmp_path_factory.mktemp("journals"))


def read_or_told(bench: Bench, data: bytes) -> tuple[Journal, Visit] | None:
    """The job as it is read; None where it is refused with a sentence, by opening, verify and list alike."""
    bench.path.write_bytes(data)
    line, chain = within(lambda: job_line(bench.path)), within(lambda: looked_through(bench.path))
    assert line.problem.isprintable()
    assert len(line.problem) < 400
    journal, fault = opened(bench.path)
    if journal is None:
        assert fault == chain.fault or (is_survey(bench.path) and chain.fault)
        return None
    assert bool(chain.fault) == bool(journal.warnings), "an odd last line is all that both may find"
    assert not line.problem, "a sound journal is listed"
    assert (line.ended, line.sheet, line.bay) == (
        journal.job.ended is not None,
        journal.job.sheet,
        journal.job.bay,
    )
    try:
        return journal, bench.folder.visit(journal.job, journal.units)
    except ShopError as fault:
        told(fault)
        return None


def opened(path: Path) -> tuple[Journal | None, str]:
    """The job, or the sentence with which it is refused."""
    try:
        return within(lambda: Journal.open(path, write=False)), ""
    except JournalError as fault:
        told(fault)
        return None, str(fault)


def shown(bench: Bench, journal: Journal, visit: Visit, chance: random.Random) -> None:
    """On every face, the dear ones now and then."""
    now = chance.choice((NOW, journal.last_at, journal.last_at + timedelta(minutes=20)))
    within(lambda: judged(visit, now))
    dear: list[tuple[int, Callable[[], object]]] = [
        (5, lambda: on_pages(visit, now)),
        (5, lambda: recorded(visit, journal, now)),
        (12, lambda: watched(visit, now)),
        (20, lambda: reported(visit, dossier(str(bench.path), bench.folder.path), now)),
        (20, lambda: listed(bench)),
        (20, lambda: looked_at(bench)),
    ]
    for every, show in dear:
        if not chance.randrange(every):
            within(show)


def listed(bench: Bench) -> None:
    """By `readiness jobs`."""
    index = JobIndex(bench.folder, store=bench.store)
    lines = index.lines()
    states = index.states(lines, NOW)
    for width in (None, 80):
        assert steering("\n".join(table(lines, states, NOW, width))) == []
    valid(as_list(lines, states))


def looked_at(bench: Bench) -> Chain:
    """By `readiness verify`."""
    [found] = verified([bench.path], Wanted(shop=bench.folder.path))
    for lines in (one(found), of_many(found)):
        assert all(steering(line) == [] and len(line) < 2_000 for line in lines)
    return found.chain


@pytest.mark.parametrize("nth", range(FORGED))
def test_a_journal_made_up_with_every_sum_right(bench, nth):
    seen: Counter[bool] = Counter()
    for k in range(ROUND):
        chance = random.Random(f"forged {nth} {k}")
        data = forged(bench.entries[chance.choice(JOBS)], chance)
        try:
            found = read_or_told(bench, data)
            seen[found is not None] += 1
            if found is not None:
                shown(bench, *found, chance)
            elif not chance.randrange(40):
                within(lambda: listed(bench))
                within(lambda: looked_at(bench))
        except BaseException as fault:
            fault.add_note(f"journal 'forged {nth} {k}'")
            raise
    assert seen[True] > ROUND / 10
    assert seen[False] > ROUND / 10


@pytest.mark.parametrize("nth", range(DAMAGED))
def test_a_journal_with_any_bytes_in_it(bench, nth):
    """Nothing but what was cut off at the end is ever taken; the chain is not to be had by chance."""
    for k in range(ROUND):
        chance = random.Random(f"bytes {nth} {k}")
        sound = bench.sound[chance.choice(JOBS)]
        data = with_other_bytes(sound, chance)
        if data == sound:
            continue
        try:
            found = read_or_told(bench, data)
        except BaseException as fault:
            fault.add_note(f"journal 'bytes {nth} {k}'")
            raise
        if found is not None:
            journal, _ = found
            whole = b"".join(line + b"\n" for line in data.split(b"\n")[: len(journal.entries)])
            assert sound.startswith(whole)


def with_other_bytes(data: bytes, chance: random.Random) -> bytes:
    """Cut, spliced, or with other bytes in it; or nothing but bytes."""
    at, to = sorted(chance.randrange(len(data)) for _ in range(2))
    noise = chance.randbytes(chance.choice((1, 2, 30, 3_000)))
    line = data.split(b"\n")[chance.randrange(data.count(b"\n"))]
    return chance.choice(
        (
            data[:at], data[:at] + b"\0" * 700, data[:at] + data[to:], data[:at] + noise + data[at:],
            data[:at] + noise + data[at + len(noise) :], data[:at] + line + data[at:], data + line, data + data, noise,
            data[at:], data.replace(b"\n", chance.choice((b"\r\n", b"\n\n", b" ", b"\r"))), b"\xef\xbb\xbf" + data,
            data.decode().encode("utf-16"), data.upper(), line, b"\n" * len(noise), noise + b"\n" + data,
        )
    )  # fmt: skip


# --- found once ----------------------------------------------------------------------------------


def test_a_first_line_without_its_kind_is_no_journal_to_verify_either(bench):
    entries = [dict(e) for e in bench.entries["HB-0422"]]
    del entries[0]["kind"]
    assert read_or_told(bench, chained(entries, random.Random(0))) is None
    assert looked_through(bench.path).line == 1


@pytest.mark.parametrize("year", ["0001", "1969", "9000", "9999"])
@pytest.mark.parametrize("zone", ["+00:00", "+14:00", "-12:00"])
@pytest.mark.parametrize("which", [0, -1])
def test_a_time_that_no_clock_shows_is_refused(bench, year, zone, which):
    """Added to a hold time, or in another zone, it would be none any more."""
    entries = [dict(e) for e in bench.entries["HB-0422"]]
    if which == 0:
        for entry in entries:
            entry["at"] = f"{year}-06-30T12:00:00{zone}"
    entries[which]["at"] = f"{year}-06-30T12:00:00{zone}"
    assert read_or_told(bench, chained(entries, random.Random(0))) is None
    assert job_line(bench.path).problem


def test_lists_within_lists_are_refused(bench):
    for deep in (10, 300, 5_000, 50_000):
        entries = [dict(e) for e in bench.entries["HB-0422"]]
        entries[0]["more"] = "\0raw"
        data = chained(entries, Deep(deep))  # type: ignore[arg-type]
        assert read_or_told(bench, data) is None


class Deep:
    """In place of chance: lists within each other."""

    def __init__(self, deep: int) -> None:
        self.deep = deep

    def choice(self, _: object) -> str:
        return "[" * self.deep + "]" * self.deep


def test_an_answer_that_was_never_offered_ends_nothing(bench):
    entries = [dict(e) for e in bench.entries["HB-0422"]]
    [other] = (e for e in entries if e.get("question") == "other")
    other["value"] = "perhaps"
    found = read_or_told(bench, chained(entries, random.Random(0)))
    assert found is not None
    judged(found[1], NOW)
    reported(found[1], dossier(str(bench.path), bench.folder.path), NOW)


@pytest.mark.parametrize("kind", ["reading", "waiver", "event", "fix", "note", "attached", "changed"])
def test_many_entries_of_one_kind_take_no_longer_than_a_person_waits(bench, kind):
    """And a result that was read without a go: whether there ever was one is looked for in all of them."""
    entries = [dict(e) for e in bench.entries["HB-0418"]]
    last = datetime.fromisoformat(entries[-1]["at"])
    made: Fields = {"kind": kind, **USUAL[kind]}
    if kind == "reading":
        made |= {"check": "tyres", "question": "pressure.lf", "value": 180.0, "unit": "kPa", "side": ""}
    made.pop("taken", None)
    if kind == "note":
        made["entry"] = next(n for n, e in enumerate(entries, 1) if e["kind"] == "reading")
    result: Fields = {"kind": "reading", **USUAL["reading"]}
    result.pop("taken")
    entries += [{**made, "at": (last + timedelta(seconds=k)).isoformat()} for k in range(MANY)]
    entries.append({"at": entries[-1]["at"], **result})
    for n, entry in enumerate(entries, 1):
        entry["n"] = n
    found = read_or_told(bench, chained(entries, random.Random(0)))
    assert found is not None
    journal, visit = found
    now = journal.last_at + timedelta(minutes=1)
    within(lambda: judged(visit, now))
    within(lambda: watched(visit, now), 4.0)
    paper = within(lambda: dossier(str(bench.path), bench.folder.path))
    within(lambda: reported(visit, paper, now), 4.0)
