"""How long things take, for a person to read; nothing is asserted: python tests/benchmark.py [NAME ...]

Times are milliseconds on this machine as it is now; compare only figures of one run. POSIX only, for the starts.
"""

from __future__ import annotations

import asyncio
import contextlib
import io
import itertools
import os
import platform
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from readiness.checks import limit_types
from readiness.records import places
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
from readiness.wizard.app import ReadinessApp
from readiness.wizard.form import Form
from readiness.wizard.walk import Walk
from tests.records.invented import typed
from tests.shop import MOMENT, Clock, demo_shop
from tests.terminal import Terminal, surroundings
from tests.wizard.driver import settled

JOBS = ("HB-0409", "HB-0414", "HB-0415", "HB-0416", "HB-0417", "HB-0418", "HB-0419", "HB-0420")
ANSWERS, STARTS, JOURNALS = 160, 11, 10_000
BARE = """
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("bare app")
Bare().run()
"""


def told(name: str, times: list[float], more: str = "") -> None:
    """One line of the table; times in seconds."""
    times = sorted(times)
    high = times[min(len(times) - 1, round(0.99 * (len(times) - 1)))]
    print(
        f"{name:<58} {1e3 * statistics.median(times):8.2f} {1e3 * high:8.2f} {len(times):6d}  {more}",
        flush=True,
    )


def timed(do: Callable[[], object], times: int) -> list[float]:
    """Seconds of each run, after one that does not count."""
    do()
    found = []
    for _ in range(times):
        began = time.perf_counter()
        do()
        found.append(time.perf_counter() - began)
    return found


def judging(folder: ShopFolder) -> None:
    for job in JOBS:
        visit = folder.visit(folder.journal(job, write=False).job)
        told(f"judge {job} ({visit.sheet.sheet}, {len(visit.job.readings)} readings)", timed(lambda v=visit: judge(v, MOMENT), 200))  # fmt: skip


def opening(folder: ShopFolder) -> None:
    def shop() -> None:
        fresh = ShopFolder(folder.path)
        assert fresh.shop
        assert fresh.instruments
        assert fresh.jobs()

    def job() -> None:
        fresh = ShopFolder(folder.path)
        fresh.visit(fresh.journal("HB-0420", write=False).job)

    told("open the shop: its file, instruments, list of jobs", timed(shop, 30))
    told("open a job: journal, checklist, sheet, bay", timed(job, 30))


def listing(folder: ShopFolder) -> None:
    """10,000 jobs: copies of the demo's, on days of some years, every third of them ended."""
    import resource
    import shutil
    from datetime import timedelta

    from readiness.records import lines
    from readiness.records.index import JobIndex
    from readiness.records.lines import Entry
    from readiness.records.overview.gather import shop_page

    count, home = 10_000, folder.path.parent / "home"
    whole = [folder.journal(line.id, write=False).entries for line in folder.jobs()]
    shutil.rmtree(folder.jobs_folder)
    folder.jobs_folder.mkdir()
    for n in range(count):
        entries, back = whole[n % len(whole)], timedelta(hours=n)
        end = {"by": "Odo Brack", "why": "measured"}
        ended = [Entry(len(entries) + 1, entries[-1].at, "ended", end)] * (n % 3 == 0)
        data, prev = b"", ""
        for entry in (*entries, *ended):
            line = lines.encode(Entry(entry.n, entry.at - back, entry.kind, entry.body), prev)
            data, prev = data + line, lines.digest(line)
        path = folder.jobs_folder / f"J-{n:05}.jsonl"
        path.write_bytes(data)
        os.utime(path, (path.stat().st_mtime - 3600 - n,) * 2)
    store = home / "jobs.cache"

    def look(most: int | None = None) -> None:
        index = JobIndex(ShopFolder(folder.path), store)
        found = index.lines()
        assert len(found) == count
        index.states(found[:most], MOMENT)

    def changed() -> None:
        with folder.journal("J-05000") as journal:
            journal.set_units("us", "x", journal.last_at)
        look()

    def newest() -> None:
        assert len(JobIndex(ShopFolder(folder.path), store).lines(200)) == 200

    def once(do: Callable[[], object]) -> list[float]:
        began = time.perf_counter()
        do()
        return [time.perf_counter() - began]

    name = f"{count} jobs"
    told(f"{name}, no cache: the latest 200 at a glance", once(newest))
    told(f"{name}, no cache: all at a glance, 50 judged", once(lambda: look(50)))
    store.unlink()
    told(f"{name}, no cache: all judged", once(look))
    size = f"cache of {store.stat().st_size / 1e6:.1f} MB, {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3:.0f} MB of memory"
    told(f"{name}, nothing changed: all judged", timed(look, 5), size)
    told(f"{name}, nothing changed: the latest 200 at a glance", timed(newest, 5))
    told(f"{name}, one changed: all judged", timed(changed, 5))

    def page() -> None:
        found = shop_page(ShopFolder(folder.path), MOMENT, index=JobIndex(ShopFolder(folder.path), store))
        assert found.jobs.all == count
        assert found.reasons.jobs > 1000

    told(f"{name}, the page of the shop: for the first time", once(page))
    told(f"{name}, the page of the shop: nothing changed", timed(page, 5))


def linting(folder: ShopFolder) -> None:
    from readiness.checklist.files import lint

    both = (places.checklists(), folder.path)
    told("lint the shipped checklists and the demo shop", timed(lambda: lint(both, limit_types()), 10))


def nets(_: ShopFolder) -> None:
    """Level nets of squares: adjusted with effects and loops, looked through for mistakes, and their classes."""
    from readiness.measure.level_doubts import doubts
    from readiness.measure.level_net import adjust_levels, loops
    from readiness.measure.regularity import bs8204, din18202, f_lines, lines
    from tests.measure.level_nets import grid, noisy

    def classes(points: dict[str, tuple[float, float, float]]) -> None:
        found = lines(points)
        bs8204(found), din18202(found, 3), f_lines(found)

    for columns, rows, times in ((4, 3, 100), (20, 20, 5)):
        pairs = noisy(grid(columns, rows), random.Random(1), 0.1)
        pairs += pairs[:3] if columns == 4 else []
        name = f"{columns * rows} nodes, {len(pairs)} two-way runs"
        told(f"level net, {name}: heights, effects, loops", timed(lambda p=pairs: (adjust_levels(p, "A1", u_foot=0.1), loops(p, u_foot=0.1)), times))  # fmt: skip
        told(f"level net, {name}: doubts", timed(lambda p=pairs: doubts(p, "A1", u_foot=0.1), times))
        net = adjust_levels(pairs, "A1", u_foot=0.1)
        points = {n: (0.5 * (ord(n[0]) - 65), 0.5 * int(n[1:]), z) for n, z in net.heights.items()}
        told(f"straight lines and classes of {len(points)} points", timed(lambda p=points: classes(p), times))


def verifying(folder: ShopFolder) -> None:
    """Ten thousand journals: verified, and only read, hashed and parsed, in turn; CPU time, as others may be at work."""
    import json
    from hashlib import sha256

    import msgspec

    from readiness.records.verify import Tally, Wanted, verified

    def bare(parse: Callable[[bytes], object]) -> None:
        for path in paths:
            for line in path.read_bytes().splitlines():
                sha256(line).hexdigest()
                parse(line)

    def verify() -> None:
        tally = Tally()
        for found in verified(paths, Wanted()):
            tally.add(found)
        assert tally.sound
        assert (tally.journals, tally.lines) == (JOURNALS, lines)

    paths = many_journals(folder, folder.path.parent / "many")
    lines = sum(path.read_bytes().count(b"\n") for path in paths)
    size = sum(path.stat().st_size for path in paths) / 1e6
    ways: dict[str, Callable[[], None]] = {
        "read, hashed, parsed by msgspec": lambda: bare(msgspec.json.decode),
        "read, hashed, parsed by the standard library": lambda: bare(json.loads), "verified": verify,
    }  # fmt: skip
    times: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(5):
        for name, way in ways.items():
            began = time.process_time()
            way()
            times[name].append(time.process_time() - began)
    bare_time = statistics.median(times["read, hashed, parsed by msgspec"])
    for name, taken in times.items():
        ratio = bare_time / statistics.median(taken)
        more = f"{ratio:.2f} x as fast as with msgspec, {lines:,} lines, {size:.0f} MB"
        told(f"{JOURNALS:,} journals {name}", taken, more)


def many_journals(folder: ShopFolder, to: Path) -> list[Path]:
    """Journals of jobs of every sheet, answered to the end, some with corrections, under numbers of their own."""
    from readiness.records import lines
    from readiness.records.kept import write_journal
    from tests.records.invented import SHEETS, busy, filled, opened

    made = [
        write_journal(
            (busy if seed % 2 else filled)(folder, opened(sheet, f"M-{seed}-{sheet}"), seed), to / "made"
        )
        for sheet in SHEETS
        for seed in range(4)
    ]
    patterns = [lines.decode(path.read_bytes()).entries for path in made]
    paths = [to / f"{n // 1000}" / f"J-{n:05}.jsonl" for n in range(JOURNALS)]
    for n, path in enumerate(paths):
        path.parent.mkdir(parents=True, exist_ok=True)
        written, prev = [], ""
        for entry in patterns[n % len(patterns)]:
            body = {**entry.body, "job": path.stem} if entry.n == 1 else entry.body
            written.append(lines.encode(lines.Entry(entry.n, entry.at, entry.kind, body), prev))
            prev = lines.digest(written[-1])
        path.write_bytes(b"".join(written))
    return paths


def plans(_: ShopFolder) -> None:
    """The plan of a bay with 5 hatched zones and more and more things, drawn in full."""
    from readiness.report.svg import svg
    from readiness.wizard.canvas import drawn
    from tests.pictures import crowded

    for count in (0, 60, 200, 1000):
        picture = crowded(count)
        for size in ((80, 24), (120, 40)):
            told(f"the plan with {count} things more, {size[0]}x{size[1]}", timed(lambda p=picture, s=size: drawn(p, *s, system="metric"), 20))  # fmt: skip
        told(f"the plan with {count} things more, as SVG", timed(lambda p=picture: svg(p, title="Bay"), 5))


def bays(_: ShopFolder) -> None:
    """The best place for a car among so many things, and whether there is any; with how many boxes were looked at.

    Milliseconds of one core here, whatever else the machine does.
    """
    from readiness.measure.poses import best_pose, fits, search
    from tests.measure.bays import a_bay

    looked: list[search.Search] = []

    class Counted(search.Search):
        def run(self) -> None:
            looked.append(self)
            super().run()

    search.Search, whole = Counted, search.Search  # type: ignore[misc]
    for things, times, headings in ((5, 30, 3), (50, 30, 3), (200, 20, 3), (1000, 6, 3), (50, 6, 180)):
        some = [replace(a_bay(seed, things, small=1 if things <= 50 else 0.4), low=-headings, high=headings) for seed in range(times)]  # fmt: skip
        for name, do in (("best place", best_pose), ("yes or no", fits)):
            looked.clear()
            found = []
            for bay in some:
                began = time.process_time()
                do(*bay.asked)
                found.append(time.process_time() - began)
            boxes = statistics.median(s.looked_at for s in looked)
            told(f"bay: {name}, {things} things, within {headings} degrees", found, f"{boxes:.0f} boxes")
    search.Search = whole  # type: ignore[misc]


def commands(folder: ShopFolder) -> None:
    import subprocess

    def run(*args: str) -> Callable[[], object]:
        command = [sys.executable, "-m", "readiness", "--shop", str(folder.path), *args]
        return lambda: subprocess.run(command, stdout=subprocess.DEVNULL, check=False)

    told(
        "process: readiness check HB-0417", timed(run("check", "HB-0417", "--at", MOMENT.isoformat()), STARTS)
    )
    told("process: readiness lint demo checklists", timed(run("lint", str(places.demo()), str(places.checklists())), STARTS))  # fmt: skip
    told("process: readiness --version", timed(run("--version"), STARTS))


def answering(folder: ShopFolder) -> None:
    for size in ((80, 24), (120, 40)):
        with contextlib.redirect_stdout(io.StringIO()):
            found = asyncio.run(answers(folder, size))
        for name, opens in (("an answer", False), ("the last answer of a step, and the next step", True)):
            told(f"{name}, until it is drawn, {size[0]}x{size[1]}", [t for t, o in found if o == opens])


async def answers(folder: ShopFolder, size: tuple[int, int]) -> list[tuple[float, bool]]:
    """Answer rows of every step of a job that is half done; corrections and repeats among them."""
    app = ReadinessApp(folder.path, person="Odo Brack", clock=Clock())
    chance, found = random.Random(1), []
    async with app.run_test(size=size) as pilot:
        await settled(app, pilot)
        app.screen.open_job("HB-0420")  # type: ignore[attr-defined]
        await settled(app, pilot)
        walk = app.screen
        assert isinstance(walk, Walk)
        for turn in itertools.count():  # a step may ask nothing
            if len(found) >= ANSWERS:
                break
            walk._enter(turn % len(walk.session.steps))
            await pilot.pause()
            for line in list(walk.query_one(Form).rows.lines):
                if line.row is not None and not line.row.question.shared and len(found) < ANSWERS:
                    found.append(await one_answer(app, walk, line.row, chance))
        walk.session.journal.close()
    return found


async def one_answer(app: ReadinessApp, walk: Walk, row, chance: random.Random) -> tuple[float, bool]:
    """Seconds from the entry to the drawn screen, and whether another step came up; an answered row is read again."""
    text, at = typed(row.question, chance), walk.at
    began = time.perf_counter()
    walk._keep(row, text)
    drawn = asyncio.Event()
    walk.call_after_refresh(drawn.set)
    await drawn.wait()
    for strips in app.screen._compositor.render_strips():
        assert strips is not None
    return time.perf_counter() - began, walk.at != at


def starting(folder: ShopFolder) -> None:
    """The wizard and a bare Textual app in turn, so that drift of the machine hits both alike."""
    home = str(folder.path.parent / "home")
    wizard = [sys.executable, "-m", "readiness", "--shop", str(folder.path)]
    demo = [sys.executable, "-m", "readiness", "demo"]
    bare, ours, copied = [], [], []
    for _ in range(STARTS + 1):
        bare.append(first_seen([sys.executable, "-c", BARE], "bare app", home))
        ours.append(first_seen(wizard, "New job", home))
        copied.append(first_seen(demo, "New job", home))
    yardstick = statistics.median(bare[1:])
    for name, times in (("a bare Textual app", bare), ("readiness", ours), ("readiness demo", copied)):
        ratio = f"{statistics.median(times[1:]) / yardstick:.2f} x bare"
        told(f"first paint in a terminal, 120x40: {name}", times[1:], ratio)


def first_seen(command: list[str], text: str, home: str) -> float:
    with Terminal(command, surroundings(home), (120, 40)) as terminal:
        seen = terminal.wait_for(text)
        terminal.type("\x11")
        terminal.leave()
    return seen


PARTS = {
    "judge": judging, "open": opening, "jobs": listing, "lint": linting, "verify": verifying, "nets": nets, "bays": bays, "plans": plans, "answer": answering, "commands": commands, "start": starting,
}  # fmt: skip


def main() -> None:
    wanted = sys.argv[1:] or list(PARTS)
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}\n")
    print(f"{'':<58} {'median':>8} {'99 %':>8} {'times':>6}   [ms]")
    for name in wanted:
        with tempfile.TemporaryDirectory() as scratch:
            PARTS[name](demo_shop(Path(scratch)))


if __name__ == "__main__":
    main()
