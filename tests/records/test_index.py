"""The index of jobs is only a cache: with it, a list says what it says without it, whatever was changed."""

from __future__ import annotations

import os
import random
import shutil
import threading
import time
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace as changed

from readiness.job import Ended, Event
from readiness.jobstate import JobState
from readiness.records import index as module
from readiness.records.index import JobIndex
from readiness.records.journal import Journal, JournalError
from readiness.records.listing import JobLine
from readiness.records.shop import ShopFolder
from tests.shop import MOMENT, demo_shop

SHEET, BAY = "tern-rear-corner", "bay-2"
OLD = 1_500_000_000
"""Seconds; a time of files long before any test."""

Said = tuple[list[JobLine], dict[str, JobState]]


@pytest.fixture
def shop(tmp_path) -> ShopFolder:
    """A shop of one sheet and one bay with four jobs, so that it is read quickly."""
    folder = demo_shop(tmp_path)
    for kind, kept in (("sheets", SHEET), ("bays", BAY)):
        for path in (folder.path / kind).iterdir():
            if path.stem != kept:
                path.unlink()
    for line in folder.jobs():
        if line.sheet != SHEET:
            line.path.unlink()
    return ShopFolder(folder.path)


@pytest.fixture
def store(tmp_path) -> Path:
    return tmp_path / "cache" / "jobs.cache"


def look(folder: Path, store: Path, now: datetime = MOMENT) -> Said:
    """What a program that is started now says of all jobs."""
    index = JobIndex(ShopFolder(folder), store, worth_it=0)
    lines = index.lines()
    return lines, index.states(lines, now)


@pytest.fixture
def worked_out(monkeypatch) -> Counter[str]:
    """How many journals were read for a list, and how many judged."""
    counted: Counter[str] = Counter()
    glance, judged = module.glance, module._judged

    def count(name, do):
        def counting(*args):
            counted[name] += 1
            return do(*args)

        return counting

    monkeypatch.setattr(module, "glance", count("read", glance))
    monkeypatch.setattr(module, "_judged", count("judged", judged))
    return counted


def aged(folder: Path) -> None:
    """All files as if they had lain there for years: only such are believed by their times."""
    for n, path in enumerate(sorted(folder.rglob("*"))):
        os.utime(path, (OLD + n, OLD + n))


# --- what is not worked out again -----------------------------------------------------------------


def test_only_what_changed_is_worked_out_again(shop, store, worked_out):
    aged(shop.path)
    first = look(shop.path, store)
    count = len(first[0])
    assert worked_out == {"read": count, "judged": count}
    assert look(shop.path, store) == first
    assert worked_out == {"read": count, "judged": count}
    with Journal.open(first[0][-1].path) as journal:
        journal.happen(Event(event="got_in", at=journal.last_at, by="x"))
    look(shop.path, store)
    assert worked_out == {"read": count + 1, "judged": count + 1}


def test_another_sheet_changes_nothing_of_the_others_and_another_instrument_may(shop, store, worked_out):
    aged(shop.path)
    count = len(look(shop.path, store)[0])
    text = (shop.path / "sheets" / f"{SHEET}.yaml").read_text(encoding="utf-8")
    (shop.path / "sheets" / "new.yaml").write_text(
        text.replace(f"sheet: {SHEET}", "sheet: new"), encoding="utf-8", newline="\n"
    )
    look(shop.path, store)
    assert worked_out["judged"] == count
    tools = shop.path / "instruments.yaml"
    tools.write_text(tools.read_text(encoding="utf-8") + "# looked at\n", encoding="utf-8", newline="\n")
    look(shop.path, store)
    assert worked_out["judged"] == 2 * count


def test_a_go_is_judged_again_when_it_lapses_and_an_old_job_is_not(shop, store, worked_out):
    aged(shop.path)
    count = len(look(shop.path, store)[0])
    look(shop.path, store, MOMENT + timedelta(hours=30))
    assert worked_out["judged"] > count
    before = worked_out["judged"]
    _, states = look(shop.path, store, MOMENT + timedelta(days=100))
    assert worked_out["judged"] == before
    at_work = [s for s in states.values() if s.ended is None and not any(side.in_range for side in s.sides)]
    assert {s.word for s in at_work} == {"lapsed", "no-go", "unfinished"}


def test_a_file_that_was_only_copied_back_is_read_and_not_judged_again(shop, store, worked_out):
    aged(shop.path)
    first = look(shop.path, store)
    before = Counter(worked_out)
    aged(shop.path.parent)  # other times, the same words
    assert look(shop.path, store) == first
    assert worked_out["judged"] == before["judged"]
    assert worked_out["read"] == 2 * before["read"]


def test_what_was_worked_out_is_kept_when_somebody_interrupts(shop, store, worked_out):
    aged(shop.path)
    told: list[float] = []

    def enough(what: str, share: float) -> bool:
        told.append(share)
        if len(told) > 2:
            raise KeyboardInterrupt
        return True

    index = JobIndex(shop, store, worth_it=0)
    lines = index.lines()
    with pytest.raises(KeyboardInterrupt):
        index.states(lines, MOMENT, enough)
    assert told == [0, 1 / len(lines), 2 / len(lines)]
    assert worked_out["judged"] == 2
    look(shop.path, store)
    assert worked_out == {"read": len(lines), "judged": len(lines)}


def test_somebody_may_have_heard_enough(shop, store):
    index = JobIndex(shop, store, worth_it=0)
    lines = index.lines()
    half = [line.id for n, line in enumerate(lines) if n / len(lines) < 0.5]
    assert list(index.states(lines, MOMENT, lambda _, share: share < 0.5)) == half
    assert index.lines(heard=lambda _, share: share < 0.5) != lines


def test_the_latest_by_their_files_are_had_without_the_others(shop, store, worked_out):
    aged(shop.path)
    index = JobIndex(shop, store, worth_it=0)
    names = sorted(path.name for path in shop.jobs_folder.glob("*.jsonl"))
    assert {line.path.name for line in index.lines(2)} == set(names[-2:])
    assert worked_out["read"] == 2
    assert len(index.lines()) == worked_out["read"] == len(names)


# --- what may be wrong with it --------------------------------------------------------------------


def test_it_lies_outside_the_shop(shop, store):
    before = sorted(shop.path.rglob("*"))
    look(shop.path, store)
    assert sorted(shop.path.rglob("*")) == before
    assert store.is_file()


def test_each_shop_has_its_own_in_the_cache_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    one, other = module.store_of(tmp_path / "a"), module.store_of(tmp_path / "b")
    assert one != other
    assert one == module.store_of(tmp_path / "a")
    assert one.is_absolute()


def test_a_few_jobs_need_none(shop, store):
    index = JobIndex(shop, store)
    index.states(index.lines(), MOMENT)
    assert not store.exists()


@pytest.mark.parametrize("what", ["gone", "a folder", "locked away"])
def test_where_it_cannot_be_kept_the_list_is_the_same(shop, store, what):
    first = look(shop.path, store)
    if what == "gone":
        shutil.rmtree(store.parent)
    elif what == "a folder":
        store.unlink()
        store.mkdir()
    else:
        shutil.rmtree(store.parent)
        store.parent.write_text("a file where the folder should be", encoding="utf-8")
    assert look(shop.path, store) == first


def test_damaged_or_of_another_program_or_shop_it_is_none(shop, store):
    look(shop.path, store)
    data = store.read_bytes()
    assert JobIndex(shop, store)._kept
    assert not JobIndex(ShopFolder(shop.path.parent), store)._kept
    harmed = [
        data[:at] + bytes([data[at] ^ 0x10]) + data[at + 1 :]
        for at in random.Random(1).sample(range(len(data)), 60)
    ]
    for other in (b"", data[:40], data[:-1], data + b"x", data.replace(b" 4\n", b" 3\n", 1), *harmed):
        store.write_bytes(other)
        assert not JobIndex(shop, store)._kept


def test_two_programs_at_once_leave_a_whole_one(shop, store):
    lines = JobIndex(shop, store, worth_it=0).lines()

    def often() -> None:
        for n in range(8):
            index = JobIndex(shop, store, worth_it=0)
            index.states(index.lines(), MOMENT + timedelta(seconds=n), lambda _, share: share < 0.3)

    both = [threading.Thread(target=often) for _ in range(2)]
    for one in both:
        one.start()
    while any(one.is_alive() for one in both):
        assert set(JobIndex(shop, store)._kept) == {line.path.name for line in lines}
    assert [path.name for path in store.parent.iterdir()] == [store.name]


def test_a_sheet_changed_while_jobs_are_judged_is_not_taken_for_what_was_judged(shop, store, monkeypatch):
    sheet, judged = shop.path / "sheets" / f"{SHEET}.yaml", module._judged

    def while_judging(*args):
        found = judged(*args)
        text = sheet.read_text(encoding="utf-8")
        sheet.write_text(text.replace("document:", "# changed\ndocument:", 1), encoding="utf-8", newline="\n")
        return found

    monkeypatch.setattr(module, "_judged", while_judging)
    look(shop.path, store)
    assert all(kept.judged is None for kept in JobIndex(shop, store)._kept.values())


def test_a_shop_that_is_gone_is_no_shop_without_jobs(shop, store):
    """Such as a share of the network; jobs that went away with it are not forgotten."""
    look(shop.path, store)
    index, kept = JobIndex(shop, store), store.read_bytes()
    shop.path.rename(shop.path.with_name("elsewhere"))
    with pytest.raises(JournalError, match="could not be read: no such file"):
        index.lines()
    assert store.read_bytes() == kept
    shop.path.with_name("elsewhere").rename(shop.path)
    assert len(index.lines()) == len(shop.jobs())
    shutil.rmtree(shop.jobs_folder)
    assert index.lines() == []


def test_what_nobody_opened_for_long_is_forgotten(shop, store):
    store.parent.mkdir()
    for name, days in (("old.cache", 300), ("cut.part", 300), ("new.cache", 3)):
        (store.parent / name).write_bytes(b"x")
        at = time.time() - days * 86_400
        os.utime(store.parent / name, (at, at))
    look(shop.path, store)
    assert {path.name for path in store.parent.iterdir()} == {"new.cache", store.name}


def test_a_change_within_one_tick_of_the_clock_is_noticed(shop, store, monkeypatch):
    """A file system that counts in steps of two seconds and has no other times: same size, same time, other words."""

    def coarse(folder: Path) -> dict[str, tuple[int, int, int, int]]:
        found = {p.name: p.stat() for p in folder.glob("*.jsonl")}
        return {
            n: (s.st_size, s.st_mtime_ns // 2_000_000_000 * 2_000_000_000, 0, 0) for n, s in found.items()
        }

    monkeypatch.setattr(module, "_stamps", coarse)
    lines, states = look(shop.path, store)
    path = lines[0].path
    tick = path.stat()
    path.write_bytes(path.read_bytes().replace(b"yes", b"Yes", 1))
    os.utime(path, ns=(tick.st_atime_ns, tick.st_mtime_ns))
    assert "sum" in look(shop.path, store)[1][lines[0].id].problem
    assert not states[lines[0].id].problem


# --- whatever was changed -------------------------------------------------------------------------


class Hand:
    """Somebody who changes things in a shop's folder, most of which a person should not."""

    def __init__(self, folder: Path, store: Path, seed: int) -> None:
        self.folder, self.store, self.chance = folder, store, random.Random(seed)
        self.now, self.tick = MOMENT, OLD
        self.whole = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        self.spare = folder.parent / "spare"

    def journal(self) -> Path | None:
        there = sorted((self.folder / "jobs").glob("*.jsonl"))
        return self.chance.choice(there) if there else None

    def write(self, path: Path, data: bytes) -> None:
        """With a time long past, or with that of now."""
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
        self.tick += 1
        if self.chance.random() < 0.7:
            os.utime(path, (self.tick, self.tick))

    def replaced(self, name: str, old: bytes, new: bytes) -> None:
        path = self.folder / name
        if path.is_file():
            self.write(path, path.read_bytes().replace(old, new, 1))

    def entered(self) -> None:
        path = self.journal()
        if path is None:
            return
        try:
            journal = Journal.open(path)
        except JournalError:
            return
        with journal:
            at = max(journal.last_at, self.now) + timedelta(minutes=self.chance.choice([0, 0, 5]))
            if journal.job.ended is not None:
                journal.withdraw(journal.job.ended.number, "x", "x", at)
            elif self.chance.random() < 0.4 and journal.job.readings:
                journal.record(changed(self.chance.choice(journal.job.readings), at=at, by="Lio Fenn"))
            elif self.chance.random() < 0.4:
                journal.end(Ended(at=at, by="x"))
            elif journal.latest:
                journal.withdraw(journal.latest[0], "x", "x", at)

    def spoiled(self) -> None:
        path = self.journal()
        if path is not None:
            data, times = path.read_bytes(), path.stat()
            at = self.chance.randrange(len(data) or 1)
            self.write(
                path, data[:at] + self.chance.choice([b"x", b"", b"\n", b'{"kind":"ended"}']) + data[at + 1 :]
            )
            if self.chance.random() < 0.5:
                os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))

    def taken_away(self) -> None:
        if (path := self.journal()) is not None:
            path.unlink()

    def brought(self) -> None:
        path, data = self.chance.choice([p for p in self.whole.items() if p[0].suffix == ".jsonl"])
        self.write(path.with_name(f"{self.chance.choice([path.stem, 'HB-1', 'HB-2'])}.jsonl"), data)

    def put_back(self) -> None:
        for path, data in self.whole.items():
            if not path.is_file() or path.read_bytes() != data:
                self.write(path, data)

    def shop_changed(self) -> None:
        self.replaced(*self.chance.choice([
            ("shop.yaml", b"units: metric", b"units: us"), ("shop.yaml", b"shop:", b"shop: x\nshop:"),
            ("instruments.yaml", b"due: 202", b"due: 201"), ("instruments.yaml", b"id: gauge-1", b"id: gauge-9"),
            (f"bays/{BAY}.yaml", b"date: 202", b"date: 201"), (f"bays/{BAY}.yaml", f"bay: {BAY}".encode(), b"bay: bay-9"),
            (f"sheets/{SHEET}.yaml", b"limits:", b"limits:\n  tyres: {side_difference: 1 kPa}\n_x:"),
            (f"sheets/{SHEET}.yaml", b"sheet:", b"sheet: other # sheet:"),
        ]))  # fmt: skip

    def file_doubled(self) -> None:
        name = self.chance.choice([f"sheets/{SHEET}.yaml", f"bays/{BAY}.yaml"])
        if (self.folder / name).is_file():
            self.write((self.folder / name).with_suffix(".yml"), (self.folder / name).read_bytes())

    def survey_added(self) -> None:
        name, id = (f"s{self.chance.randrange(3)}" for _ in range(2))
        bay = self.chance.choice([BAY, BAY, "bay-4"])
        text = self.whole[self.folder / "surveys" / "bay-4-by-level.yaml"]
        text = text.replace(b"survey: bay-4-by-level", f"survey: {id}".encode(), 1)
        self.write(
            self.folder / "surveys" / f"{name}.yaml", text.replace(b"bay: bay-4", f"bay: {bay}".encode(), 1)
        )

    def own_checklist(self) -> None:
        from readiness.records import places

        shipped, own = places.checklists(), self.folder / "checklists"
        if own.is_dir():
            shutil.rmtree(own)
            return
        shutil.copytree(shipped, own)
        part = own / "common" / "closed.yaml"
        self.write(part, part.read_bytes().replace(b"hold: 30 min", b"hold: 3 min"))

    def time_goes_on(self) -> None:
        self.now += timedelta(minutes=self.chance.choice([1, 10, 31, 65, 600, 50_000]))

    def clock_set_back(self) -> None:
        self.now -= timedelta(minutes=self.chance.choice([1, 20]))

    def cache_harmed(self) -> None:
        if self.store.is_file():
            data = self.store.read_bytes()
            self.store.write_bytes(
                data[: self.chance.randrange(len(data))] + self.chance.choice([b"", data, b"x"])
            )

    def does_something(self) -> str:
        often = [
            self.entered,
            self.entered,
            self.spoiled,
            self.put_back,
            self.time_goes_on,
            self.time_goes_on,
        ]
        seldom = [self.taken_away, self.brought, self.shop_changed, self.shop_changed, self.file_doubled, self.survey_added,
                  self.own_checklist, self.clock_set_back, self.cache_harmed]  # fmt: skip
        do = self.chance.choice([*often, *seldom])
        do()
        return do.__name__


def changes_at_random(shop: ShopFolder, store: Path, seed: int, steps: int) -> Counter[str]:
    hand, done, words = Hand(shop.path, store, seed), [], Counter[str]()
    for n in range(steps):
        done.append(hand.does_something())
        with_cache = look(shop.path, store, hand.now)
        without = look(shop.path, store.parent / f"none-{n}.cache", hand.now)
        assert with_cache == without, done
        words.update(s.word if not s.problem else "problem" for s in without[1].values())
    return words


def test_with_it_the_list_says_what_it_says_without(shop, store):
    words = changes_at_random(shop, store, seed=4, steps=12)
    assert len(words) > 3, words


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_with_it_the_list_says_what_it_says_without_at_length(shop, store, seed):
    changes_at_random(shop, store, seed, steps=40)
