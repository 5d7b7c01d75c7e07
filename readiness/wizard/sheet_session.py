"""A sheet being written on the screen: its rows, what an entry leads to, what is said of it. Knows no widget."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cache
from pathlib import Path

from readiness import units
from readiness.checklist.model import Check
from readiness.checks.kind import Part, Question
from readiness.checks.picture import Picture
from readiness.job import Reading, System
from readiness.records.drafts import KeptDraft, in_the_way, known_of, write_sheet
from readiness.records.shop import ShopFolder
from readiness.sheetmaking.asked_places import two_sided
from readiness.sheetmaking.asking import Asked, Known, Section
from readiness.sheetmaking.checked import Finished, Looked, Remark, finished, looked_at, remarks_at
from readiness.sheetmaking.draft import Draft
from readiness.sheetmaking.in_file import in_file
from readiness.sheetmaking.plan import plan
from readiness.sheetmaking.questions import answered, open_of, sections
from readiness.sheetmaking.yaml_text import yaml_text
from readiness.wizard.rows import Row

_ENTRY = re.compile(r"(.*\.\d+)\..+")
"""The innermost entry of a list in a key."""
_THING = re.compile(r"(sensors|targets|zones)\.(\d+)\.")
WRONG, DOUBT = "fail", "too_close"


@cache
def _no_check() -> Check:
    """Rows belong to checks; those of a sheet to one that judges nothing."""
    return Check(id="sheet", kind="sheet", title="Sheet", why="", how="", mistakes=(), remedy="")


@dataclass
class SheetSession:
    """Raises units.UnitsError for what was typed, ShopError for the disk."""

    folder: ShopFolder
    kept: KeptDraft
    clock: Callable[[], datetime]
    known: Known
    kept_at: datetime | None = None
    written: Path | None = None
    before: list[Draft] = field(default_factory=list)
    """What the draft was before each deed, for undoing."""
    _worked: tuple[Draft, tuple[Section, ...], Looked] | None = None

    @classmethod
    def of(cls, folder: ShopFolder, kept: KeptDraft, clock: Callable[[], datetime]) -> SheetSession:
        return cls(folder, kept, clock, known_of(folder, clock().date()))

    # --- what is known ---------------------------------------------------------------------------

    @property
    def draft(self) -> Draft:
        return self.kept.draft

    @property
    def system(self) -> System:
        return self.known.system

    @property
    def title(self) -> str:
        return self.draft.get("title") or self.draft.get("car") or "a new sheet"

    @property
    def _found(self) -> tuple[Draft, tuple[Section, ...], Looked]:
        if self._worked is None or self._worked[0] is not self.draft:
            self._worked = (self.draft, sections(self.draft, self.known), looked_at(self.draft, self.known))
        return self._worked

    @property
    def sections(self) -> tuple[Section, ...]:
        return self._found[1]

    @property
    def looked(self) -> Looked:
        return self._found[2]

    def finished(self) -> Finished:
        return finished(self.draft, self.known)

    def remarks(self, section: Section) -> dict[str, list[Remark]]:
        """By question of that section."""
        return remarks_at(self.looked.remarks, section.asked)

    def rows(self, section: Section) -> list[tuple[Asked, Row]]:
        remarks = self.remarks(section)
        return [(a, self._row(a, remarks.get(a.key, []))) for a in section.asked]

    def _row(self, asked: Asked, remarks: list[Remark]) -> Row:
        text, at = self.draft.get(asked.key), self.kept_at or self.clock()
        readings = (Reading(check="sheet", question=asked.key, value=text, at=at, by=""),) if text else ()
        part = None
        if remarks:
            outcome = DOUBT if all(r.doubt for r in remarks) else WRONG
            words = " ".join(r.words for r in remarks)
            part = Part(asked.key, asked.question.label, outcome, words)  # type: ignore[arg-type]
        return Row(_no_check(), "", asked.question, readings, part)

    def shown(self, question: Question) -> str:
        """An answer as it stands in its row; a number in the unit beside it."""
        text = self.draft.get(question.key)
        if question.type == "choice":
            return next((c.label for c in question.choices if c.value == text), text)
        if question.type != "quantity" or not text:
            return text
        unit = self.entry_unit(question)
        if text.endswith(f" {unit}") and unit:
            return text.removesuffix(unit).rstrip()
        try:
            return units.number(units.parse_written(text, question.unit), question.unit, self.system)
        except units.UnitsError:
            return text

    def entry_unit(self, question: Question) -> str:
        return units.entry_unit(question.unit, self.system) if question.type == "quantity" else ""

    def picture(self, key: str = "") -> Picture:
        """The plan so far; what the question of that key is about looks other than the rest."""
        thing = _THING.match(key)
        here = self.draft.get(f"{thing[1]}.{thing[2]}.id") if thing else ""
        return plan(self.looked, self.sides, self.system, here)

    @property
    def sides(self) -> tuple[str, ...]:
        return ("left", "right") if two_sided(self.draft, self.known) else ("left",)

    def mirrored(self, question: Question) -> str:
        """Where that length is on the other side; empty where there is none."""
        step = question.key.rpartition(".")[2]
        if step != "y" or len(self.sides) < 2 or not _THING.match(question.key):
            return ""
        try:
            y = units.parse_written(self.draft.get(question.key), "m")
        except units.UnitsError:
            return "On the right side the same with the other sign."
        return f"Left {units.show(y, 'm', self.system)}, so right {units.show(-y, 'm', self.system)}."

    def first_open(self) -> int:
        """The first section with something to answer, or where nothing was answered yet; past the last one if there is none."""
        found = self.sections
        return next(
            (k for k, s in enumerate(found) if open_of(self.draft, s) or not self.begun(s)), len(found)
        )

    def begun(self, section: Section) -> bool:
        """Whether anything of it is answered, if it asks anything."""
        return not section.asked or any(self.draft.get(a.key) for a in section.asked)

    def entry_of(self, question: Question) -> str:
        """The entry of a list to which a question belongs, if it is there already; else empty."""
        found = _ENTRY.fullmatch(question.key)
        if found is None:
            return ""
        holder, _, number = found[1].rpartition(".")
        return found[1] if int(number) < self.draft.count(holder) else ""

    # --- deeds -----------------------------------------------------------------------------------

    def answer(self, question: Question, typed: str) -> None:
        self._keep(answered(self.draft, self.known, question, typed))

    def take_back(self, question: Question) -> None:
        self._keep(self.draft.drop(question.key))

    def leave_out(self, entry: str) -> None:
        self._keep(self.draft.drop(entry))

    def let_stand(self, remark: Remark) -> None:
        self._keep(self.draft.accept(remark.words))

    def switch_units(self) -> None:
        """What a bare number means from now on, and how numbers are shown; the file keeps each as it was typed."""
        self.known = replace(self.known, system="us" if self.system == "metric" else "metric")
        self._worked = None

    def undo(self) -> bool:
        """Back to before the last deed; whether there was one."""
        if not self.before:
            return False
        self.kept.keep(self.before[-1])
        self.before.pop()
        self.kept_at = self.clock()
        return True

    def _keep(self, draft: Draft) -> None:
        """On the disk first."""
        before = self.draft
        if draft != before:
            self.kept.keep(draft)
            self.before.append(before)
            self.kept_at = self.clock()

    def in_the_way(self) -> Path | None:
        return in_the_way(self.folder, self.draft.get("sheet"))

    def write(self, *, over: bool = False) -> Path:
        """The sheet's file, read back and found the same; the draft is then taken away."""
        self.written = write_sheet(self.folder, yaml_text(in_file(self.draft)), over=over)
        self.kept.done()
        return self.written
