"""What the pages of a sheet being written say: lines of the form, words under it, the page before it is written."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from readiness.checks.words import capital
from readiness.report.text import clean
from readiness.sheetmaking.asking import Section
from readiness.sheetmaking.checked import Finished, Remark
from readiness.sheetmaking.questions import open_of
from readiness.wizard.form_lines import FormLine
from readiness.wizard.looks import GLYPHS, STYLES
from readiness.wizard.pages import Piece, choices_said, clock
from readiness.wizard.rail import Rail, rail_line
from readiness.wizard.rows import Row
from readiness.wizard.sheet_session import DOUBT, SheetSession

LAST = "Write"
KEYS = (
    "Enter keeps the answer, or passes what may be left out · arrows go up and down · PgUp and PgDn change the part\n"
    "F5 clear an answer · F8 metric or US units · F6 let a doubt stand · F7 leave out a whole foot, corner, target, zone … · Ctrl+Z undo\n"
    "Ctrl+L the plan over the whole screen · F10 what is still to do, and write · Esc back · Ctrl+Q leave, nothing is lost\n"
)
MARKS = {"fail": (f"{GLYPHS['fail']} wrong", "fail"), DOUBT: (f"{GLYPHS['too_close']} unusual", "close")}


def lines_of(session: SheetSession, section: Section) -> list[FormLine]:
    lines: list[FormLine] = []
    for asked, row in session.rows(section):
        question = asked.question
        if asked.heading:
            lines += (
                [FormLine(""), FormLine(clean(asked.heading))] if lines else [FormLine(clean(asked.heading))]
            )
        unit = session.entry_unit(question)
        offered = (
            (question.default or asked.stands).removesuffix(unit).rstrip()
            if unit
            else question.default or asked.stands
        )
        mark = MARKS[row.part.outcome] if row.part else ("", "")
        lines.append(
            FormLine(
                question.label,
                row,
                None,
                clean(session.shown(question)),
                unit,
                clean(offered),
                mark=mark,
                unlined=True,
            )
        )
    return lines


def cursor(lines: Sequence[FormLine], key: str = "", *, last: bool = False) -> int:
    """The line of that question; else the first that needs an answer, or comes after all that are answered."""
    rows = [(k, line.row) for k, line in enumerate(lines) if line.row is not None]
    if last and rows:
        return rows[-1][0]
    found = [k for k, row in rows if row.question.key == key]
    answered = max((k for k, row in rows if row.answered), default=-1)
    if answered >= 0:
        found += [k for k, row in rows if row.open]
    found += [k for k, _ in rows if k > answered]
    return (found or [k for k, _ in rows] or [-1])[0]


class SheetRail(Rail):
    """One line a section: how much is open, whether something is wrong."""

    def show_sections(self, session: SheetSession, at: int) -> None:
        lines = []
        for k, section in enumerate(session.sections):
            lines.append(rail_line(section.title, *_progress(session, section), here=k == at))
        mark = (GLYPHS["pass"], "$text-success") if session.written else ("", "")
        lines.append(rail_line(LAST, *mark, here=at >= len(session.sections)))
        self.show(Content.assemble(*lines))


def _progress(session: SheetSession, section: Section) -> tuple[str, str]:
    remarks = [r for found in session.remarks(section).values() for r in found]
    missing = len(open_of(session.draft, section))
    count = str(missing) if missing else ""
    if any(not r.doubt for r in remarks):
        return f"{count} {GLYPHS['fail']}".strip(), "$text-error"
    if remarks:
        return f"{count} {GLYPHS['too_close']}".strip(), "$text-warning"
    if missing:
        return count, "$text-muted"
    begun = section.asked and session.begun(section)
    return (GLYPHS["pass"], "$text-success") if begun else ("·", "$text-muted")


def header(session: SheetSession, width: int) -> str:
    end = f"  kept {clock(session.kept_at)} " if session.kept_at else "  "
    return set_cell_size(f" Writing {clean(session.title)}", max(0, width - cell_len(end))) + end


def title(session: SheetSession, section: Section) -> str:
    """With what is to be known of all its questions."""
    if section.id == "limits":
        return f"{section.title} · PgDn passes all that are left"
    if section.id in ("sensors", "targets", "zones") and len(session.sides) > 1:
        return f"{section.title} · the left side; the right is its mirror image"
    return section.title


def prompt(session: SheetSession, row: Row | None, width: int) -> Content:
    """How to answer, and where that is on the other side."""
    if row is None:
        return Content("")
    question = row.question
    pieces: list[Piece] = [(f"{capital(question.hint)}\n" if question.hint else "", "$text-muted")]
    pieces += choices_said(question.choices, width)
    if question.default and not row.answered:
        pieces.append((f"Enter takes {clean(question.default)}.  ", "$text-muted"))
    text = session.draft.get(question.key)
    unit = session.entry_unit(question)
    if unit and text and not text.endswith(f" {unit}"):
        pieces.append((f"In the file: {clean(text)}.  ", "$text-muted"))
    pieces.append((session.mirrored(question), "$text-muted"))
    return Content.assemble(*pieces)


def sentence(
    session: SheetSession, row: Row | None, remarks: Sequence[Remark], news: Sequence[Remark]
) -> Content:
    """What is wrong with this answer; else what the last one brought about elsewhere."""
    if row is not None and row.part is not None:
        stand = " F6 lets it stand, if it is meant." if any(r.doubt for r in remarks) else ""
        return Content.styled(clean(f"{row.part.reason}{stand}"), STYLES[row.part.outcome])
    told = [*news, *(r for r in session.looked.remarks if not r.key)]
    look = STYLES["too_close" if all(r.doubt for r in told) else "fail"]
    return Content.styled(" ".join(placed(session, r) for r in told), look)


def help_page(section: Section | None, row: Row | None) -> Content:
    pieces: list[Piece] = []
    if section is not None:
        pieces.append((f"{section.about}\n", ""))
    if row is not None and row.question.hint:
        pieces.append((f"\n{row.question.label.strip()}: {row.question.hint}.\n", "italic"))
    pieces += [("\nThe maker's procedure comes first. Nothing here replaces it; the sheet only says what it says.\n", ""),
               ("\nKeys\n", "bold"), (KEYS, "")]  # fmt: skip
    return Content.assemble(*pieces)


# --- the page before it is written ---------------------------------------------------------------


def last_page(session: SheetSession, found: Finished) -> Content:
    """What is still to do, or what will stand in the file."""
    if session.written is not None:
        return Content.assemble(
            (f"{GLYPHS['pass']} Written to {clean(str(session.written))}, read back and found the same.\n\n", "$text-success"),
            ("Now compare it with the document once more, line by line; where you can, let somebody else do it.\n", ""),
            (f"readiness layout {session.draft.get('sheet')} prints the tapes to its targets.\n\n", ""),
            (clean_lines(found.text), "$text-muted"),
        )  # fmt: skip
    pieces: list[Piece] = []
    for section, asked in found.open:
        names = ", ".join(a.question.label.strip() for a in asked[:6]) + (" …" if len(asked) > 6 else "")
        pieces.append((f"Still to answer in {section.title}: {names}.\n", STYLES["not_done"]))
    pieces += [(f"{GLYPHS['fail']} {placed(session, r)}\n", STYLES["fail"]) for r in found.wrong]
    pieces += [(f"{GLYPHS['too_close']} {placed(session, r)}\n", STYLES["too_close"]) for r in found.doubts]
    if found.sound:
        said = (
            "Nothing is missing."
            if not found.doubts
            else "Nothing is missing; the doubts above are asked about first."
        )
        pieces.append((f"{said} Enter writes this:\n\n", "bold"))
        pieces.append((clean_lines(found.text), ""))
    return Content.assemble(*pieces)


def placed(session: SheetSession, remark: Remark) -> str:
    """A remark with the name of what it is about before it."""
    for section in session.sections:
        for asked in section.asked:
            if asked.key == remark.key or asked.key.startswith(f"{remark.key}."):
                called = session.draft.get(f"{remark.key}.id")
                return clean(f"{section.title}, {called or asked.question.label.strip()}: {remark.words}")
    return clean(remark.words)


def clean_lines(text: str) -> str:
    return "".join(f"{' ' * (len(line) - len(line.lstrip()))}{clean(line)}\n" for line in text.splitlines())
