"""Small invented shops for tests of what is told of a whole shop."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

from msgspec.structs import replace as changed

from readiness.job import Instrument, LevelRun, Survey, SurveyPoint
from readiness.records import places
from readiness.records.demo import _Move
from readiness.records.shop import ShopFolder
from readiness.records.survey_file import survey_text
from tests.shop import MOMENT

TODAY = MOMENT.date()
GRID = {f"{x}{y}": (1.0 + 1.5 * x, 1.0 + 1.2 * y) for x in range(4) for y in range(3)}


def empty_shop(to: Path, **more: object) -> ShopFolder:
    """A shop of nothing; `more` are lines of its own file."""
    path = to / "shop"
    path.mkdir(parents=True)
    lines = ["shop: Invented shop", "altitude: 0 m", *(f"{key}: {value}" for key, value in more.items())]
    write(path / "shop.yaml", "\n".join(lines) + "\n")
    return ShopFolder(path)


def write(path: Path, text: str) -> None:
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")


def tool(id: str, measures: str, days: int, accuracy: str = "", resolution: str = "") -> Instrument:
    """An instrument due so many days from today."""
    units = {"pressure": "kPa", "slope": "mm/m", "height": "mm", "illuminance": "lx"}
    unit = units.get(measures, "mm")
    return Instrument(
        id=id, title=f"invented {id}", measures=measures, accuracy=accuracy or f"1 {unit}",
        resolution=resolution or f"0.1 {unit}", due=TODAY + timedelta(days=days),
    )  # fmt: skip


def put_tools(folder: ShopFolder, *tools: Instrument) -> None:
    lines = ["instruments:"]
    for t in tools:
        said = f"accuracy: '{t.accuracy}', resolution: '{t.resolution}', due: {t.due}"
        lines.append(f"  - {{id: {t.id}, title: '{t.title}', measures: {t.measures}, {said}}}")
    write(folder.path / "instruments.yaml", "\n".join(lines) + "\n")


def put_bay(folder: ShopFolder, bay: str, title: str = "") -> None:
    corners = "\n".join(f"  - {{x: {x} m, y: {y} m}}" for x, y in ((0, 0), (8, 0), (8, 5), (0, 5)))
    standing = "standing: {x: 2 m, y: 2.5 m, heading: 0 °}"
    write(
        folder.path / "bays" / f"{bay}.yaml",
        f"bay: {bay}\ntitle: {title or f'Invented {bay}'}\noutline:\n{corners}\n{standing}\n",
    )


def put_survey(folder: ShopFolder, survey: Survey) -> None:
    write(folder.surveys_folder / f"{survey.survey}.yaml", survey_text(survey))


def by_laser(
    bay: str, day: date, heights: Iterable[float] = (), *, laser: str = "laser-1", **more: object
) -> Survey:
    """A survey of the twelve places of GRID; their heights in its order, level where there are none."""
    told = [*heights] or [0.0] * len(GRID)
    points = tuple(
        SurveyPoint(name=name, x=x, y=y, height=h)
        for (name, (x, y)), h in zip(GRID.items(), told, strict=True)
    )
    made = Survey(survey=f"{bay}-{day}", bay=bay, date=day, by="A. Test", instrument=laser, points=points)
    return changed(made, **more)


def by_level(bay: str, day: date, zero: float, *, level: str = "level-1") -> Survey:
    """A level floor of four places, each run read both ways round with a level of this zero error in mm/m."""
    square = {"a": (1.0, 1.0), "b": (2.5, 1.0), "c": (2.5, 2.5), "d": (1.0, 2.5)}
    runs = tuple(LevelRun(start=s, end=e, first=zero, turned=zero) for s, e in ("ab", "bc", "cd", "da"))
    points = tuple(SurveyPoint(name=n, x=x, y=y) for n, (x, y) in square.items())
    return Survey(
        survey=f"{bay}-{day}", bay=bay, date=day, by="A. Test", instrument=level, points=points, runs=runs
    )


def put_sheet(folder: ShopFolder, name: str, *, title: str = "", **document: object) -> None:
    """The demo's sheet of the Pipit under this id; `document` are its reference, issued and checked."""
    text = (places.demo() / "sheets" / "pipit-front.yaml").read_text(encoding="utf-8")
    head, _, rest = text.partition("document:\n")
    _, _, rest = rest.partition("placard:\n")
    head = head.replace("sheet: pipit-front", f"sheet: {name}")
    head = head.replace("title: Pipit city car, front radar", f"title: {title or f'Invented {name}'}")
    said = {"reference": "QM-PIPIT-31-FR issue 2", **document}
    lines = "".join(f"  {key}: {value}\n" for key, value in said.items())
    write(folder.path / "sheets" / f"{name}.yaml", f"{head}document:\n{lines}placard:\n{rest}")


def put_job(folder: ShopFolder, name: str, like: str, days_ago: float = 0.0) -> Path:
    """A job of the demo shop under another number, so many days before its time."""
    data = (places.demo() / "jobs" / f"{like}.jsonl").read_bytes()
    target = folder.jobs_folder / f"{name}.jsonl"
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(_Move(MOMENT, MOMENT - timedelta(days=days_ago)).journal(data))
    return target


def put_demo_files(folder: ShopFolder) -> None:
    """The demo's bays, sheets and instruments, without its jobs."""
    for part in ("bays", "sheets"):
        shutil.copytree(places.demo() / part, folder.path / part)
    shutil.copy(places.demo() / "instruments.yaml", folder.path / "instruments.yaml")
