"""Jobs of the demo shop carried on to their end, for tests of what goes on paper.

HB-0417 is closed as it should be, with a file. Of HB-0418 the left side was calibrated with a check set aside, and its
result is out of range; the right side never got its go. HB-0415 was read three times with a fix in between and ended
without a go. All of it is invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from msgspec.structs import replace as changed

from readiness.checks.entry import understood
from readiness.checks.walking import stops
from readiness.job import Attached, Ended, Event, Fix, Instrument, Reading, Waiver
from readiness.records.account import Account, account
from readiness.records.attachments import Checked, attached_file
from readiness.records.dossier import Dossier, as_given, dossier
from readiness.records.journal import Journal
from readiness.records.shop import ShopFolder
from tests.shop import MOMENT, demo_shop

LATER = MOMENT + timedelta(hours=8)
"""When reports are made."""
CLOSED, MIXED, GIVEN_UP, BEGUN = "HB-0417", "HB-0418", "HB-0415", "HB-0420"
WAIVED = "the lamp over bay 2 is being changed; a work lamp stood in"
WHY_GIVEN_UP = "the customer took the car home, the tyre loses air"


def shop_with_papers(to: Path) -> ShopFolder:
    folder = demo_shop(to)
    _closed(folder)
    _mixed(folder)
    _given_up(folder)
    return folder


def of_job(folder: ShopFolder, job: str, **more: object) -> tuple[Account, Dossier]:
    """What a report of a job is made of, at LATER."""
    found = dossier(job, folder.path)
    return account(found.visit, LATER, **more), found  # type: ignore[arg-type]


def answer_close(
    folder: ShopFolder, journal: Journal, at: datetime, answers: dict[str, str], sides: tuple[str, ...] = ()
) -> datetime:
    """Answer everything that is asked after the calibration, a minute each; what is not given, as one hopes for."""
    done = set()
    for step in folder.visit(journal.job).checklist.closing:
        while left := [s for s in stops(folder.visit(journal.job), step, at, sides) if s.place not in done]:
            stop = left[0]
            done.add(stop.place)
            question = stop.question
            text = answers.get(question.key) or (question.choices[0].value if question.choices else "")
            text = text or ("" if question.optional else question.default or "nothing odd")
            if not text:
                continue
            at += timedelta(minutes=1)
            value, unit = understood(question, text, "metric")
            check, side, key = stop.place
            journal.record(
                Reading(
                    check=check, side=side, question=key, value=value, unit=unit, text=text, at=at, by="Odo Brack",
                    evidence=question.evidence,
                )
            )  # fmt: skip
    return at


def _closed(folder: ShopFolder) -> None:
    photo = folder.path / "photos" / "last-page.txt"
    photo.parent.mkdir()
    photo.write_text("invented\n", encoding="utf-8")
    with folder.journal(CLOSED) as journal:
        at = answer_close(folder, journal, MOMENT + timedelta(minutes=4), {"azimuth": "-0.85 °"})
        journal.attach(attached_file(photo, folder.path, "the tester's last page", "Odo Brack", at))
        journal.end(Ended(at=at + timedelta(minutes=2), by="Odo Brack"))


def _mixed(folder: ShopFolder) -> None:
    with folder.journal(MIXED) as journal:
        journal.waive(Waiver(check="light", reason=WAIVED, at=MOMENT, by="Lio Fenn"))
        answer_close(folder, journal, MOMENT + timedelta(minutes=4), {"azimuth": "2.5 °"}, ("left",))


def _given_up(folder: ShopFolder) -> None:
    def pressure(text: str, minutes: int) -> Reading:
        return Reading(
            check="tyres", question="pressure.lr", value=float(text), unit="kPa", text=text,
            at=MOMENT + timedelta(minutes=minutes), by="Lio Fenn", instrument="gauge-1",
        )  # fmt: skip

    with folder.journal(GIVEN_UP) as journal:
        first = next(r for r in journal.job.readings if r.question == "pressure.lr")
        journal.withdraw(first.number, "mistyped", "Lio Fenn", MOMENT)
        journal.record(pressure("221", 1))
        inflated = MOMENT + timedelta(minutes=2)
        journal.fix(
            Fix(check="tyres", question="pressure.lr", at=inflated, by="Lio Fenn", text="inflated to 240")
        )
        journal.record(pressure("238.5", 3))
        journal.happen(Event(event="door_opened", at=MOMENT + timedelta(minutes=4), by="Lio Fenn"))
        journal.end(Ended(at=MOMENT + timedelta(hours=5), by="Tamsin Vale", why=WHY_GIVEN_UP))


HOSTILE = {
    "HTML": "<script>window.hacked = 1</script><img src=x onerror='window.hacked = 1'>",
    "an end": '</bdi></td></svg></style></title></main><h1 id=title onclick="window.hacked = 1">',
    "quotes": '" onmouseover="window.hacked = 1" x=\'',
    "escapes": "\x1b[2J\x1b]0;title\x07 &lt;b&gt; &#60;",
    "turned round": "\u202eoklaV\u202c \u2067x\u2069 שלום 12",
    "formula": '=HYPERLINK("http://127.0.0.1/")',
    "styles": "}</style><style>*{display:none}\\22 ;@import 'http://127.0.0.1/';",
    "one word": "W" * 400,
}


def hostile_papers(folder: ShopFolder, text: str) -> tuple[Account, Dossier]:
    """The report of a job into which somebody wrote this text wherever a person may write."""
    found = dossier(MIXED, folder.path)
    visit, job = found.visit, found.visit.job
    late = max(r.at for r in job.readings)
    readings = tuple(
        changed(r, by=text, note=text, text=text, told_by=text, evidence="told", instrument=r.instrument and text)
        for r in job.readings
    )  # fmt: skip
    waivers = tuple(changed(w, by=text, reason=text) for w in job.waivers)
    fixes = (Fix(check="floor", at=MOMENT - timedelta(hours=9), by=text, text=text),)
    events = (Event(event="got_in", at=MOMENT - timedelta(hours=9), by=text),)
    ended = Ended(at=late + timedelta(minutes=1), by=text, why=text)
    attached = Attached(path=text, sha256="0" * 64, size=1, at=late, by=text, what=text)
    tool = Instrument(
        id=text,
        title=text,
        measures=text,
        accuracy=text,
        resolution=text,
        due=visit.instruments["gauge-1"].due,
    )
    bay = changed(visit.bay, title=text, obstacles=tuple(changed(o, name=text) for o in visit.bay.obstacles))
    sheet = changed(visit.sheet, title=text, car=text, document=changed(visit.sheet.document, reference=text))
    checks = tuple(
        changed(c, title=text, cautions=(text,), sources=dict.fromkeys(c.sources, text))
        for c in visit.checklist.checks
    )
    listed = changed(visit.checklist, checks=checks, cautions=(text,), title=text)
    job = changed(
        job, by=text, plate=text, readings=readings, waivers=waivers, fixes=fixes, events=events, ended=ended,
        attached=(attached,),
    )  # fmt: skip
    shop = changed(visit.shop, shop=text)
    seen = replace(
        visit,
        job=job,
        bay=bay,
        sheet=sheet,
        shop=shop,
        checklist=listed,
        instruments={**visit.instruments, text: tool},
    )
    papers = replace(
        found,
        visit=seen,
        stories=as_given(readings),
        attachments=(Checked(attached, "gone"),),
        warnings=(text,),
    )
    return account(seen, LATER), papers
