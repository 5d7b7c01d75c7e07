"""From the rows of a step to the lines of its form, and where the cursor goes. Knows no widget."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import groupby

from readiness.checklist.describe import limits_in_words
from readiness.checklist.model import Step
from readiness.checklist.results import results_in_words
from readiness.checks.finding import Finding
from readiness.verdict import Verdict
from readiness.wizard.form_lines import FormLine
from readiness.wizard.looks import said
from readiness.wizard.rows import Row
from readiness.wizard.session import Session

MOST_PASSED = 8
"""Results of one check that are shown although they pass; the rest is counted."""

Place = tuple[str, str, str]


def lines_of(session: Session, step: Step, verdict: Verdict) -> list[FormLine]:
    """Under each check's rows the results that follow from them; headings where checks are several."""
    rows = session.rows(step, verdict)
    blocks = {key: list(mine) for key, mine in groupby(rows, lambda r: (r.check.id, r.side))}
    places = session.places(step)
    lines: list[FormLine] = []
    for check_id, side in places:
        finding = session.finding_at(check_id, side, verdict)
        if len(places) > 1:
            told = f"{finding.title}, {side}" if side not in ("", "single") else finding.title
            lines.append(FormLine(told))
        mine = blocks.get((check_id, side), [])
        lines += [_line(session, row, finding) for row in mine]
        lines += _results(session, mine, finding)
        if any(row.question.about_limits for row in mine):
            lines += _all_limits(session)
    return lines


def _line(session: Session, row: Row, finding: Finding) -> FormLine:
    """A row; where its check is set aside, that, whatever was answered before."""
    unit = session.entry_unit(row.question)
    offered = row.question.default.removesuffix(unit).rstrip()  # the unit has a column of its own
    aside = finding.outcome == "waived" and not row.question.shared
    mark = (said("waived"), "quiet") if aside else ("", "")
    return FormLine(row.question.label, row, row.part, session.shown(row), unit, offered, mark=mark)


def _results(session: Session, rows: list[Row], finding: Finding) -> list[FormLine]:
    beside = {row.part.key for row in rows if row.part is not None and row.shows_part}
    parts = [p for p in finding.parts if p.key not in beside and p.outcome not in ("not_done", "lapsed")]
    wrong = [p for p in parts if p.outcome != "pass"]
    passed = [p for p in parts if p.outcome == "pass"]
    names = Counter(p.label.partition(", ")[0] for p in parts)
    lines = [
        FormLine(_told_apart(p.label.rstrip(","), names), None, p, *session.shown_part(p))
        for p in (*wrong, *passed[:MOST_PASSED])
    ]
    left = len(passed) - MOST_PASSED
    return [*lines, FormLine(f"  and {left} more that pass")] if left > 0 else lines


def _told_apart(label: str, names: Counter[str]) -> str:
    """A label may end at its comma where there is no room, but not where only what follows tells it from others."""
    return label.replace(", ", " · ", 1) if names[label.partition(", ")[0]] > 1 else label


def _all_limits(session: Session) -> list[FormLine]:
    """Every limit of the checklist, and the results that the sheet asks for, where the person gives a word that they are the document's."""
    visit = session.visit
    by_title = [(c.title, limits_in_words(c, visit.shop.units)) for c in visit.checklist.walk()]
    by_title.append(("Result", results_in_words(visit.sheet, visit.shop.units)))
    lines = [FormLine("")]
    for title, rows in by_title:
        lines += [FormLine(title)] * bool(rows)
        lines += [FormLine(f"  {words}", remark=True) for words, _ in rows]
    return lines


def cursor(lines: Sequence[FormLine], place: Place | None, *, from_below: bool = False) -> int:
    """The line of `place`; without one the first that needs an answer or a look, else the first row."""
    rows = [(k, line.row) for k, line in enumerate(lines) if line.row is not None]
    if place is not None:
        for k, row in rows:
            if row.place == place:
                return k
    if from_below and rows:
        return rows[-1][0]
    for k, row in rows:
        if row.open:
            return k
    for k, row in rows:
        if row.failing:
            return k
    return rows[0][0] if rows else -1
