"""What the pages of a survey say, as content: head, lines under the form, help, result."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from readiness.checks.words import capital
from readiness.job import Outcome
from readiness.wizard.help_page import worked_out
from readiness.wizard.looks import GLYPHS, STYLES
from readiness.wizard.pages import Piece, clock, tool_line
from readiness.wizard.rows import Row
from readiness.wizard.surveying_words import way_words

if TYPE_CHECKING:
    from readiness.wizard.surveying_session import SurveySession

KEYS = (
    "Enter keeps the reading · arrows, PgUp and PgDn go up and down\n"
    "F2 note · F4 instrument · F5 take back the reading · F6 begin anew · F7 leave a place out · F8 metric or US units\n"
    "Ctrl+N a new place · Ctrl+L the plan · Ctrl+Z undo · F10 the result so far · Esc leave, nothing is lost\n"
)


def header(session: SurveySession, width: int) -> str:
    """One line: which bay; at its right end when the last reading was kept."""
    end = f"  kept {clock(session.kept_at)} " if session.kept_at else f"  {session.person} "
    room = max(0, width - 1 - cell_len(end))
    return set_cell_size(f" Survey of {session.title}", room) + end


def title(session: SurveySession) -> str:
    """How far it is, and by which way."""
    return f"{session.progress} · {way_words(session.surveying, session.system)}"


def prompt(session: SurveySession, row: Row | None) -> Content:
    """Where to read, and with what."""
    if row is None:
        return Content("")
    tool, today = session.tool(row), session.clock().date()
    known = f"with {tool_line(tool, today)}" if tool else "the shop has no instrument for it"
    late = tool is None or tool.due < today
    notes = "; ".join(r.note for r in row.readings if r.note)
    return Content.assemble(
        (f"{capital(row.question.hint)}\n{session.ends_in_words(row)}", "$text-muted"),
        (known, "bold $text-warning" if late else "$text-muted"),
        (f"  note: {notes}" if notes else "", "$text-muted"),
    )


def sentence(session: SurveySession, row: Row | None) -> Content:
    """What does not fit; else what this reading says, or on an open row how the floor lies so far."""
    found = session.so_far()
    if row is not None and row.answered and row.part is not None and (row.failing or not found.problems):
        said = _with_key(session, row.part.reason)
        return Content.styled(said, STYLES[row.part.outcome] if row.failing else "")
    if found.problems:
        return Content.styled(_with_key(session, found.problems[0]), STYLES["fail"])
    if found.doubts:
        return Content.styled(found.doubts[0], STYLES["too_close"])
    return Content(session.tilt or found.sentence)


def _with_key(session: SurveySession, said: str) -> str:
    """A sentence that asks for all places once more, with the key that begins anew."""
    return f"{said} F6 begins anew." if said.endswith("read all places again.") else said


def result_page(session: SurveySession, width: int) -> Content:
    """May it be kept, what is the floor like, what stands in the way."""
    return Content.assemble(*_answer(session, width), *_floor(session, width))


def _answer(session: SurveySession, width: int) -> list[Piece]:
    found, not_counting = session.so_far(), session.not_counting
    if session.kept is not None and not_counting:
        text = f"{GLYPHS['too_close']} Kept in {session.kept.name}, but it does not count. {not_counting}"
        return [(f"{wrapped(text, width, '')}\n", STYLES["too_close"])]
    if session.kept is not None:
        return [
            (f"{GLYPHS['pass']} Kept", STYLES["pass"]),
            (f" in {session.kept.name}: it counts for every job in this bay from now on.\n", ""),
        ]
    doubts: list[Piece] = [(f"{wrapped(s, width, '  ')}\n", STYLES["too_close"]) for s in found.doubts]
    if not session.refusal:
        if not_counting:
            doubts.insert(
                0, (f"{wrapped(f'It will not count. {not_counting}', width, '  ')}\n", STYLES["fail"])
            )
        word = "Look again" if found.doubts else "Sound"
        look: Outcome = "too_close" if found.doubts else "pass"
        return [(f"{GLYPHS[look]} {word}", STYLES[look]), (": Enter keeps it.\n", ""), *doubts]
    pieces: list[Piece] = [(f"{GLYPHS['fail']} Not to be kept yet\n", STYLES["fail"])]
    said = dict.fromkeys((*found.problems, found.why_not))
    return [*pieces, *((f"{wrapped(s, width, '  ')}\n", "") for s in said if s), *doubts]


def _floor(session: SurveySession, width: int) -> list[Piece]:
    """The answer, then per sheet what matters under its car and targets."""
    pieces: list[Piece] = []
    for line in session.result():
        indent = line[: len(line) - len(line.lstrip())]
        text = f"{wrapped(line.strip(), width, indent)}\n"
        pieces += [("\n", ""), (text, "bold")] if line.endswith(":") else [(text, "")]
    return [("\n", ""), *pieces] if pieces else []


def help_page(session: SurveySession, row: Row | None) -> Content:
    """Why and how to read; on the result page only how it was worked out."""
    check = session.check
    if row is None:
        return Content.assemble(
            *(worked_out(session.so_far().details) or [("Nothing is worked out yet.", "")])
        )
    pieces: list[Piece] = [("Why\n", "bold"), (f"{check.why.strip()}\n", "")]
    pieces += [("\nHow\n", "bold"), (f"{check.how.strip()}\n", "")]
    if row.question.hint:
        pieces.append((f"{row.question.label}: {row.question.hint}.\n", "italic"))
    pieces += [("\nUsual mistakes\n", "bold"), *((f"• {m.strip()}\n", "") for m in check.mistakes)]
    pieces += [("\nWhen it does not fit\n", "bold"), (f"{check.remedy.strip()}\n", "")]
    pieces += worked_out(session.so_far().details)
    pieces += [("\nCaution\n", "bold")] * bool(check.cautions)
    pieces += [(f"{c.strip()}\n", "") for c in check.cautions]
    return Content.assemble(*pieces, ("\nKeys\n", "bold"), (KEYS, ""))


def wrapped(text: str, width: int, indent: str) -> str:
    return "\n".join(textwrap.wrap(text, max(30, width), initial_indent=indent, subsequent_indent=indent))
