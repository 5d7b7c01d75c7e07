"""The demo shop: invented throughout, and each of its visits shows what it is meant to show."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import cache
from math import atan2, cos, degrees, hypot, radians
from pathlib import Path
from typing import get_args

import pytest
from msgspec.structs import replace as changed

from readiness import units
from readiness.bayfit import Fit, Mode, bay_fit
from readiness.checks.finding import Visit, ask
from readiness.checks.kind import SHARED, Part
from readiness.checks.place import parked
from readiness.closing import Closing, closing
from readiness.job import VOID_EVENTS, Event, Fix, Job
from readiness.job.bay import Reason
from readiness.records import places
from readiness.records.answers import read_answers
from readiness.records.attachments import check as check_file
from readiness.records.history import stories
from readiness.records.journal import Journal
from readiness.records.shop import ShopFolder
from readiness.verdict import SideVerdict, Verdict, judge
from tests.build_demo_jobs import answer_files, build
from tests.build_demo_survey import build as build_survey
from tests.test_cli import run
from tests.test_shipped import LISTS, shipped

DEMO_FILES = sorted(places.demo().rglob("*.yaml"))
MOMENT = datetime.fromisoformat((places.demo() / "moment.txt").read_text(encoding="utf-8").strip())
SHOP = ShopFolder(places.demo())

# --- what the shop holds -------------------------------------------------------------------------


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_each_demo_file_says_that_it_is_invented(path: Path) -> None:
    assert path.read_text(encoding="utf-8").startswith("# Invented")


def test_the_shop_has_what_a_newcomer_needs_to_see() -> None:
    bays = [SHOP.bays[b] for b in SHOP.bays]
    assert len(bays) >= 3
    assert sum(b.survey is not None for b in bays) == 3
    assert sum(bool(b.survey and b.survey.runs) for b in bays) == 1
    assert all(b.obstacles for b in bays)
    assert sorted(SHOP.sheets[s].checklist for s in SHOP.sheets) == sorted(LISTS)
    assert all(SHOP.sheets[s].limits is not None for s in SHOP.sheets)
    assert len(SHOP.instruments) >= 8
    assert [i.id for i in SHOP.instruments.values() if i.due < MOMENT.date()] == ["lux-2"]


def test_every_shape_and_every_reason_is_shown_once() -> None:
    zones = [z for s in SHOP.sheets for z in SHOP.sheets[s].zones]
    things = [o for b in SHOP.bays for o in SHOP.bays[b].obstacles]
    assert {z.reason for z in zones} == set(get_args(Reason))
    for shape in ("disc", "sector", "rectangle", "corridor", "polygon"):
        assert any(getattr(z, shape) is not None for z in zones), shape
    for shape in ("disc", "rectangle", "wall", "polygon"):
        assert any(getattr(o, shape) is not None for o in things), shape
    assert {bool(o.origin) for o in things} == {bool(o.taped) for o in things} == {o.people for o in things}
    assert [o.name for o in things if not o.fixed] == ["old tool trolley"]
    assert {r.value for j in SHOP.jobs() for r in demo_job(j.id).readings if r.question == "where"} == {
        "marks", "chalk", "tape"}  # fmt: skip


def test_one_instrument_is_too_coarse_and_the_others_are_not() -> None:
    coarse = set()
    for name in LISTS:
        for need in shipped(name).check("instruments").limits.needs:
            unit = units.MEASURES[need.measures]
            for tool in (i for i in SHOP.instruments.values() if i.measures == need.measures):
                if units.accuracy(tool.accuracy, unit, 100.0) > units.accuracy(need.accuracy, unit, 100.0):
                    coarse.add(tool.id)
    assert coarse == {"gauge-3"}


# --- what its visits show ------------------------------------------------------------------------


@cache
def demo_job(name: str) -> Job:
    return read_answers(places.demo() / "answers" / f"{name}.yaml", SHOP)


def demo_visit(name: str) -> Visit:
    return SHOP.visit(demo_job(name))


@cache
def demo_verdict(name: str) -> Verdict:
    return judge(demo_visit(name), MOMENT)


def wrong(side: SideVerdict) -> dict[str, str]:
    return {f.check: f.outcome for f in side.findings if not f.counts}


ONE_REASON = [
    ("HB-0417", "left", {}),
    ("HB-0418", "left", {}),
    ("HB-0418", "right", {"clear_area": "fail"}),
    ("HB-0415", "single", {"tyres": "fail"}),
    ("HB-0416", "single", {"load": "fail"}),
    ("HB-0414", "single", {"instruments": "fail"}),
    ("HB-0419", "single", {"tyres": "too_close"}),
]


@pytest.mark.parametrize(("job", "side", "expected"), ONE_REASON)
def test_each_visit_has_the_outcome_it_is_meant_to_have(
    job: str, side: str, expected: dict[str, str]
) -> None:
    found = demo_verdict(job).sides[side]
    assert wrong(found) == expected
    assert found.verdict == ("no-go" if expected else "go")
    assert found.fix_first == tuple(expected)
    if not expected:
        assert found.lapses_at is not None
        assert found.lapses_at > MOMENT


@pytest.mark.parametrize(
    ("job", "side", "check", "part"),
    [("HB-0418", "right", "clear_area", "kit.5"), ("HB-0415", "single", "tyres", "pressure.lr"),
     ("HB-0416", "single", "load", "rear"), ("HB-0414", "single", "instruments", "date.lux-2")],
)  # fmt: skip
def test_the_reason_is_the_one_told_in_the_file(job: str, side: str, check: str, part: str) -> None:
    deciding = demo_verdict(job).sides[side].finding(check).deciding
    assert deciding is not None
    assert deciding.key == part


def test_the_close_call_is_the_instruments_doing() -> None:
    """The same readings with the digital gauge are a go."""
    job = demo_job("HB-0419")
    better = tuple(changed(r, instrument="gauge-1") if r.instrument == "gauge-2" else r for r in job.readings)
    assert better != job.readings
    assert judge(SHOP.visit(changed(job, readings=better)), MOMENT).go


def test_half_done_means_that_nothing_is_wrong_yet() -> None:
    outcomes = {f.check: f.outcome for f in demo_verdict("HB-0420").sides["right"].findings}
    assert {c for c, o in outcomes.items() if o == "pass"} == {"procedure", "air"}
    assert set(outcomes.values()) == {"pass", "not_done"}


def test_lapsed_means_that_it_was_good_once() -> None:
    lapsed = demo_verdict("HB-0409").sides["right"]
    assert lapsed.verdict == "no-go"
    assert set(wrong(lapsed).values()) <= {"lapsed", "not_done"}
    assert wrong(lapsed)["tyres"] == "lapsed"
    yesterday = datetime(2026, 11, 24, 15, 20, tzinfo=UTC)
    assert judge(demo_visit("HB-0409"), yesterday).go


@pytest.mark.parametrize("path", answer_files(places.demo()), ids=lambda p: p.stem)
def test_all_times_lie_before_the_moment(path: Path) -> None:
    job = demo_job(path.stem)
    entries = (*job.readings, *job.fixes, *job.events, *job.waivers, *job.attached)
    assert max(entry.at for entry in entries) < MOMENT
    assert job.ended is None or job.ended.at < MOMENT
    assert set(re.findall(r"T\d\d:\d\d:\d\d([^\s,}]*)", path.read_text(encoding="utf-8"))) == {"+00:00"}


def number_parts() -> Iterator[tuple[str, Part]]:
    for job in ("HB-0417", "HB-0418", "HB-0415", "HB-0416", "HB-0414"):
        for side in demo_verdict(job).sides.values():
            for finding in side.findings:
                yield from ((f"{job} {finding.check} {p.key}", p) for p in finding.parts)


def test_every_limit_leaves_room_for_the_shops_good_instruments() -> None:
    """At least half of each window is left between the guard bands; a one-sided limit from nought likewise."""
    tight = {}
    for where, p in number_parts():
        if p.guard is None:
            continue
        if p.low is not None and p.high is not None:
            room = (p.high - p.low - 2 * p.guard) / (p.high - p.low)
        elif p.high:
            room = (p.high - p.guard) / p.high
        else:
            continue
        if room < 0.5:
            tight[where] = room
    assert tight == {}


# --- after a go ----------------------------------------------------------------------------------

AFTER = {
    "car_moved": {
        "standing",
        "stance",
        "centre_marks",
        "floor",
        "aim",
        "light",
        "clear_area",
        "closed",
        "instruments",
    },
    "got_in": {"stance", "aim", "closed"},
    "tyre_touched": {"tyres", "stance", "aim", "instruments"},
    "load_changed": {"load", "stance", "aim", "closed"},
    "door_opened": {"closed"},
    "light_changed": {"light", "instruments"},
    "bay_rearranged": {"clear_area"},
    "power_off": {"power", "faults", "instruments"},
    "ignition_cycled": {"closed"},
    "sensor_touched": {"centre_marks", "aim", "faults", "bracket", "cover", "instruments"},
}
"""The instruments lapse where all readings of one kind of measurement do."""


@pytest.mark.parametrize("event", VOID_EVENTS)
def test_what_an_event_undoes_after_a_go(event: str) -> None:
    """Common practice, no published source: what is left alone stays good."""
    job = changed(
        demo_job("HB-0417"), events=(Event(event=event, at=MOMENT - timedelta(minutes=1), by="O. Brack"),)
    )
    found = {f.check for f in judge(SHOP.visit(job), MOMENT).sides["left"].findings if f.outcome == "lapsed"}
    assert found == AFTER[event]


def test_a_fix_sends_one_back_to_what_it_undid() -> None:
    """Air let into a tyre after the go: the tyre is read again, and the ride heights are."""
    fix = Fix(check="tyres", question="pressure.lf", at=MOMENT - timedelta(minutes=1), by="O. Brack")
    job = changed(demo_job("HB-0417"), fixes=(fix,))
    side = judge(SHOP.visit(job), MOMENT).sides["left"]
    assert side.fix_first == ("tyres", "stance", "aim")


# --- after the calibration -----------------------------------------------------------------------


@cache
def demo_closing(name: str) -> Closing:
    return closing(demo_visit(name), MOMENT)


def test_one_job_is_closed_as_it_should_be() -> None:
    close = demo_closing("HB-0422")
    assert close.state == "done"
    assert close.ended is not None
    verdicts = {side: s.ready and s.ready.verdict for side, s in close.sides.items()}
    assert verdicts == {"left": "go", "right": "go"}
    assert {s.said for s in close.sides.values()} == {""}
    seen = [close.sides[side].finding("road_seen").reason for side in close.sides]
    assert "lorry" in seen[0]
    assert "bus" in seen[1]


def test_its_rear_tyre_was_measured_three_times_with_a_fix_in_between() -> None:
    told = stories(Journal.open(places.demo() / "jobs" / "HB-0422.jsonl", write=False).entries)
    assert told["tyres", "", "pressure.lr"].in_short == "measured three times, fix in between"


def test_its_printout_is_there_and_says_that_it_is_invented() -> None:
    (page,) = demo_job("HB-0422").attached
    assert check_file(page, places.demo()).state == "same"
    text = (places.demo() / page.path).read_text(encoding="utf-8")
    assert text.startswith("Invented")
    for side in ("left", "right"):
        value = next(
            r.value for r in demo_job("HB-0422").readings if r.check == "result" and r.side == side and r.unit
        )
        assert f"{value} deg" in text


def test_one_job_ended_without_a_go_and_says_why() -> None:
    close = demo_closing("HB-0423")
    assert not close.begun
    assert close.ended is not None
    assert "owner" in close.ended.why
    at_the_end = judge(demo_visit("HB-0423"), close.ended.at).sides["single"]
    assert (at_the_end.verdict, wrong(at_the_end)) == ("no-go", {"load": "fail"})


def test_one_result_is_out_of_its_range_although_there_was_a_go() -> None:
    close = demo_closing("HB-0424")
    side = close.sides["single"]
    assert (close.state, close.ended) == ("wrong", None)
    assert side.ready is not None
    assert side.ready.verdict == "go"
    assert {f.check: f.outcome for f in side.findings if f.wrong} == {"result": "fail"}
    assert side.finding("result").notes == (
        "Elevation found was read twice (1.2°, 1.1°); the last one counts.",
    )


def test_one_go_has_a_check_set_aside() -> None:
    side = demo_verdict("HB-0425").sides["left"]
    assert side.verdict == "go-with-waivers"
    assert [f.check for f in side.waived] == ["light"]
    assert side.lapses_at is not None
    assert side.lapses_at > MOMENT


# --- the drain and the new cover -----------------------------------------------------------------


def test_a_mark_off_by_6_mm_and_a_drain_are_named_with_their_degrees() -> None:
    """By hand, in plan: the line through the marks runs 6 mm left at x = 3.04 and none at -0.53 m, so that it
    lies 6 * 6.13 / 3.57 = 10.3 mm left at the plate, which is 0.229 degrees from the radar 2.58 m away; the foot
    that stands 9 to 10 mm low tips the plate's middle 0.47 / 0.9 of that to its side."""
    side = demo_verdict("HB-0421").sides["single"]
    aim, marks = side.finding("aim"), side.finding("centre_marks")
    azimuth = next(p for p in aim.parts if p.key == "radar.plate.azimuth")
    mark, foot = 6 * 6.13 / 3.57, 9.5 * 0.47 / 0.9
    assert azimuth.value == pytest.approx(degrees(atan2(mark + foot, 2580)), abs=0.03)
    assert {aim.outcome, marks.outcome} == {"fail"}
    assert "front centre mark lies 6 mm left" in aim.reason
    assert "low at plate foot 1" in aim.reason
    assert aim.reason.count("° to the left)") == 2
    assert "pack plate foot 1" in aim.remedy
    assert "6 mm to the right" in aim.remedy


def test_the_survey_is_that_of_its_builder(tmp_path: Path) -> None:
    shop = Path(shutil.copytree(places.demo(), tmp_path / "shop"))
    made = build_survey(shop)
    kept = places.demo() / "surveys" / made.name
    assert made.read_text(encoding="utf-8") == kept.read_text(encoding="utf-8"), "build it anew"
    journal = made.with_suffix(".jsonl")
    assert journal.read_bytes() == kept.with_suffix(".jsonl").read_bytes()


# --- which bay for the car with two sides --------------------------------------------------------


@cache
def tern_in(bay: str, fixed: bool = False) -> dict[Mode, Fit]:
    """Where the Tern can stand for both sides; with `fixed`, nothing there may be moved."""
    sheet, place = SHOP.sheets["tern-rear-corner"], SHOP.bays[bay]
    if fixed:
        place = changed(place, obstacles=tuple(changed(o, fixed=True) for o in place.obstacles))
    return {f.mode: f for f in bay_fit(SHOP.effective(sheet), sheet, place, ("in_turn", "at_once")).fits}


def test_one_bay_takes_both_sides_as_it_stands() -> None:
    for fit in tern_in("bay-2").values():
        assert (fit.fits, fit.turned, fit.moved) == (True, False, ())
        assert fit.on_marks is not None
        assert fit.on_marks > 0


def test_one_bay_takes_both_sides_once_the_car_is_backed_in_and_the_trolley_is_gone() -> None:
    for fit in tern_in("bay-3").values():
        assert (fit.fits, fit.turned, fit.moved) == (True, True, ("old tool trolley",))
        assert fit.other_way is not None
        assert fit.other_way < 0, "the tyre rack keeps the usual way round from fitting, trolley or not"
    for stuck in tern_in("bay-3", fixed=True).values():
        assert not stuck.fits, "with the trolley there, neither way round does"


def test_one_bay_is_too_narrow_for_both_sides_and_says_by_how_much() -> None:
    """By hand: the circles about both reflectors, with the car 3 degrees askew, and at either edge what the place
    of a car on chalk is not known to, must go into a bay 5 m wide."""
    sheet = SHOP.sheets["tern-rear-corner"]
    (reflector,), disc = sheet.targets, next(z.disc for z in sheet.zones if z.disc)
    chalked = parked(sheet, SHOP.bays["bay-4"].standing)
    lever = hypot(reflector.at.x, reflector.at.y) + disc.radius
    unsure = 1.645 * hypot(chalked.u, radians(chalked.u_heading) * lever)
    wide = 2 * (reflector.at.y * cos(radians(3)) + disc.radius + unsure)
    for fit in tern_in("bay-4").values():
        assert not fit.fits
        assert fit.need is not None
        assert (fit.need.longer, fit.need.wider) == (None, 1.63)
        assert fit.need.wider == pytest.approx(wide - 5.0, abs=0.01)


def test_the_command_says_the_three_answers() -> None:
    done = run(
        "bays", "tern-rear-corner", "--side", "both", "--bay", "bay-3", "--bay", "bay-4", shop=places.demo()
    )
    said = " ".join(done.stdout.split())
    assert "fits both sides at once, with the old tool trolley moved away, the other way round" in said
    assert "back the car in" in said
    assert "the place would have to be 1.63 m wider" in said


# --- journals and keys ---------------------------------------------------------------------------


def test_the_journals_are_those_of_the_answers(tmp_path: Path) -> None:
    built = build(places.demo(), tmp_path)
    shipped_jobs = sorted((places.demo() / "jobs").iterdir())
    assert [p.name for p in shipped_jobs] == [p.name for p in built]
    for old, new in zip(shipped_jobs, built, strict=True):
        assert Journal.open(old, write=False).job == Journal.open(new, write=False).job, f"{old}: rebuild it"


@pytest.mark.parametrize("path", answer_files(places.demo()), ids=lambda p: p.stem)
def test_journal_and_answers_give_one_verdict(path: Path) -> None:
    journal = Journal.open(places.demo() / "jobs" / f"{path.stem}.jsonl", write=False)
    from_journal = judge(SHOP.visit(journal.job), MOMENT)
    assert {s: (v.verdict, v.fix_first, [(f.check, f.outcome, f.reason) for f in v.findings])
            for s, v in from_journal.sides.items()} == {
           s: (v.verdict, v.fix_first, [(f.check, f.outcome, f.reason) for f in v.findings])
           for s, v in demo_verdict(path.stem).sides.items()}  # fmt: skip


def keystrokes(name: str) -> int:
    """Keys for every answer of a job: a choice takes one, a default or an empty field Enter, the rest its
    figures and Enter."""
    visit, job = demo_visit(name), demo_job(name)
    given = {(r.check, r.side, r.question): r for r in job.readings}
    keys: dict[tuple[str, str, str], int] = {}
    for check in visit.checklist.walk():
        for side in job.sides if check.per_side else ("",):
            for q in ask(visit, check, side, MOMENT):
                place = (SHARED, "", q.key) if q.shared else (check.id, side, q.key)
                typed = given.get(place)
                if q.default or typed is None or q.type == "choice":
                    keys[place] = 1
                else:
                    keys[place] = len(typed.text.split(" ")[0]) + 1
    return sum(keys.values())


def test_a_go_on_the_demo_car_takes_few_keys() -> None:
    assert keystrokes("HB-0417") < 150
