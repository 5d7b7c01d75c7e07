"""Whatever is typed to a question is understood, or a sentence says why not: alone, and in a session that keeps it."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest

from readiness.checks.entry import MAX_TEXT, understood
from readiness.checks.finding import ask
from readiness.checks.kind import Question
from readiness.records.journal import Journal, JournalError
from readiness.records.shop import ShopFolder
from readiness.units import UnitsError
from readiness.wizard import pages
from readiness.wizard.lines import cursor, lines_of
from readiness.wizard.rows import Row
from readiness.wizard.session import Session
from tests.records.invented import SHEETS, filled, opened, typed
from tests.shop import MOMENT, Clock, demo_shop
from tests.through import judged, little_memory, on_pages, recorded, told, within

pytestmark = pytest.mark.slow

UNITS = ["", " kPa", " bar", "psi", " MPa", " mm", " cm", " m", " in", '"', "'", " ft", " °C", " F", " C", " K", " lx",
         " fc", " L", " gal", " V", " mV", "°", " deg", " %", " mm/m", " in per 10 ft", " µm", " mil", " kg", " lb", " min",
         " h", " of a tank", " kpz", " Kelvin bar", " bar bar", "/", " per", " per 0 ft", "%%", " div", " divisions"]  # fmt: skip
NUMBERS = ["0", "-0", "1", "231", "2,3", "2.3", ".5", "5.", "1/2", "1 1/2", "1 3/8", "-5", "+5", "1e5", "1e400", "nan", "∞",
           "1_0", "1.000,5", "1'000", "1 000", "٣", "½", "2½", "0x10", "--1", "1/0", "9" * 60, "0." + "0" * 50 + "1",
           "2.3.4", "3 m 20", "12' 3 1/2", "1,2,3", "1-2", "9" * 5_000, "1e-400", "-1e308", "1/" + "9" * 400]  # fmt: skip
WORDS = ["", " ", "y", "n", "yes", "No", "s", "stood", "in", "out", "?", "x" * 10_000, "[/4]", "[bold]y[/]", "\x1b[2J",
         "\u202e231", "<b>1</b>", "\x00", "\ud800", "é", "NULL", "'; --", "215/60 R17 96H", "\t231\n", "\ufeff231", "😀",
         "{}", "%n", "1\u00a0bar", "2.3\u202fbar", "ẞ", "ſ", "K", "e" + "\u0301" * 300, "\U000e0001", "\n" * 900]  # fmt: skip


def entries(question: Question, chance: random.Random) -> Iterator[str]:
    for _ in range(16):
        yield chance.choice(NUMBERS) + chance.choice(UNITS)
    for _ in range(8):
        yield chance.choice(WORDS)
    good = typed(question, chance)
    yield good
    at = chance.randint(0, len(good))
    yield good[:at] + chance.choice(",./-' \x1b°") + good[at:]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    with little_memory():
        yield demo_shop(tmp_path_factory.mktemp("entries"))


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_question_understands_an_entry_or_says_why_not(folder, sheet, units):
    questions = every_question(folder, sheet)
    chance, tried = random.Random(sheet + units), 0
    for question in questions:
        for text in entries(question, chance):
            tried += 1
            within(lambda q=question, t=text: one_entry(q, t, units))
    assert tried >= 400


def every_question(shop: ShopFolder, sheet: str) -> list[Question]:
    """Those asked along a few ways through the checklist."""
    found: dict[tuple[str, str], Question] = {}
    for seed in range(4):
        job = filled(shop, opened(sheet), seed)
        visit = shop.visit(job)
        for check in (*visit.checklist.walk(), *visit.checklist.close_walk()):
            for side in job.sides if check.per_side else ("",):
                found |= {(check.id, q.key): q for q in ask(visit, check, side, MOMENT)}
    return list(found.values())


def one_entry(question: Question, text: str, units) -> None:
    try:
        value, unit = understood(question, text, units)
    except UnitsError as told:
        said = str(told)
        assert said.isprintable(), ascii((text, said))
        assert 10 < len(said) < 600, (text, said)
        return
    if question.type == "quantity":
        assert isinstance(value, float)
        assert math.isfinite(value)
        assert unit == question.unit
        assert question.low is None or value >= question.low - 1e-9 * abs(question.low), (text, value)
        assert question.high is None or value <= question.high + 1e-9 * abs(question.high), (text, value)
    elif question.type == "choice":
        assert value in [c.value for c in question.choices]
    else:
        assert isinstance(value, str)
        assert value.isprintable()
        assert 0 < len(value) <= MAX_TEXT
    json.dumps(value, allow_nan=False)


# --- in a session, where each answer leads to the next question ----------------------------------


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("sheet", SHEETS)
def test_a_session_keeps_an_answer_or_says_why_not(folder, sheet, seed):
    """Through all steps, those of the close included; what the screen says beside it is made each time too."""
    chance, name = random.Random(f"{sheet} {seed}"), f"E-{sheet}-{seed}"
    journal = Journal.create(
        folder.jobs_folder, job=name, sheet=sheet, bay="bay-2", sides=SHEETS[sheet], by="Odo Brack", at=MOMENT
    )
    clock = Clock(MOMENT, timedelta(seconds=1))
    with journal:
        session = Session(folder, journal, "Odo Brack", clock)
        if seed == 1:
            session.switch_units()
        for step in session.visit.checklist.steps + session.visit.checklist.closing:
            for _ in range(2):  # answers lead to more questions
                for row in session.rows(step, session.verdict()):
                    for text in chance.sample(list(entries(row.question, chance)), 4):
                        entered(session, row, text, chance)
                said_of(session, step)
        kept = journal.job
        within(lambda: judged(session.visit, clock.at))
        within(lambda: on_pages(session.visit, clock.at))
        within(lambda: recorded(session.visit, journal, clock.at))
    again = Journal.open(journal.path, write=False)
    assert again.job == kept
    assert again.warnings == []
    assert kept.readings


def entered(session: Session, row: Row, text: str, chance: random.Random) -> None:
    """One entry, and now and then what else the keys do to an answer."""
    row = as_it_is(session, row)
    before = len(session.journal.entries)
    try:
        within(lambda: session.answer(row, text, chance.choice(("repeat", "repeat", "correct", "fixed"))))
    except (UnitsError, JournalError) as fault:
        told(fault)
        assert len(session.journal.entries) == before, "what is refused leaves nothing behind"
        return
    if not chance.randrange(12):
        session.note(as_it_is(session, row), text)
    if not chance.randrange(20):
        session.undo()


def as_it_is(session: Session, row: Row) -> Row:
    return replace(row, readings=session.visit.readings.get(row.kept_at, ()))


def said_of(session: Session, step) -> None:
    """The lines of the form, and what stands under it."""
    verdict = session.verdict()
    lines = lines_of(session, step, verdict)
    cursor(lines, None)
    for row in session.rows(step, verdict):
        tool, grade, told_by = session.told_of(row)
        pages.prompt(row, tool, grade, told_by, MOMENT.date(), 76)
        pages.sentence(row, session.finding_at(row.check.id, row.side, verdict))
