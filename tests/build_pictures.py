"""Draws the pictures of the README anew: python tests/build_pictures.py [FOLDER]

The wizard on a copy of the demo shop at the demo's own moment, typed into, and saved as SVG; then the report, for which
Chromium has to be there.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
from collections.abc import Awaitable, Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from textual.widgets import OptionList

from readiness.records.shop import ShopFolder
from readiness.wizard.app import ReadinessApp
from readiness.wizard.job_list import JobList
from readiness.wizard.walk import Walk
from readiness.wizard.watch import Watch
from tests.paper_picture import draw_report
from tests.shop import Clock, demo_shop
from tests.wizard.driver import Technician, calm, settled, until

HERE = Path(__file__).parent.parent / "demo" / "pictures"
Act = Callable[[Technician], Awaitable[None]]


async def tyres(who: Technician) -> None:
    await who.go_to("tyres", "pressure.rr")
    await who.press("2", "1", "9", "enter")


async def clear_area(who: Technician) -> None:
    await who.go_to("clear_area")


async def plan(who: Technician) -> None:
    """The clear area's plan over the whole screen."""
    await clear_area(who)
    await who.ask("ctrl+l")


async def which_bay(who: Technician) -> None:
    """Every bay looked at for both sides of the Tern, the cursor on the one where something has to go."""
    await who.ask("n")
    await who.ask("4")
    screen = await who.to_bays("b")
    await until(who.pilot, lambda: screen.search.done and screen._order == screen.search.ranked)
    bays = screen.query_one(OptionList)
    bays.highlighted = screen._order.index("bay-3")
    await who.pilot.pause()


async def floor(who: Technician) -> None:
    await who.go_to("floor")


async def aim(who: Technician) -> None:
    """The third thing to put right on the go / no-go page."""
    await who.press("f10", "3")


async def verdict(who: Technician) -> None:
    await who.press("f10")


async def watch(who: Technician) -> None:
    """The time left of a go; what is open on the other side."""
    await who.press("f10")
    await who.ask("w", Watch)
    await until(who.pilot, lambda: bool(who.app.screen._undone))
    await who.pilot.pause()


async def close(who: Technician) -> None:
    """The last page, once the result was read and the faults were scanned."""
    await watch(who)
    await who.press("r")
    await until(who.pilot, lambda: isinstance(who.app.screen, Walk))
    await who.press("y", "0", "full_stop", "3", "enter", "y", "p", "enter")


async def explained(who: Technician) -> None:
    await tyres(who)
    await who.press("f1")


async def listed(who: Technician) -> None:
    """The list of jobs, once it says of each how it stands."""
    jobs = who.app.screen.query_one(JobList)
    await until(who.pilot, lambda: bool(jobs.shown) and all(j.id in jobs._standing for j in jobs.shown))
    await who.pilot.pause()


async def practice(who: Technician) -> None:
    """A simulated car of a number: one pressure was read, at the next the gauge was looked at."""
    from readiness.wizard.practice_start import PracticeStart
    from readiness.wizard.practice_walk import PracticeWalk

    await who.press("x")
    await until(who.pilot, lambda: isinstance(who.app.screen, PracticeStart) and bool(who.app.screen.folder))
    await who.ask("c")
    await who.press(*"44", "enter")
    await until(who.pilot, lambda: isinstance(who.app.screen, PracticeStart))
    await who.press("4")
    await until(who.pilot, lambda: isinstance(who.app.screen, PracticeWalk) and who.walk.verdict is not None)
    await who.go_to("tyres", "pressure.lf")
    await who.press("enter", "enter")
    await who.go_to("tyres", "pressure.lr")
    await who.press("enter")


async def practised(who: Technician) -> None:
    """The same car called no-go after two calls, one of them wrong."""
    await practice(who)
    await who.press("escape")
    for key in ("t", "p"):
        await who.ask("ctrl+k")
        await who.press(key)
        await who.press("pagedown")
    await who.press("f10", "n")
    await settled(who.app, who.pilot)


PICTURES: dict[str, tuple[str | None, Act]] = {
    "start": (None, listed),
    "tyres": ("HB-0420", tyres),
    "help": ("HB-0420", explained),
    "floor": ("HB-0421", floor),
    "aim": ("HB-0421", aim),
    "clear-area": ("HB-0418", clear_area),
    "plan": ("HB-0418", plan),
    "which-bay": (None, which_bay),
    "verdict": ("HB-0418", verdict),
    "verdict-go": ("HB-0417", verdict),
    "watch": ("HB-0417", watch),
    "close": ("HB-0417", close),
    "practice": (None, practice),
    "practised": (None, practised),
}
SURVEYS = ("level", "result")
SIZES = ((80, 24), (120, 40))
STEP = timedelta(milliseconds=1)
"""By which the clock goes on at every look, so that no picture hangs on how often somebody looked."""


async def draw(folder: ShopFolder, to: Path, name: str, size: tuple[int, int]) -> str:
    job, act = PICTURES[name]
    app = ReadinessApp(folder.path, person="Odo Brack", clock=Clock(step=STEP))
    async with app.run_test(size=size) as pilot:
        await settled(app, pilot)
        if job is not None:
            app.screen.open_job(job)  # type: ignore[attr-defined]
            await settled(app, pilot)
        await act(Technician(app, pilot, {}))
        return await kept(app, pilot, to / f"{name}-{size[0]}x{size[1]}.svg")


async def draw_survey(folder: ShopFolder, to: Path, name: str, size: tuple[int, int]) -> str:
    from tests.wizard.test_surveying_screens import ACTS, surveys

    bay, act = ACTS[name]
    app = surveys(folder, Clock(), bay)
    async with app.run_test(size=size) as pilot:
        await act(app, pilot)
        await settled(app, pilot)
        return await kept(app, pilot, to / f"survey-{name}-{size[0]}x{size[1]}.svg")


async def kept(app: ReadinessApp, pilot: Any, path: Path) -> str:
    """The screen written as SVG, and as plain lines."""
    calm(app)
    await pilot.pause()
    path.write_text(app.export_screenshot(title="readiness"), encoding="utf-8", newline="\n")
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(s.text for s in strip).rstrip() for strip in strips)


def main() -> None:
    to = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE
    to.mkdir(parents=True, exist_ok=True)
    for name in PICTURES:
        for size in SIZES:
            with tempfile.TemporaryDirectory() as scratch:
                print(f"--- {name} {size[0]}x{size[1]}")
                print(asyncio.run(draw(demo_shop(Path(scratch)), to, name, size)))
    for name in SURVEYS:
        for size in SIZES:
            with tempfile.TemporaryDirectory() as scratch:
                print(f"--- survey {name} {size[0]}x{size[1]}")
                print(asyncio.run(draw_survey(demo_shop(Path(scratch)), to, name, size)))
    with tempfile.TemporaryDirectory() as scratch:
        print(f"--- {draw_report(demo_shop(Path(scratch)), to)}")


if __name__ == "__main__":
    main()
