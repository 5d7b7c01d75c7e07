"""A level read in divisions of its vial, at the wizard's session and in a file of answers."""

from __future__ import annotations

from pathlib import Path

import pytest

from readiness.checklist.mistakes import FileMistakes
from readiness.records.answers import read_answers
from readiness.records.shop import ShopFolder
from readiness.units import UnitsError
from readiness.wizard.rows import Row
from readiness.wizard.session import Session
from tests.shop import MOMENT, Clock, demo_shop

VIALS = """\
  - {id: vial-1, title: Frame level, measures: slope, accuracy: 0.1 mm/m, resolution: 0.1 mm/m, due: 2027-06-30, division: 0.3 mm/m}
  - {id: vial-2, title: Fine level, measures: slope, accuracy: 0.05 mm/m, resolution: 0.05 mm/m, due: 2027-06-30, division: 20 arcsec}
"""


@pytest.fixture
def folder(tmp_path: Path) -> ShopFolder:
    shop = demo_shop(tmp_path)
    tools = shop.path / "instruments.yaml"
    tools.write_text(tools.read_text(encoding="utf-8") + VIALS, encoding="utf-8", newline="\n")
    return ShopFolder(shop.path)


@pytest.fixture
def session(folder: ShopFolder) -> Session:
    from readiness.records.journal import Journal

    journal = Journal.create(
        folder.path / "jobs",
        job="vial",
        sheet="tern-rear-corner",
        bay="bay-2",
        sides=("left",),
        by="A. Test",
        at=MOMENT,
    )
    return Session(folder, journal, "A. Test", Clock())


def row(session: Session, key: str) -> Row:
    step = next(s for s in session.steps if "floor" in s.checks)
    return next(r for r in session.rows(step, session.verdict()) if r.question.key == key)


def run_key(session: Session) -> str:
    session.answer(row(session, "source"), "level")
    step = next(s for s in session.steps if "floor" in s.checks)
    return next(
        r.question.key for r in session.rows(step, session.verdict()) if r.question.measures == "slope"
    )


def test_divisions_are_kept_as_the_slope_of_the_chosen_level(session: Session) -> None:
    key = run_key(session)
    session.pick(row(session, key), "vial-1")
    kept = session.answer(row(session, key), "2.5 div")
    assert (kept.value, kept.unit, kept.text, kept.instrument) == (0.75, "mm/m", "2.5 div", "vial-1")
    assert session.shown(row(session, key)) == "0.75"


def test_another_level_s_division_is_another_slope(session: Session) -> None:
    key = run_key(session)
    session.pick(row(session, key), "vial-1")
    session.answer(row(session, key), "2.5 div")
    session.pick(row(session, key), "vial-2")
    session.retell(row(session, key))
    (reading,) = row(session, key).readings
    assert reading.instrument == "vial-2"
    # 20 arc seconds are 0.097 mm/m: vial row of check-values, 0.1 mm/m for 20.626 arc seconds
    assert reading.value == pytest.approx(2.5 * 0.1 * 20 / 20.626, rel=1e-4)


def test_a_level_without_a_vial_takes_no_divisions_and_loses_none(session: Session) -> None:
    key = run_key(session)
    session.pick(row(session, key), "level-1")
    with pytest.raises(UnitsError, match=r"write what one division stands for in instruments\.yaml"):
        session.answer(row(session, key), "2.5 div")
    assert not row(session, key).answered
    session.pick(row(session, key), "vial-1")
    session.answer(row(session, key), "2.5 div")
    session.pick(row(session, key), "level-1")
    with pytest.raises(UnitsError, match="sensitivity"):
        session.retell(row(session, key))
    assert [(r.value, r.instrument) for r in row(session, key).readings] == [(0.75, "vial-1")]


ANSWERS = """\
answers: by-hand
sheet: tern-rear-corner
bay: bay-2
sides: [left]
by: A. Test
at: 2026-11-25 10:00+00:00
instruments: {{slope: {tool}}}
checks:
  floor:
    source: level
    {key}: 2.5 div
"""


@pytest.mark.parametrize("tool", ["vial-1", "level-1"])
def test_a_file_of_answers_takes_divisions_of_its_level(
    folder: ShopFolder, session: Session, tool: str
) -> None:
    path = folder.path / "by-hand.yaml"
    path.write_text(ANSWERS.format(tool=tool, key=run_key(session)), encoding="utf-8", newline="\n")
    if tool == "vial-1":
        assert [r.value for r in read_answers(path, folder).readings if r.unit] == [0.75]
        return
    with pytest.raises(FileMistakes, match=r"sensitivity of the level's vial"):
        read_answers(path, folder)


def test_evidence_told_anew_leaves_the_slope_as_it_was(session: Session) -> None:
    key = run_key(session)
    session.pick(row(session, key), "vial-1")
    session.answer(row(session, key), "-1 1/2 div")
    session.grade(row(session, key), "told", "B. Wren")
    session.retell(row(session, key))
    (reading,) = row(session, key).readings
    assert reading.value == pytest.approx(-0.45)
