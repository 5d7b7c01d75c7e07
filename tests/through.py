"""Everything that is made of a visit, one thing after the other, for tests of what odd input comes to.

Whatever a file or a person says, each of these ends, within its time and without a fault, and what it says can be shown.
"""

from __future__ import annotations

import json
import re
import sys
import time
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from readiness.checklist.mistakes import FileMistakes
from readiness.checks.finding import Visit
from readiness.jobstate import job_state, steady_until
from readiness.records.account import account
from readiness.records.asked import asked_for
from readiness.records.attachments import check
from readiness.records.dossier import Dossier, as_given
from readiness.records.ending import unsettled
from readiness.records.history import stories
from readiness.records.journal import Journal
from readiness.records.sheets import Opened
from readiness.records.shop import ShopError, ShopFolder
from readiness.records.worksheet import worksheet
from readiness.report.csv import table
from readiness.report.data import as_dict
from readiness.report.html import html_page
from readiness.report.jobs import said
from readiness.report.plain import plain
from readiness.report.record import record
from readiness.report.report_text import report_text
from readiness.report.worksheet import worksheet_page
from readiness.report.worksheet_text import worksheet_text
from readiness.verdict import judge
from readiness.watch import all_calibrated, at_work, lapsing, other_sides, to_close, told_already, undone
from readiness.wizard import closing_pages, pages, record_page, watch_words

LONGEST = 2.0
"""Seconds of work for any one thing, by the clock of the process: other programs on the machine do not count."""
MOST_MEMORY = 300
"""MB by which the process may grow over thousands of odd files, all that is imported meanwhile included."""
T = TypeVar("T")


def within(do: Callable[[], T], longest: float = LONGEST) -> T:
    """What it gives, in its time."""
    began = time.process_time()
    try:
        return do()
    finally:
        assert time.process_time() - began < longest


@contextmanager
def little_memory(most: int = MOST_MEMORY) -> Iterator[None]:
    """The process does not grow by more MB than that in here; where it can be known."""
    before = peak()
    yield
    assert peak() - before < most


def peak() -> float:
    """MB that this process ever held at once; 0 where the system does not tell."""
    if sys.platform == "win32":
        return 0.0
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (2**20 if sys.platform == "darwin" else 2**10)


def steering(text: str) -> list[str]:
    """Characters that would do something other than show themselves."""
    return _STEERING.findall(text)


def _steers(char: str) -> bool:
    turning = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
    return unicodedata.category(char) in ("Cc", "Zl", "Zp") or unicodedata.bidirectional(char) in turning


_STEERING = re.compile(
    f"[{''.join(re.escape(c) for c in map(chr, range(sys.maxunicode + 1)) if c != chr(10) and _steers(c))}]"
)


def told(fault: FileMistakes | ShopError | Exception) -> None:
    """What is wrong with input is told in sentences of some length, that steer nothing; a mistake has all its parts."""
    mistakes = getattr(fault, "mistakes", ())
    for mistake in mistakes:
        assert mistake.found
        assert mistake.expected
        assert steering(str(mistake)) == [], ascii(str(mistake))
        assert "\n" not in str(mistake)
        assert len(str(mistake)) < 1_500
    if not mistakes:
        assert 10 < len(str(fault)) < 1_500, ascii(str(fault))
        assert steering(str(fault)) == [], ascii(str(fault))
        assert "\n" not in str(fault)


def valid(what: object) -> None:
    """As JSON it is what every reader takes."""
    text = json.dumps(what, ensure_ascii=False, allow_nan=False)
    assert steering(text) == []
    assert json.loads(text) == what


def judged(visit: Visit, now: datetime) -> None:
    """The verdict and the close, as lines and as data."""
    verdict = judge(visit, now)
    assert steering(plain(verdict, visit)) == []
    valid(as_dict(verdict, visit))


def watched(visit: Visit, now: datetime) -> None:
    """What the watch asks for, and says; and the list of jobs."""
    verdict, state = judge(visit, now), job_state(visit, visit.job.opened, now)
    assert steering(said(state, now)) == []
    until = steady_until(visit, visit.job.opened, now)
    assert until is None or until > now
    gone, others = undone(visit, now), other_sides(visit, now)
    titles = {c.id: c.title for c in visit.checklist.checks}
    for side in verdict.sides.values():
        ends = [lapse.at for lapse in lapsing(side)]
        assert ends == sorted(ends)
        watch_words.outcome(side, now, 40)
        watch_words.figures(side, now, tall=True)
        watch_words.lapses(side, 40)
    for other in others:
        watch_words.other_page(other, titles, 40)
    watch_words.events(gone, 76)
    at_work(visit, now)
    to_close(visit, now)
    all_calibrated(visit, now)
    for event in gone:
        told_already(visit, event)


def on_pages(visit: Visit, now: datetime) -> None:
    """The pages of the wizard that are content alone."""
    verdict, account_ = judge(visit, now), account(visit, now)
    pages.go_page(verdict, visit, 76)
    pages.header(visit, "Odo Brack", now, None, 80)
    points = unsettled(account_)
    closing_pages.end_page(account_, points, 76)
    closing_pages.keys(visit.job, visit.checklist.sides, points, 80)
    closing_pages.file_lines(visit.job.attached)


def recorded(visit: Visit, journal: Journal, now: datetime) -> None:
    """What Ctrl+R says of the whole job."""
    checks = [(c, s) for c in visit.checklist.checks for s in (visit.job.sides if c.per_side else ("",))]
    record_page.of_checks(checks, visit, stories(journal.entries), now, short=False)


def paper_of(visit: Visit, folder: Path) -> Dossier:
    """What a report is made of where no journal tells of a visit."""
    job = visit.job
    there = tuple(check(a, folder) for a in job.attached)
    return Dossier(visit, as_given(job.readings), asked_for(visit), None, there, (), ())


def reported(visit: Visit, found: Dossier, now: datetime) -> None:
    """The report in every format."""
    told = account(visit, now)
    assert steering(html_page(told, found)) == []
    assert steering(report_text(told, found)) == []
    assert steering(table(told, found).replace("\r\n", "\n")) == []
    valid(record(told, found))


def on_paper(visit: Visit, folder: ShopFolder, now: datetime) -> None:
    """The worksheet of its sheet in its bay, in both formats. Needs the sheet as a file of the shop."""
    paper = worksheet(Opened(folder, visit.sheet, None), visit.bay, visit.checklist.sides, now)
    assert steering(worksheet_page(paper)) == []
    assert steering(worksheet_text(paper)) == []
