"""Answers as a file: the same job as the journal says, and every mistake with its place."""

from __future__ import annotations

import json
from datetime import timedelta

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checklist.mistakes import FileMistakes
from readiness.job import Ended
from readiness.records.answers import load_answers, read_answers, write_answers
from readiness.records.answers_schema import answers_schema
from readiness.records.kept import write_journal
from readiness.records.opening import mistakes_in, open_job
from readiness.report.data import as_dict
from readiness.units import parse
from readiness.units.divisions import undivided
from readiness.verdict import judge
from tests.checklist.test_schema import seen
from tests.records.invented import AT, NOW, SHEETS, busy, demo_shop, filled, opened
from tests.test_fuzz import whole_sheet


def told(name, at=NOW) -> str:
    visit, warnings = open_job(str(name), None)
    assert not warnings
    return json.dumps(as_dict(judge(visit, at), visit))


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("units", [None, "us"])
def test_file_and_journal_of_the_same_answers_give_identical_json(shop, sheet, seed, units):
    job = busy(shop, opened(sheet, f"{sheet}-{seed}-{units or 'own'}"), seed)
    path = shop.path / f"{job.job}.yaml"
    path.write_text(write_answers(job, shop, units), encoding="utf-8", newline="\n")
    journal = write_journal(job, shop.jobs_folder, units)
    assert (
        told(path)
        == told(journal)
        == told(journal, NOW.astimezone(AT.tzinfo)).replace(
            NOW.astimezone(AT.tzinfo).isoformat(), NOW.isoformat(), 1
        )
    )
    later = NOW + timedelta(hours=9)
    assert told(path, later) == told(journal, later)


@pytest.mark.parametrize("sheet", SHEETS)
def test_a_job_written_and_read_is_the_same_job(shop, sheet):
    job = busy(shop, opened(sheet, f"again-{sheet}"), 7)
    path = shop.path / f"{job.job}.yaml"
    path.write_text(write_answers(job, shop), encoding="utf-8", newline="\n")
    again = read_answers(path, shop)

    def known(r):
        return (
            r.check,
            r.side,
            r.question,
            r.at,
            r.value,
            r.unit,
            r.by,
            r.evidence,
            r.told_by,
            r.instrument,
            r.note,
        )

    assert sorted(map(known, again.readings), key=str) == sorted(map(known, job.readings), key=str)
    assert changed(again, readings=()) == changed(job, readings=())


def test_answers_that_a_later_one_made_needless_are_still_understood(shop):
    job = filled(shop, opened(name="needless"))
    road = [changed(r, value="road") if r.question == "parked" else r for r in job.readings]
    job = filled(shop, changed(job, readings=tuple(road)))
    assert any(r.question == "temperature.lf" for r in job.readings)
    last = max(r.at for r in job.readings) + timedelta(minutes=1)
    stood = next(changed(r, value="stood", at=last) for r in job.readings if r.question == "parked")
    job = changed(job, readings=(*job.readings, stood))
    path = shop.path / "needless.yaml"
    path.write_text(write_answers(job, shop), encoding="utf-8", newline="\n")
    assert len(read_answers(path, shop).readings) == len(job.readings)


@pytest.mark.parametrize("seed", range(4))
def test_what_only_some_sheets_and_bays_ask_is_written_and_read_too(tmp_path, seed):
    """Levels that confirm a survey, an estimated stance, the thrust angle; a level that is read in divisions."""
    shop = demo_shop(tmp_path)
    whole_sheet(shop.path / "sheets" / "pipit-front.yaml")
    job = filled(shop, opened("pipit-front", f"whole-{seed}", "bay-4"), seed, rounds=6)
    job = changed(job, readings=tuple(map(in_divisions, job.readings)))
    path = shop.path / f"{job.job}.yaml"
    path.write_text(write_answers(job, shop), encoding="utf-8", newline="\n")
    again = read_answers(path, shop)
    jsonschema.validate(seen(path), answers_schema(), jsonschema.Draft202012Validator)

    def known(r):
        return r.check, r.side, r.question, r.at, r.value, r.unit, r.evidence, r.instrument

    assert sorted(map(known, again.readings), key=str) == sorted(map(known, job.readings), key=str)
    asked = {r.question for r in job.readings}
    assert "thrust" in asked
    assert "estimate" in asked or "height.lf" in asked
    journal = write_journal(job, shop.jobs_folder)
    assert told(path) == told(journal)


def in_divisions(r):
    """The reading as the demo's engraved vial showed it, where it is a slope."""
    if r.unit != "mm/m":
        return r
    text = f"{round(r.value / 0.5)} div"
    return changed(r, value=parse(undivided(text, "0.5 mm/m"), "mm/m"), text=text, instrument="level-2")


# --- written by hand -----------------------------------------------------------------------------

HEAD = """\
answers: by-hand
sheet: tern-rear-corner
bay: bay-2
sides: [left]
by: A. Test
at: 2026-05-04 09:00+02:00
instruments: {pressure: gauge-1, temperature: thermometer-1, depth: tread-1}
"""


def by_hand(shop, text: str, head: str = HEAD):
    path = shop.path / "by-hand.yaml"
    path.write_text(head + text, encoding="utf-8", newline="\n")
    return load_answers(path, shop)


def test_a_file_written_by_hand(shop):
    job = by_hand(
        shop,
        """\
shared: {air: 70 F}
checks:
  tyres:
    parked: s
    pressure.lf: 2,31 bar
    pressure.lr: [219, 221 kPa]
    tread.lf: {value: [5 mm, 5.2 mm], at: 2026-05-04 09:10+02:00, by: B. Test, note: inner rib}
  cover left: {whole: yes}
fixes: [{check: tyres, question: pressure.lr, text: inflated}]
events: [{event: door_opened, at: 2026-05-04 09:12+02:00}, {event: sensor_touched, side: left}]
not_applicable: [{check: clear_area, side: left, reason: nothing there}]
""",
    ).job
    found = {}
    for r in job.readings:
        found.setdefault((r.check, r.side, r.question), []).append(r)
    air = found["shared", "", "air"][0]
    assert air.value == pytest.approx((70 - 32) / 1.8)  # definition of the Fahrenheit scale
    assert (air.instrument, air.text) == ("thermometer-1", "70 F")
    assert found["tyres", "", "parked"][0].value == "stood"
    assert [r.value for r in found["tyres", "", "pressure.lf"]] == [231.0]
    assert [r.value for r in found["tyres", "", "pressure.lr"]] == [219.0, 221.0]
    tread = found["tyres", "", "tread.lf"]
    assert [(r.value, r.by, r.note, r.at) for r in tread] == [
        (5.0, "B. Test", "inner rib", AT + timedelta(minutes=10)),
        (5.2, "B. Test", "inner rib", AT + timedelta(minutes=10)),
    ]
    assert found["cover", "left", "whole"][0].value == "yes"
    assert (job.fixes[0].question, job.fixes[0].at, job.fixes[0].by) == ("pressure.lr", AT, "A. Test")
    assert job.events[0].at == AT + timedelta(minutes=12)
    assert [e.side for e in job.events] == ["", "left"]
    assert job.waivers[0].side == "left"


AFTERWARDS = """\
checks:
  result left: {said: yes, azimuth: [{value: 2.4, at: 2026-05-04 10:00+02:00}, {value: -1.9, at: 2026-05-04 10:20+02:00}]}
  rescan: {empty: no, left: C 17 in the tow unit}
  road_test: {made: y, route: ring road, conditions: r, traffic: h}
  road_seen left: {seen: no warning, right: n}
  remarks: {remark.1: customer told, remark.2: tyre worn}
"""


def test_the_close_of_a_job_is_written_like_everything_else(shop):
    printout = shop.path / "papers" / "last page.txt"
    printout.parent.mkdir(exist_ok=True)
    printout.write_bytes(b"abc")
    job = by_hand(
        shop,
        AFTERWARDS
        + "attached: [{path: papers/last page.txt, what: last page, at: 2026-05-04 10:21+02:00}]\n"
        + "ended: {at: 2026-05-04 11:00+02:00, by: B. Test, why: handed over}\n",
    ).job
    answers = {(r.check, r.side, r.question): r.value for r in job.readings}
    assert answers["result", "left", "azimuth"] == -1.9
    assert answers["road_test", "", "conditions"] == "wet and dark"
    assert answers["remarks", "", "remark.2"] == "tyre worn"
    (page,) = job.attached
    # FIPS 180-4, appendix: SHA-256 of 'abc' (from memory)
    assert page.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert (page.path, page.size, page.what, page.by) == ("papers/last page.txt", 3, "last page", "A. Test")
    assert job.ended == Ended(at=AT + timedelta(minutes=120), by="B. Test", why="handed over")


def test_an_attached_file_that_is_gone_is_told_unless_its_hash_is_known(shop):
    known = f"attached: [{{path: gone.txt, sha256: {'0a' * 32}, size: 3}}]\n"
    (gone,) = by_hand(shop, known).job.attached
    assert (gone.path, gone.size) == ("gone.txt", 3)
    for text, column, words in (
        ("attached: [{path: gone.txt}]", 19, "there is no such file"),
        ("attached: [{path: gone.txt, size: 3}]", 12, "sha256 and size, or neither"),
        ("attached: [{path: gone.txt, sha256: abc, size: 3}]", 37, "text of the form"),
    ):
        with pytest.raises(FileMistakes) as caught:
            by_hand(shop, text)
        (mistake,) = caught.value.mistakes
        assert (mistake.line, mistake.column) == (8, column)
        assert words in str(mistake)


def test_nobody_sets_a_check_aside_without_a_name(shop):
    head = HEAD.replace("by: A. Test", "by: ''")
    with pytest.raises(FileMistakes) as caught:
        by_hand(shop, "not_applicable: [{check: tyres, reason: new ones}]\n", head)
    assert "by: found nobody, expected the name of who sets it aside" in str(caught.value)
    named = by_hand(shop, "not_applicable: [{check: tyres, reason: new ones, by: B. Test}]\n", head).job
    assert named.waivers[0].by == "B. Test"


def test_a_time_without_zone_is_this_machines(shop):
    job = by_hand(shop, "", HEAD.replace("+02:00", "")).job
    assert job.opened == AT.replace(tzinfo=None).astimezone()


def test_a_bare_number_means_what_the_file_says(shop):
    answers = by_hand(shop, "units: us\nchecks: {tyres: {pressure.lf: 33.5}}\n")
    assert answers.units == "us"
    # 1 psi = 6.894757 kPa (NIST SP 811, table B.8)
    assert answers.job.readings[0].value == pytest.approx(33.5 * 6.894757)


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("checks: {tyres: {presure.lf: 231}}", 8, 30, ["not asked", "pressure.lf"]),
        ("checks: {tyres: {air: 21 C}}", 8, 23, ["'air' belongs under 'shared'"]),
        ("checks: {clear_area left: {nobody: yes}}", 8, 36, ["expected no answer here", "under 'shared'"]),
        ("checks: {tyre: {parked: s}}", 8, 10, ["no such check", "tyres"]),
        ("checks: {clear_area: {kit.1: out}}", 8, 10, ["no such check", "clear_area left"]),
        ("checks:\n  tyres:\n    pressure.lf: 23 bar", 10, 18, ["23 bar"]),
        ("checks: {tyres: {pressure.lf: 21 C}}", 8, 31, ["21 C"]),
        ("checks: {tyres: {pressure.lf: 2.3.1 bar}}", 8, 31, ["two decimal marks"]),
        ("checks: {tyres: {parked: perhaps}}", 8, 26, ["takes one of"]),
        ("checks: {tyres: {pressure.lf: {value: 231, insturment: x}}}", 8, 44, ["unknown key", "instrument"]),
        ("checks: {tyres: {pressure.lf: {value: 231, instrument: x}}}", 8, 39, ["instrument 'x'", "gauge-1"]),
        ("checks: {tyres: {pressure.lf: {note: x}}}", 8, 31, ["found nothing", "the answer"]),
        ("checks: {tyres: {parked: s, parked: r}}", 8, 29, ["again"]),
        ("checks: [tyres]", 8, 9, ["checks by id"]),
        ("checks: {tyres: s}", 8, 17, ["answers by question"]),
        ("fixes: [{check: tyre}]", 8, 17, ["tyres"]),
        ("fixes: [{check: tyres, side: left}]", 8, 30, ["no side"]),
        ("not_applicable: [{check: clear_area, reason: no metal}]", 8, 18, ["left"]),
        ("not_applicable: [{check: tyres}]", 8, 18, ["reason", "nothing"]),
        ("not_applicable: [{check: tyres, reason: }]", 8, 41, ["reason"]),
        ("not_applicable: [{check: tyres, reason: ''}]", 8, 41, ["why it is set aside", "in a few words"]),
        ("not_applicable: [{check: tyres, reason: x.}]", 8, 41, ["why it is set aside", "in a few words"]),
        ("not_applicable: [{check: tyres, reason: new ones, by: ' '}]", 8, 55, ["by", "the name of who"]),
        ("not_applicable: [{check: procedure, reason: none}]", 8, 26, ["cannot be set aside by anybody"]),
        ("events: [{event: rain}]", 8, 18, ["car_moved"]),
        ("events: [{event: sensor_touched, side: right}]", 8, 40, ["one of left"]),
        ("events: [{event: car_moved, side: left}]", 8, 35, ["no side", "whole car"]),
        ("plates: x", 8, 1, ["unknown key", "plate"]),
    ],
)
def test_a_mistake_has_its_place_and_says_what_is_expected(shop, text, line, column, words):
    with pytest.raises(FileMistakes) as caught:
        by_hand(shop, text + "\n")
    told = [str(m) for m in caught.value.mistakes]
    assert len(told) == 1, told
    assert f"by-hand.yaml:{line}:{column}: " in told[0]
    for word in words:
        assert word in told[0]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("tern-rear-corner", "tern-rear-corners", ["sheet", "Did you mean 'tern-rear-corner'?"]),
        ("bay: bay-2", "bay: bay-7", ["bay", "bay-1, bay-2"]),
        ("[left]", "[single]", ["sides", "left, right"]),
        ("[left]", "[left, left]", ["sides", "one twice"]),
        ("[left]", "[]", ["sides"]),
        ("answers: by-hand", "answers: ../by-hand", ["answers", "name of its file"]),
        ("pressure: gauge-1", "pressure: tread-1", ["instruments.pressure", "measures pressure"]),
        ("pressure: gauge-1", "pressure: gauge-0", ["instruments.pressure", "gauge-1"]),
        ("by: A. Test\n", "", ["by", "nothing"]),
    ],
)
def test_a_mistake_in_the_head(shop, old, new, words):
    with pytest.raises(FileMistakes) as caught:
        by_hand(shop, "", HEAD.replace(old, new))
    told = str(caught.value)
    for word in words:
        assert word in told


def test_all_mistakes_come_in_one_run_in_the_order_of_the_file(shop):
    with pytest.raises(FileMistakes) as caught:
        by_hand(
            shop,
            """\
checks:
  tyres: {parked: perhaps, pressure.lf: 9 bar, odd: 1}
  stances: {x: 1}
events: [{event: rain}]
""",
        )
    assert [m.line for m in caught.value.mistakes] == [9, 9, 9, 10, 11]


def test_mistakes_in_the_head_hide_none_in_the_answers(shop):
    head = HEAD.replace("2026-05-04 09:00+02:00", "04.05.2026").replace("by-hand", "by/hand")
    head = head.replace("depth: tread-1", "depth: tread-9")
    with pytest.raises(FileMistakes) as caught:
        by_hand(shop, "checks:\n  tyres: {pressure.lf: 23 bar}\nfixes: [{check: tyre}]\n", head)
    assert [m.line for m in caught.value.mistakes] == [1, 6, 7, 9, 10]


@pytest.mark.parametrize("new", ["[left, left]", "[]", "[middle]", "[left, middle]", "left", "[single]"])
def test_a_wrong_side_is_told_once(shop, new):
    with pytest.raises(FileMistakes) as caught:
        by_hand(shop, "", HEAD.replace("[left]", new))
    assert [m.line for m in caught.value.mistakes] == [4]


def test_files_of_answers_are_linted_too(shop):
    path = shop.path / "linted.yaml"
    path.write_text(HEAD + "checks: {tyres: {parked: perhaps}}\n", encoding="utf-8", newline="\n")
    assert [m.line for m in mistakes_in([path])] == [8]
    path.unlink()


SAMPLE = (
    HEAD
    + """\
shared: {air: 21 C}
checks:
  tyres: {parked: s, pressure.lf: 231, tread.lf: {value: [5 mm, 5.2 mm], at: 2026-05-04 09:10+02:00}}
  load: {fuel: 3/4, extra: y, extra.1.name: jack, extra.1.mass: 4 kg}
fixes: [{check: tyres, question: pressure.lr, text: inflated}]
not_applicable: [{check: clear_area, side: left, reason: nothing there}]
"""
)


@given(st.data())
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_slip_of_the_finger_gets_past_or_crashes(shop, data):
    """Any piece cut out, doubled or replaced: it still reads, or every complaint has its line."""
    start = data.draw(st.integers(0, len(SAMPLE)))
    end = data.draw(st.integers(start, min(len(SAMPLE), start + 12)))
    put = data.draw(
        st.one_of(st.text(max_size=6), st.just(SAMPLE[start:end] * 2), st.sampled_from("{}[]:,'\"\n#-&*!0"))
    )
    path = shop.path / "slip.yaml"
    path.write_bytes((SAMPLE[:start] + put + SAMPLE[end:]).encode("utf-8", "surrogatepass"))
    complaints = []
    try:
        load_answers(path, shop)
    except FileMistakes as error:
        complaints = [str(m) for m in error.mistakes] or ["nothing was said"]
    assert all(c.startswith(str(path)) for c in complaints)
