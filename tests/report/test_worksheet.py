"""The worksheet for the clipboard: the wizard's order, limits that hold, text that stays text."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner
from msgspec.structs import replace as changed

from readiness.checks.entry import understood
from readiness.checks.finding import find
from readiness.checks.kind import Choice, Question
from readiness.checks.walking import stops
from readiness.cli import commands
from readiness.job import Job
from readiness.records.blank_visit import all_steps, blank_visit, reading_of, usual_answers, with_readings
from readiness.records.journal import Journal
from readiness.records.sheets import Opened, opened
from readiness.records.worksheet import Line, Worksheet, worksheet
from readiness.report import worksheet_lines as asked
from readiness.report import worksheet_words as words
from readiness.report.worksheet import worksheet_page
from readiness.report.worksheet_text import worksheet_text
from readiness.wizard.session import Session
from tests.shop import MOMENT, Clock
from tests.test_hostile import HOSTILE, steering

DEMO = Path(__file__).parents[2] / "demo"
PAPERS = {
    "tern left": ("tern-rear-corner", ("left",), "bay-2"),
    "tern both": ("tern-rear-corner", ("left", "right"), "bay-2"),
    "tern right, no bay": ("tern-rear-corner", ("right",), None),
    "pipit": ("pipit-front", ("single",), "bay-4"),
    "godwit": ("godwit-camera", ("single",), "bay-3"),
    "dunlin": ("dunlin-surround", ("single",), "bay-4"),
}


def found(name: str) -> Opened:
    return opened(PAPERS[name][0], DEMO)


@cache
def paper(name: str) -> Worksheet:
    _, sides, bay = PAPERS[name]
    there = found(name)
    return worksheet(there, there.folder.bays[bay] if bay else None, sides, MOMENT)


class Words(HTMLParser):
    """What a reader of the page reads, without its style."""

    def __init__(self) -> None:
        super().__init__()
        self.text, self.tags, self.skip = "", set[str](), False

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.skip = tag == "style"

    def handle_endtag(self, tag):
        self.skip = False

    def handle_data(self, data):
        self.text += "" if self.skip else f"{data} "


def read(page: str) -> Words:
    reader = Words()
    reader.feed(page)
    return reader


# --- order ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "godwit",
        pytest.param("tern both", marks=pytest.mark.slow),
        pytest.param("pipit", marks=pytest.mark.slow),
        pytest.param("dunlin", marks=pytest.mark.slow),
    ],
)
def test_typing_it_in_meets_the_lines_in_the_order_of_the_paper(name, tmp_path):
    sheet, sides, bay = PAPERS[name]
    there = found(name)
    usual = usual_answers(blank_visit(there, there.folder.bays[bay], sides, MOMENT), MOMENT)
    journal = Journal.create(
        tmp_path, job="HB-9100", sheet=sheet, bay=bay, sides=sides, by="Odo Brack", at=MOMENT
    )
    session = Session(there.folder, journal, "Odo Brack", Clock(step=MOMENT - MOMENT))
    for leg in paper(name).legs:
        if leg.after:
            continue
        verdict = session.verdict()
        while row := next((r for r in session.rows(leg.step, verdict) if r.open), None):
            place = ("shared", "", row.question.key) if row.question.shared else row.place
            value = usual.readings[place][-1].value
            text = value if isinstance(value, str) else f"{value!r} {row.question.unit}"
            session.answer(row, text.removesuffix(" fraction"))
        met = [(r.check.id, r.side, r.question.label) for r in session.rows(leg.step, verdict)]
        printed = [(b.check.id, b.side, line.question.label) for b in leg.blocks for line in b.lines]
        assert met == printed, leg.step.title


@pytest.mark.parametrize("name", PAPERS)
def test_every_question_stands_once_and_in_order_on_both_papers(name):
    sheet = paper(name)
    assert [line.number for line in sheet.lines] == list(range(1, len(sheet.lines) + 1))
    for leg in sheet.legs:
        for block in leg.blocks:
            assert tuple(line for row in asked.in_rows(block) for line in row) == block.lines
    plain = worksheet_text(sheet)
    assert [int(n) for n in re.findall(r"^ {1,3}(\d+) \D", plain, re.M)] == [
        line.number for line in sheet.lines
    ]
    shown, at = " ".join(read(worksheet_page(sheet)).text.split()), 0
    for line in sheet.lines:
        begin = re.split("[:,] ", line.question.label)[0]
        at = shown.index(begin, at)


def test_titles_of_steps_are_those_of_the_wizard():
    sheet = paper("tern both")
    titles = [step.title for step in all_steps(blank_visit(found("tern both"), None, ("left",), MOMENT))]
    assert [leg.step.title for leg in sheet.legs] == titles
    assert re.findall(r"<h2>(.*?)</h2>", worksheet_page(sheet)) == titles


def test_an_answer_that_serves_twice_is_written_once():
    again = [line for line in paper("tern left").lines if line.same_as]
    assert [(a.question.key, a.same_as) for a in again] == [("air", 12)]


# --- limits ---------------------------------------------------------------------------------------


def line_of(sheet: Worksheet, label: str):
    return next(line for line in sheet.lines if line.question.label == label)


def test_what_counts_is_the_limit_less_the_guard_band():
    """ISO 14253-1:2017 with w = 1.645 u; u from half widths as rectangular distributions (JCGM 100, 4.3.7).

    By hand, from the instruments of the demo shop: the multimeter's half width 0.08 V and steps of 0.01 V.
    """
    limits = line_of(paper("tern left"), "Voltage, support on").limits
    w = 1.645 * math.hypot(0.08 / math.sqrt(3), 0.01 / math.sqrt(12))
    assert (limits.low, limits.high) == ("12.6", "14.8")
    assert float(limits.counts_from) == math.ceil((12.6 + w) * 100) / 100
    assert float(limits.counts_to) == math.floor((14.8 - w) * 100) / 100


def test_a_guard_band_that_grows_with_the_reading_is_that_at_the_printed_reading():
    """A share of the reading, 5 %, and steps of 1 lx: L + w(y) = y, solved by hand for L = 200 lx."""
    limits = line_of(paper("tern left"), "At the sensor").limits
    y = 200.0
    for _ in range(50):
        y = 200.0 + 1.645 * math.hypot(0.05 * y / math.sqrt(3), 1 / math.sqrt(12))
    assert limits.counts_from == str(math.ceil(y))
    assert limits.high == limits.counts_to == ""


@pytest.mark.parametrize("name", ["tern left", "godwit", "dunlin"])
def test_readings_at_the_ends_of_a_printed_range_pass_and_a_step_beyond_they_do_not(name):
    there, (_, sides, bay) = found(name), PAPERS[name]
    usual = usual_answers(blank_visit(there, there.folder.bays[bay], sides, MOMENT), MOMENT)
    tried = 0
    for stop in (s for step in all_steps(usual) for s in stops(usual, step, MOMENT)):
        line = next(x for x in paper(name).lines if x.question == stop.question)
        if line.limits is None or line.limits.instrument is None or len(stop.asked_by) > 1:
            continue
        for text, sign in ((line.limits.counts_from, -1), (line.limits.counts_to, 1)):
            step_ = {"mm": 1.0, "kPa": 1.0, "lx": 1.0, "V": 0.01, "um": 1.0, "deg": 0.05}.get(
                stop.question.unit
            )
            if text and step_ and "tread" not in stop.question.key:
                value = understood(stop.question, text, "metric")[0]
                assert outcome(usual, stop, value) == "pass", (stop.question.label, text)
                assert outcome(usual, stop, value + sign * step_) != "pass", (stop.question.label, text)
                tried += 1
    assert tried >= 10


def outcome(visit, stop, value: float) -> str:
    tried = with_readings(visit, [reading_of(visit, stop, value, MOMENT)])
    parts = find(tried, stop.check, stop.side, MOMENT).parts
    return next(p.outcome for p in parts if p.key == stop.question.part)


def test_an_instrument_that_decides_nothing_is_named(tmp_path):
    """The coarse gauge of the demo shop alone: its guard bands, over 14 kPa each, meet between limits 15 kPa apart."""
    there = found("tern left")
    coarse = {k: v for k, v in there.folder.instruments.items() if k not in ("gauge-1", "gauge-2")}
    there.folder.__dict__["instruments"] = coarse
    limits = line_of(worksheet(there, None, ("left",), MOMENT), "left front: pressure").limits
    assert not limits.counts
    assert limits.undecidable
    assert asked.span(limits) == "225–240; gauge-3 cannot decide it"


def test_without_instruments_the_limits_stand_alone(tmp_path):
    """A sheet's file outside of any shop."""
    lone = tmp_path / "sheet.yaml"
    lone.write_text((DEMO / "sheets" / "tern-rear-corner.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    sheet = worksheet(opened(str(lone), None), None, ("left",), MOMENT)
    line = line_of(sheet, "left front: pressure")
    assert line.instrument is None
    assert asked.span(line.limits) == "225–240"


def test_units_of_the_shop_stand_in_the_boxes_and_in_the_ranges():
    there = found("tern left")
    there.folder.__dict__["shop"] = changed(there.folder.shop, units="us")
    sheet = worksheet(there, there.folder.bays["bay-2"], ("left",), MOMENT)
    limits = line_of(sheet, "left front: pressure").limits
    assert 32.6 == float(limits.low) < float(limits.counts_from) < float(limits.counts_to) < 34.9
    page = worksheet_page(sheet)
    assert ">psi<" in page
    assert ">kPa<" not in page
    assert "in left" in read(page).text  # a tape of that shop


# --- what is known, and what else to write --------------------------------------------------------


def test_the_usual_answers_lead_no_farther():
    keys = {line.question.key for line in paper("tern left").lines}
    assert "survey_holds" in keys  # follows from the bay's survey, which is the usual source
    assert not any(k.startswith(("extra.", "other.", "plan.", "temperature.")) for k in keys)
    assert {"staff.lf", "staff.board.1"} <= {
        line.question.key for line in paper("godwit").lines
    }  # not surveyed


def test_what_another_answer_leads_to_is_said():
    told = {
        b.check.id: {t: n for n, t in asked.notes(b)} for leg in paper("tern left").legs for b in leg.blocks
    }
    assert (
        told["tyres"]["from the road (write below: tyre at left front, left rear, right rear, right front)"]
        == "11"
    )
    kit = next(t for t in told["clear_area"] if "outside" in t)
    assert "near (write below: measured from, forward, left, radius, top)" in kit
    assert told["clear_area"][kit] == "47–52"


def test_choices_too_long_for_the_end_of_a_line_stand_below_it():
    sheet = paper("tern left")
    ways = tuple(Choice(key, key, f"a way of answering that takes a line of its own, {key}") for key in "abc")
    line = Line(1, Question("long", "Long", "choice", choices=ways, default="b"))
    block = replace(sheet.legs[0].blocks[0], lines=(line,))
    long = replace(sheet, legs=(replace(sheet.legs[0], blocks=(block,)),))
    page = worksheet_page(long)
    assert page.count('class="choice"') == 3
    assert page.count('class="key usual"') == 1
    assert "     [ ] b*: a way of answering" in worksheet_text(long)


def test_what_sheet_bay_and_survey_know_is_printed():
    shown = " ".join(read(worksheet_page(paper("tern left"))).text.split())
    for known in (
        "QM-TERN-88-RC issue 4", "surveyed 2026-09-15 by Tamsin Vale", "steel shelf x 3.2 to 6, y 0 to 0.25 m, up to 2 m",
        "Reflector: 2360 mm left; 1780 mm behind the rear mark (straight 2956 mm)", "holds 2 h from", "Never look into a laser.",
        "Chock the wheels", "Inflate from beside the tyre", "can start or carry high voltage", "Road-test within the law",
    ):  # fmt: skip
        assert known in shown


def test_a_survey_out_of_date_and_an_instrument_out_of_date_are_named():
    there = found("tern left")
    late = MOMENT.replace(year=2028)
    shown = worksheet_text(worksheet(there, there.folder.bays["bay-2"], ("left",), late))
    assert "OUT OF DATE since 2027-09-15" in " ".join(shown.split())
    assert "OUT OF DATE: multimeter-1 since 2027-03-31" in " ".join(shown.split())


def test_without_a_bay_nothing_of_a_bay_is_on_the_paper():
    sheet = paper("tern right, no bay")
    assert not [s for s in sheet.plan if s.role in ("bay", "obstacle")]
    assert {"car", "zone", "target"} <= {s.role for s in sheet.plan}
    assert "no bay named" in words.about(sheet)
    assert words.things(None, "metric") == ""


def test_the_second_side_says_that_it_is_as_the_first():
    bracket = [b for leg in paper("tern both").legs for b in leg.blocks if b.check.id == "bracket"]
    assert [b.as_on for b in bracket] == ["", "left"]
    assert asked.notes(bracket[1]) == []


# --- plain text, hostile text, the command --------------------------------------------------------


@pytest.mark.parametrize("name", PAPERS)
def test_plain_lines_fit_a_page(name):
    assert max(map(len, worksheet_text(paper(name)).splitlines())) <= 78


def test_text_from_sheet_and_bay_stays_text():
    """Each hostile text is the name of a thing in the bay, all of them together the title of the sheet."""
    there = found("godwit")
    bay, title = there.folder.bays["bay-3"], " ".join(HOSTILE.values())[:2000]
    thing = next(o for o in bay.obstacles if not o.fixed)
    things = tuple(changed(thing, name=text[:100]) for text in HOSTILE.values())
    sheet = changed(there.sheet, title=title, document=changed(there.sheet.document, reference=title[:150]))
    named = Opened(there.folder, sheet, DEMO / "sheets" / "godwit-camera.yaml")
    made = worksheet(named, changed(bay, title=title, obstacles=things), ("single",), MOMENT)
    page, plain = worksheet_page(made), worksheet_text(made)
    assert not steering(page)
    assert not steering(plain)
    reader = read(page)
    assert "script" not in reader.tags
    shown = " ".join(reader.text.split())
    for text in (
        "<script>alert('Odo')</script> & <b>Odo</b> moved",
        "[bold red]Odo[/] [@click=app.quit]x[/] moved",
        "[/4] moved",
    ):
        assert text in shown, text
        assert text in " ".join(plain.split()), text


def run(*arguments: str):
    return CliRunner().invoke(commands, ["--shop", str(DEMO), "worksheet", *arguments], standalone_mode=False)


def test_the_command_writes_a_page_and_writes_over_it_again(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run("pipit-front", "--bay", "bay-1").return_value == 0
    assert (tmp_path / "worksheet-pipit-front.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    for _ in range(2):
        assert run("pipit-front", "--text", "-o", "paper.txt").return_value == 0
    assert (tmp_path / "paper.txt").read_text(encoding="utf-8").startswith("Worksheet: Pipit")
    assert "left and right" in run("tern-rear-corner", "--text").output


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("pipit-front", "--side", "left"), "without sides"),
        (("pipit-front", "--bay", "bay-9"), "bay-9"),
        (("pipit-frnt",), "pipit-frnt"),
        (("pipit-front", "-o", str(DEMO / "shop.yaml")), "file of the shop"),
    ],
)  # fmt: skip
def test_a_mistake_is_one_clear_sentence(arguments, said):
    fault = run(*arguments).exception
    assert fault is not None
    assert said in str(getattr(fault, "message", fault))


def test_a_blank_visit_has_no_answer():
    visit = blank_visit(found("pipit"), None, ("single",), MOMENT)
    assert visit.job == Job(job="", sheet="pipit-front", bay="", sides=("single",), opened=MOMENT, by="")
