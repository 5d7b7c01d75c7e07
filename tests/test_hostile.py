"""Text from people that would steer a terminal, end a program or turn the writing round: it comes out as text."""

from __future__ import annotations

import json
import unicodedata
from datetime import timedelta

import pytest
from msgspec.structs import replace as changed

from readiness.job import Attached, Ended, Fix, Job, Waiver
from readiness.records.journal import Journal
from readiness.records.kept import write_journal
from readiness.report.data import as_dict
from readiness.report.plain import plain
from readiness.verdict import judge
from readiness.wizard.app import ReadinessApp
from readiness.wizard.walk import Walk
from tests.records.invented import filled, opened
from tests.shop import MOMENT, Clock, demo_shop
from tests.wizard.driver import Technician, settled

pytestmark = pytest.mark.slow

HOSTILE = {
    "a closing tag": "[/4]",
    "markup": "[bold red]Odo[/] [@click=app.quit]x[/]",
    "escapes": "\x1b[2J\x1b]0;title\x07\x1b[31mOdo",
    "8-bit escapes": "\x9b2J\x9d0;title\x9cOdo",
    "turned round": "\u202eoklaV\u202c \u2066Odo\u2069",
    "HTML": "<script>alert('Odo')</script> & <b>Odo</b>",
    "lines": "Odo\nGO\r\nNO-GO\u2028x\x0b\x85y",
    "odd": "\x00\x08\x7fOdo\ufeff\u200b\U000e0001",
    "10 kB": "Odo " * 2_500,
}


def steering(text: str) -> list[str]:
    """Characters that would do something other than show themselves."""
    turning = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
    return [
        c for c in text
        if (unicodedata.category(c) in ("Cc", "Zl", "Zp") and c != "\n") or unicodedata.bidirectional(c) in turning
    ]  # fmt: skip


WORDS = ("document", "route", "seen", "left", "remark.1")
"""Questions that are answered in words."""


def hostile_job(folder, text: str, over: bool = False) -> Job:
    """Read from its journal, with that text wherever a person may write."""
    job = filled(folder, opened("tern-rear-corner", "HB-9000", "bay-2"), 3)
    job = changed(job, by=text, plate=text[:300], sides=("left",))
    readings = tuple(
        changed(r, by=text, note=text, evidence="told", told_by=text, value=text if r.question in WORDS else r.value)
        for r in job.readings
        if r.side != "right"
    )  # fmt: skip
    late = max(r.at for r in readings) + timedelta(minutes=1)
    waived = (Waiver(check="centre_marks", reason=text, at=late, by=text),)
    fixed = (Fix(check="tyres", question="pressure.lf", at=late, by=text, text=text),)
    paper = (Attached(path=f"papers/{text}"[:300], sha256="0" * 64, size=1, what=text, at=late, by=text),)
    end = Ended(at=late, by=text, why=text) if over else None
    job = changed(job, readings=readings, waivers=waived, fixes=fixed, attached=paper, ended=end)
    path = write_journal(job, folder.jobs_folder)
    return Journal.open(path, write=False).job


@pytest.fixture
def folder(tmp_path):
    return demo_shop(tmp_path)


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_in_plain_lines_and_json(folder, text):
    visit = folder.visit(hostile_job(folder, text, over=True))
    verdict = judge(visit, visit.job.waivers[0].at)
    lines = plain(verdict, visit)
    assert steering(lines) == []
    assert "Odo" in lines or "[/4]" in lines
    assert max(map(len, lines.splitlines())) < 200 or "Odo " * 30 in text
    told = json.dumps(as_dict(verdict, visit), ensure_ascii=False)
    assert steering(told) == []
    assert json.loads(told)["job"] == "HB-9000"


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
async def test_in_the_wizard(folder, text):
    hostile_job(folder, text)
    app = ReadinessApp(folder.path, person="Odo Brack", clock=Clock(MOMENT))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        seen = drawn(app)
        app.screen.open_job("HB-9000")
        await settled(app, pilot)
        assert isinstance(app.screen, Walk)
        who = Technician(app, pilot, {})
        for _ in range(len(who.walk.session.steps)):
            await who.press("pagedown")
            seen += drawn(app)
        who.walk._enter(0)
        await who.press("f1")
        seen += drawn(app)
        await who.press("escape", "f2")
        app.screen.query_one("Input").value = text
        await who.press("enter")
        await settled(app, pilot)
        seen += drawn(app)
        assert isinstance(app.screen, Walk)
    assert steering(seen) == []


def drawn(app) -> str:
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(s.text for s in strip) for strip in strips)
