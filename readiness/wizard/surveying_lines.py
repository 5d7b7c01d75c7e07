"""From the rows of a survey to the lines of its form and the plan beside it. Knows no widget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from readiness.checks.picture import Picture, Spot
from readiness.survey.surveying import BETWEEN, run_keys
from readiness.wizard.form_lines import FormLine
from readiness.wizard.rows import Row
from readiness.wizard.surveying_session import SurveySession


def lines_of(session: SurveySession) -> list[FormLine]:
    """A line a reading, in walking order."""
    return [_line(session, row) for row in session.rows()]


def _line(session: SurveySession, row: Row) -> FormLine:
    mark = ("✓ kept", "quiet") if row.answered else ("", "")
    if row.answered and row.question.key in session.so_far().suspect:
        unsure = row.part is not None and row.part.outcome == "too_close"
        mark = ("≈ again", "close") if unsure else ("✗ again", "fail")
    return FormLine(
        _label(session, row), row, row.part, session.shown(row), session.entry_unit(row), mark=mark,
        unlined=session.surveying.way == "laser",
    )  # fmt: skip


def _label(session: SurveySession, row: Row) -> str:
    """Of a level run also what stands at its end, on its first row and as far as there is room."""
    run = session.run_of(row)
    what = session.place(run[1]).what if run is not None else ""
    first = run is not None and row.question.key == run_keys(run)[0]
    return f"{row.question.label}: {what}" if first and what not in ("", BETWEEN) else row.question.label


def cursor(lines: Sequence[FormLine], row: Row | None) -> int:
    """The line of that row; without one the first that is open, else the first of all."""
    rows = [(k, line.row) for k, line in enumerate(lines) if line.row is not None]
    if row is not None:
        for k, there in rows:
            if there.place == row.place:
                return k
    return next((k for k, there in rows if there.open), rows[0][0] if rows else -1)


def plan_of(session: SurveySession, row: Row | None) -> Picture:
    """The plan as far as it is read; where the cursor stands looks other than what does not fit."""
    found = session.so_far(row)
    wrong = {name for key in found.suspect for name in session.places_about(key)}
    names = set(session.places_of(row)) - wrong if row is not None else set()
    here = {(n.x, n.y) for n in session.surveying.nodes if n.name in names}
    return tuple(
        replace(s, role="here", marked=False) if isinstance(s, Spot) and s.at in here else s
        for s in found.picture
    )
