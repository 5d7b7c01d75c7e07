"""What one line of a form holds, and how its width is shared out. Plain data, no widget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.cells import cell_len

if TYPE_CHECKING:
    from readiness.checks.kind import Part
    from readiness.wizard.rows import Row

ENTRY_WIDTH = 9
UNIT_WIDTH, LONG_UNIT_WIDTH = 6, 8
OUTCOME_WIDTH = 12


@dataclass(frozen=True, slots=True)
class FormLine:
    """One line of the form: a heading, a row to answer, or a result that follows from the rows."""

    label: str
    row: Row | None = None
    part: Part | None = None
    shown: str = ""
    unit: str = ""
    offered: str = ""
    """What Enter alone would keep."""
    remark: bool = False
    """Words alone, less than a heading."""
    mark: tuple[str, str] = ("", "")
    """Words in place of the outcome, and the look they have (a key of OUTCOME_LOOK's values)."""
    unlined: bool = False
    """There is no number line: its room goes to the label."""

    @property
    def short_unit(self) -> str:
        """The unit as it stands in its column: 'in/10ft' for 'in per 10 ft'."""
        return self.unit.replace(" per ", "/").replace(" ", "")

    @property
    def words_alone(self) -> bool:
        return self.row is None and self.part is None

    @property
    def numeric(self) -> bool:
        if self.row is not None:
            return self.row.question.type == "quantity"
        return self.part is not None and isinstance(self.part.value, float)


@dataclass(frozen=True, slots=True)
class Columns:
    """How the width is shared out."""

    label: int
    line: int
    unit: int = UNIT_WIDTH

    @classmethod
    def of(cls, width: int, lines: Sequence[FormLine] = ()) -> Columns:
        long = any(cell_len(line.short_unit) >= UNIT_WIDTH for line in lines)
        unit = LONG_UNIT_WIDTH if long else UNIT_WIDTH
        free = max(0, width - 2 - ENTRY_WIDTH - unit - OUTCOME_WIDTH)
        label = min(34, max(22 + UNIT_WIDTH - unit, free - 12))
        return cls(label, max(0, min(32, free - label - 1)), unit)

    def label_of(self, line: FormLine) -> int:
        """Words need no number line: a long label may take its room, and the answer the rest."""
        if line.unlined and line.numeric:
            return self.label + self.line
        needed = self.label if line.numeric else cell_len(line.label) + 1
        return min(max(self.label, needed), self.label + ENTRY_WIDTH)

    def entry_of(self, line: FormLine) -> int:
        """Cells of the answer of a line."""
        if line.numeric:
            return ENTRY_WIDTH
        return self.label + ENTRY_WIDTH + self.unit + self.line - self.label_of(line)
