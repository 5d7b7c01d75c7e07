"""The page of a shop: each section by hand, from small invented shops."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, timedelta

import pytest
from scipy.stats import linregress, t

from readiness.records.index import JobIndex
from readiness.records.overview.drift import MONTH, zero_drift
from readiness.records.overview.gather import shop_page
from readiness.records.overview.model import Lacking, ShopPage, ZeroPoint
from readiness.records.shop import ShopError, ShopFolder
from tests.shop import MOMENT, demo_shop
from tests.shops import (
    GRID,
    TODAY,
    by_laser,
    by_level,
    empty_shop,
    put_bay,
    put_demo_files,
    put_job,
    put_sheet,
    put_survey,
    put_tools,
    tool,
    write,
)

DAY = timedelta(days=1)


@pytest.fixture
def shop(tmp_path) -> ShopFolder:
    return empty_shop(tmp_path)


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))


def look(folder: ShopFolder, **options: object) -> ShopPage:
    return shop_page(ShopFolder(folder.path), options.pop("at", MOMENT), **options)


# --- nothing, and what is broken ------------------------------------------------------------------


def test_an_empty_shop_needs_nobody(shop):
    page = look(shop)
    assert page.needs == {}
    assert (page.tools.rest, page.bays.rest, page.sheets.rest, page.jobs.all) == (0, 0, 0, 0)
    assert (page.floors, page.zeros, page.reasons.checks) == ((), (), ())


def test_no_shop_is_said(tmp_path):
    with pytest.raises(ShopError, match="There is no shop"):
        shop_page(ShopFolder(tmp_path), MOMENT)


def test_files_with_mistakes_are_told_and_the_rest_is_shown(tmp_path):
    folder = demo_shop(tmp_path)
    for name in ("sheets/godwit-camera.yaml", "bays/bay-3.yaml"):
        (folder.path / name).write_text("sheet: [\n", encoding="utf-8", newline="\n")
    (folder.jobs_folder / "HB-0417.jsonl").write_bytes(b"nonsense\n")
    page = look(folder)
    assert [(s.sheet, s.why) for s in page.sheets.due] == [("godwit-camera", "unread")]
    assert [(b.bay, b.why) for b in page.bays.due] == [("bay-3", "unread")]
    assert {"HB-0417", "HB-0423", "HB-0416"} <= set(page.jobs.unread)
    assert page.sheets.rest == 3
    assert page.reasons.jobs > 5
    assert page.zeros


def test_instruments_that_cannot_be_read_are_told_and_the_rest_is_shown(tmp_path):
    folder = demo_shop(tmp_path)
    (folder.path / "instruments.yaml").write_text("instruments: 3\n", encoding="utf-8", newline="\n")
    page = look(folder)
    assert "instruments.yaml" in page.tools.problem
    assert page.needs["instrument"] == 1
    assert page.sheets.rest == 3


def test_a_folder_of_jobs_that_is_none(shop):
    write(shop.path / "jobs", "a file")
    assert look(shop).jobs.all == 0


# --- instruments ----------------------------------------------------------------------------------


def test_instruments_by_their_last_day(shop):
    """In date on the last day of its calibration too, as the check has it."""
    put_tools(
        shop, *(tool(f"g{n}", "pressure", days) for n, days in enumerate((-400, -1, 0, 1, 30, 31, 400)))
    )  # fmt: skip
    page = look(shop)
    assert [(t.id, t.days) for t in page.tools.past] == [("g0", -400), ("g1", -1)]
    assert [(t.id, t.days) for t in page.tools.soon] == [("g2", 0), ("g3", 1), ("g4", 30)]
    assert page.tools.rest == 2
    assert [t.id for t in look(shop, within=0).tools.soon] == ["g2"]
    assert [t.id for t in look(shop, within=31).tools.soon] == ["g2", "g3", "g4", "g5"]
    assert page.needs == {"instrument": 5}


def demo_tools(folder: ShopFolder, but_for: str) -> None:
    """The demo's instruments, those that measure this a year past due."""
    put_demo_files(folder)
    tools = [
        tool(i.id, i.measures, -365 if i.measures == but_for else 365, i.accuracy, i.resolution)
        for i in ShopFolder(folder.path).instruments.values()
    ]
    put_tools(folder, *tools)


def lacking(folder: ShopFolder) -> dict[str, Lacking]:
    return {lack.measures: lack for lack in look(folder).tools.lacking}


@pytest.mark.parametrize(
    ("measures", "check", "lists"),
    [
        ("illuminance", "Light", 4), ("pressure", "Tyres", 4), ("angle", "Bracket", 2), ("thickness", "Bracket", 1),
        ("voltage", "Power", 4),
    ],
)  # fmt: skip
def test_without_the_only_tool_a_check_cannot_be_answered(shop, measures, check, lists):
    demo_tools(shop, measures)
    found = lacking(shop)
    assert list(found) == [measures]
    assert check in found[measures].checks
    assert len(found[measures].checklists) == lists


def test_a_floor_can_be_measured_by_level_where_there_is_no_laser(shop):
    demo_tools(shop, "height")
    assert lacking(shop) == {}


def test_tools_that_are_in_date_and_too_coarse_are_told_apart(shop):
    put_demo_files(shop)
    kept = [i for i in ShopFolder(shop.path).instruments.values() if i.id not in ("gauge-1", "gauge-2")]
    put_tools(shop, *(tool(i.id, i.measures, 99, i.accuracy, i.resolution) for i in kept))
    found = lacking(shop)["pressure"]
    assert (found.accuracy, found.checks) == ("5 kPa", ("tyre pressure",))


def test_a_shop_without_sheets_lacks_nothing(shop):
    put_tools(shop)
    assert look(shop).tools.lacking == ()


# --- bays -----------------------------------------------------------------------------------------


def test_bays_by_how_long_a_survey_says_that_it_holds(shop):
    """365 days unless the survey says otherwise; the last of them counts."""
    put_tools(shop, tool("laser-1", "height", 400))
    put_bay(shop, "never")
    for bay, age in (("old", 366), ("last-day", 365), ("soon", 335), ("fine", 334), ("to-come", -2)):
        put_bay(shop, bay)
        put_survey(shop, by_laser(bay, TODAY - age * DAY))
    put_bay(shop, "short")
    put_survey(shop, by_laser("short", TODAY - 100 * DAY, renew_after=90))
    page = look(shop)
    found = {(b.bay, b.why, b.days) for b in page.bays.due}
    assert found == {
        ("never", "never", 0), ("old", "past", -1), ("last-day", "soon", 0), ("soon", "soon", 30), ("short", "past", -10),
        ("to-come", "to come", 367),
    }  # fmt: skip
    assert page.bays.rest == 1
    assert page.needs == {"bay": 6}


def test_a_survey_with_a_tool_past_due_on_the_day_counts_in_no_job(shop):
    put_tools(shop, tool("laser-1", "height", -50))
    put_bay(shop, "bay-1")
    put_survey(shop, by_laser("bay-1", TODAY - 49 * DAY))
    put_bay(shop, "bay-2")
    put_survey(shop, by_laser("bay-2", TODAY - 50 * DAY))
    (found,) = look(shop).bays.due
    assert (found.bay, found.why) == ("bay-1", "tool")
    assert "was due for calibration" in found.told


def test_a_survey_that_does_not_fit_together_is_told(shop):
    put_tools(shop, tool("level-1", "slope", 99, "0.2 mm/m", "0.1 mm/m"))
    put_bay(shop, "bay-1")
    survey = by_level("bay-1", TODAY - 5 * DAY, 0.1)
    from msgspec.structs import replace as changed

    runs = (changed(survey.runs[0], first=20.0, turned=-20.0), *survey.runs[1:])
    put_survey(shop, changed(survey, runs=runs))
    (found,) = look(shop).bays.due
    assert (found.bay, found.why) == ("bay-1", "unfit")


# --- sheets ---------------------------------------------------------------------------------------


def test_sheets_by_when_they_were_compared(shop):
    day = "2026-03-01"
    put_sheet(shop, "older", issued=day, checked="2026-02-28")
    put_sheet(shop, "same-day", issued=day, checked=day)
    put_sheet(shop, "never", issued=day)
    put_sheet(shop, "no-date", checked=day)
    put_sheet(shop, "last-day", checked=TODAY - 365 * DAY)
    put_sheet(shop, "long-ago", checked=TODAY - 366 * DAY)
    put_sheet(shop, "to-come", checked=TODAY + DAY)
    page = look(shop)
    assert {(s.sheet, s.why) for s in page.sheets.due} == {
        ("older", "older"), ("never", "never"), ("long-ago", "long ago"), ("to-come", "to come"),
    }  # fmt: skip
    assert page.sheets.rest == 3
    assert page.needs["sheet"] == 4


def test_the_shop_says_after_how_many_days(tmp_path):
    shop = empty_shop(tmp_path, compare_sheets_after=30)
    put_sheet(shop, "a", checked=TODAY - 31 * DAY)
    put_sheet(shop, "b", checked=TODAY - 30 * DAY)
    page = look(shop)
    assert [(s.sheet, s.days) for s in page.sheets.due] == [("a", 31)]
    assert page.sheets.after == 30


def test_another_document_in_the_technician_s_hand_is_told_until_the_sheet_is_compared(tmp_path):
    folder = demo_shop(tmp_path)
    sheet = folder.path / "sheets" / "pipit-front.yaml"
    text = sheet.read_text(encoding="utf-8")
    write(sheet, text.replace("QM-PIPIT-31-FR issue 2", "QM-PIPIT-31-FR issue 1"))
    (found,) = (s for s in look(folder).sheets.due if s.sheet == "pipit-front")
    assert (found.why, found.named) == ("other document", "QM-PIPIT-31-FR issue 2")
    assert set(found.jobs) == {"HB-0415", "HB-0419", "HB-0421", "HB-0424"}
    write(sheet, sheet.read_text(encoding="utf-8").replace("checked: 2026-02-10", f"checked: {TODAY}"))
    assert "pipit-front" not in {s.sheet for s in look(folder).sheets.due}
    write(sheet, text.replace("QM-PIPIT-31-FR issue 2", "qm-pipit-31-fr  Issue 2"))
    assert "pipit-front" not in {s.sheet for s in look(folder).sheets.due}


# --- jobs -----------------------------------------------------------------------------------------


def test_jobs_that_need_somebody_and_how_the_last_ended(tmp_path):
    folder = empty_shop(tmp_path)
    put_demo_files(folder)
    put_job(folder, "A-1", "HB-0417", 4)  # a go four days ago, no result
    put_job(folder, "A-2", "HB-0415", 4)  # a no-go that nobody came back to
    put_job(folder, "A-3", "HB-0415", 2)
    put_job(folder, "A-4", "HB-0423", 10)  # ended without a go
    put_job(folder, "A-5", "HB-0423", 100)
    put_job(folder, "A-6", "HB-0422", 5)  # ended as it should
    put_job(folder, "A-7", "HB-0425")  # a go with waivers
    (folder.jobs_folder / "A-8.jsonl").write_bytes(b"{}\n")
    jobs = look(folder).jobs
    assert (jobs.all, jobs.open) == (8, 4)
    assert (jobs.lapsed, jobs.untouched) == (("A-1",), ("A-2",))
    assert (jobs.without_go, jobs.waivers, jobs.unread) == (("A-4",), ("A-7",), ("A-8",))
    assert look(folder, weeks=20).jobs.without_go == ("A-4", "A-5")
    assert look(folder).needs["job"] == 3


def test_a_side_whose_result_was_read_has_not_lapsed(tmp_path):
    folder = empty_shop(tmp_path)
    put_demo_files(folder)
    put_job(folder, "A-1", "HB-0424", 1)  # its result is out of range, so it is at work
    assert look(folder).jobs.lapsed == ()


def test_an_earlier_moment_does_not_see_later_jobs(tmp_path):
    folder = empty_shop(tmp_path)
    put_demo_files(folder)
    put_job(folder, "A-1", "HB-0415", 20)
    put_job(folder, "A-2", "HB-0415", 10)
    page = look(folder, at=MOMENT - 15 * DAY)
    assert page.reasons.jobs == 1
    assert page.jobs.untouched == ("A-1",)


# --- what was in the way --------------------------------------------------------------------------


def test_each_check_counts_once_a_job_in_the_weeks_asked_for(tmp_path):
    """By hand: three low tyres, one of them 9 weeks ago; one too close, one put right; a van too heavy; two goes."""
    folder = empty_shop(tmp_path)
    put_demo_files(folder)
    for n, (like, days) in enumerate(
        (("HB-0415", 1), ("HB-0415", 55), ("HB-0415", 63), ("HB-0419", 3), ("HB-0422", 4), ("HB-0416", 5), ("HB-0417", 6),
         ("HB-0409", 7))
    ):  # fmt: skip
        put_job(folder, f"A-{n}", like, days)
    found = look(folder).reasons
    assert (found.jobs, found.in_the_way) == (7, 5)
    assert [(r.title, r.jobs, r.failed, r.too_close, r.put_right) for r in found.checks] == [
        ("Tyres", 4, 2, 1, 1), ("Fuel and load", 1, 1, 0, 0),
    ]  # fmt: skip
    parts = {(p.title, p.part): p.jobs for p in found.parts}
    assert parts == {("Tyres", "Left rear, cold"): 3, ("Tyres", "Rear pressure, left against right"): 2}
    more = look(folder, weeks=10).reasons
    assert (more.jobs, more.checks[0].jobs) == (8, 5)


# --- floors ---------------------------------------------------------------------------------------


@pytest.fixture
def surveyed(shop) -> ShopFolder:
    put_tools(shop, tool("laser-1", "height", 400, "1 mm", "1 mm"))
    for bay in ("bay-1", "bay-2"):
        put_bay(shop, bay)
    return shop


def heights(a: float = 0.0, b: float = 0.0, c: float = 0.0, **rises: float) -> list[float]:
    return [a + b * x + c * y + rises.get(f"p{name}", 0.0) for name, (x, y) in GRID.items()]


def test_a_place_that_sank_is_named_and_another_datum_is_no_change(surveyed):
    put_survey(surveyed, by_laser("bay-1", TODAY - 300 * DAY, heights()))
    put_survey(surveyed, by_laser("bay-1", TODAY - 10 * DAY, heights(5, 2, -1, p11=-8.0)))
    put_survey(surveyed, by_laser("bay-2", TODAY - 300 * DAY, heights()))
    put_survey(surveyed, by_laser("bay-2", TODAY - 10 * DAY, heights(5, 2, -1)))
    page = look(surveyed)
    first, second = page.floors
    assert first.found is not None
    assert (first.bay, first.found.moved, first.found.worst.after) == ("bay-1", True, "11")
    # of 8 mm in the middle of 4 x 3 places the plane takes 1/12 and the lever 0.25/15 (by hand: 8 x (1 - 0.1 - 0.0)
    assert first.found.worst.rise.value == pytest.approx(-8.0 * (1 - 1 / 12 - 0.5**2 / 15))
    # u of each height: 1 mm / sqrt 3 and 1 mm / sqrt 12, in both surveys
    share = 1 - 1 / 12 - 0.5**2 / 15
    assert first.found.worst.rise.u == pytest.approx((2 * (1 / 3 + 1 / 12) * share) ** 0.5)
    assert second.found is not None
    assert (second.bay, second.found.moved) == ("bay-2", False)
    assert page.needs == {"floor": 1}


def test_a_bay_surveyed_once_tells_nothing(surveyed):
    put_survey(surveyed, by_laser("bay-1", TODAY - 10 * DAY))
    assert look(surveyed).floors == ()


def test_what_goes_slowly_shows_against_the_oldest_survey_and_rings_no_bell(surveyed):
    for age, rise in ((300, 0.0), (200, 2.0), (100, 4.0), (10, 6.0)):
        put_survey(surveyed, by_laser("bay-1", TODAY - age * DAY, heights(p11=rise)))
    last, slow = look(surveyed).floors
    assert (last.older, last.last) == (TODAY - 100 * DAY, True)
    assert (slow.older, slow.last) == (TODAY - 300 * DAY, False)
    assert last.found is not None
    assert not last.found.moved
    assert slow.found is not None
    assert slow.found.moved
    assert "floor" not in look(surveyed).needs


def test_surveys_that_cannot_be_compared_say_why(surveyed):
    put_survey(surveyed, by_laser("bay-1", TODAY - 300 * DAY))
    other = by_laser("bay-1", TODAY - 10 * DAY)
    from msgspec.structs import replace as changed

    put_survey(surveyed, changed(other, points=tuple(changed(p, x=p.x + 0.3) for p in other.points)))
    (found,) = look(surveyed).floors
    assert found.found is None
    assert "0 places in common" in found.why


# --- zeros ----------------------------------------------------------------------------------------


def test_a_zero_that_creeps_in_surveys_and_jobs_is_told_with_its_trend(tmp_path):
    """Against scipy: 0.1, 0.3, 0.5 and 0.7 mm/m at known days; 0.6 in all is more than the 0.5 that is stated."""
    folder = empty_shop(tmp_path)
    put_tools(folder, tool("level-1", "slope", 400, "0.5 mm/m", "0.1 mm/m"))
    put_bay(folder, "bay-4")
    ages, readings = (300, 200, 100, 0), (0.1, 0.35, 0.45, 0.7)
    for age, zero in zip(ages, readings, strict=True):
        put_survey(folder, by_level("bay-4", TODAY - age * DAY, zero))
    (found,) = look(folder).zeros
    oracle = linregress([(300 - a) / MONTH for a in ages], readings)
    reach = t.ppf(0.975, 2) * oracle.stderr
    assert found.trend is not None
    assert (found.instrument, found.state, found.accuracy) == ("level-1", "drifted", 0.5)
    assert found.trend.slope == pytest.approx(oracle.slope)
    assert (found.trend.low, found.trend.high) == pytest.approx((oracle.slope - reach, oracle.slope + reach))
    assert found.change == pytest.approx(oracle.slope * 300 / MONTH)
    assert look(folder).needs == {"level": 1}


def test_what_a_job_shows_stands_beside_what_surveys_show(tmp_path):
    folder = demo_shop(tmp_path)
    (found,) = look(folder).zeros
    assert [p.source for p in found.points] == [
        "bay-4-2025-11-18", "bay-4-2026-05-19", "bay-4-by-level", "HB-0421",
    ]  # fmt: skip
    assert found.points[-1].value == pytest.approx(0.35)  # -0.2 and 0.9 mm/m: half the sum


def points(*told: tuple[float, float]) -> list[ZeroPoint]:
    return [ZeroPoint(MOMENT + day * DAY, zero, f"J-{n}", 1) for n, (day, zero) in enumerate(told)]


@pytest.mark.parametrize(
    ("told", "state"),
    [
        (((0, 0.9),), "few"),
        (((0, 0.0), (0.1, 0.9)), "few"),
        (((0, 0.1), (30, 0.6)), "steady"),
        (((0, 0.1), (30, 0.7)), "drifted"),
        (((0, 0.7), (30, 0.4), (60, 0.1)), "drifted"),
        (((0, 0.0), (30, 0.2), (60, 0.4)), "steady"),
        (((0, 0.0), (30, 2.0), (60, 0.8)), "unsure"),
    ],
)
def test_when_a_zero_has_drifted(told, state):
    """By more than 0.5 mm/m, along the trend where there is one; on two days as read."""
    level = tool("level-1", "slope", 100, "0.5 mm/m", "0.1 mm/m")
    found = zero_drift("level-1", level, points(*told))
    assert found.state == state
    assert zero_drift("level-1", level, points(*told)[::-1]) == found


def test_a_level_of_which_nothing_is_stated_raises_no_alarm():
    found = zero_drift("gone", None, points((0, 0.0), (30, 9.0)))
    assert (found.state, found.accuracy, found.title) == ("steady", None, "gone")


# --- the whole ------------------------------------------------------------------------------------


def test_the_page_is_the_same_with_the_cache_and_without(tmp_path):
    folder = demo_shop(tmp_path)
    store = tmp_path / "jobs.cache"
    first, again = (
        shop_page(ShopFolder(folder.path), MOMENT, index=JobIndex(ShopFolder(folder.path), store, worth_it=0))
        for _ in range(2)
    )
    assert first == again == look(folder)
    assert replace(first, at=first.at) == first


def test_the_demo_shop_shows_something_of_everything(tmp_path):
    page = look(demo_shop(tmp_path))
    assert page.needs == {"instrument": 1, "bay": 1, "sheet": 1, "job": 1, "floor": 1, "level": 1}
    assert page.reasons.checks[0].title == "Tyres"
    assert [f.bay for f in page.floors] == ["bay-1", "bay-4"]
    shutil.rmtree(tmp_path / "shop")
    assert date(2026, 11, 25) == TODAY
