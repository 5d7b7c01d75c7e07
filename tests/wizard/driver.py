"""Types through the wizard as a technician would: looks at the question, types its answer, counts keys."""

from __future__ import annotations

from dataclasses import dataclass, field

from textual.app import App
from textual.pilot import Pilot

from readiness.wizard.app import ReadinessApp
from readiness.wizard.form import Form
from readiness.wizard.session import Row
from readiness.wizard.walk import Walk

NAMES = {" ": "space", ".": "full_stop", ",": "comma", "-": "minus", "/": "slash", "°": "°"}

Place = tuple[str, str, str]
"""Check, side, question."""


def calm(app: App[object]) -> None:
    """No blinking, so that two looks at the same state are equal."""
    for entry in app.screen.query("Input"):
        entry.cursor_blink = False  # type: ignore[attr-defined]


async def settled(app: ReadinessApp, pilot: Pilot[None]) -> None:
    """All workers done, all messages handled."""
    await app.workers.wait_for_complete()
    await pilot.pause()
    await pilot.pause()


@dataclass
class Technician:
    """One person at the keyboard; `keys` counts every key pressed."""

    app: ReadinessApp
    pilot: Pilot[None]
    answers: dict[Place, str]
    keys: int = 0
    typed: dict[Place, str] = field(default_factory=dict)

    async def press(self, *keys: str) -> None:
        self.keys += len(keys)
        await self.pilot.press(*keys)
        await self.pilot.pause()

    @property
    def walk(self) -> Walk:
        screen = self.app.screen
        assert isinstance(screen, Walk), screen
        return screen

    @property
    def row(self) -> Row | None:
        return None if self.walk.on_verdict_page else self.walk.query_one(Form).row

    async def go_to(self, step: str, question: str = "") -> None:
        """To the step of that id, the cursor on that question."""
        walk = self.walk
        walk._enter(next(k for k, s in enumerate(walk.session.steps) if s.id == step))
        await self.pilot.pause()
        form = walk.query_one(Form)
        while question and form.row is not None and form.row.question.key != question:
            form.move(1)
            await self.pilot.pause()

    async def answer_all(self) -> None:
        """Answer whatever stands under the cursor until the go / no-go page comes."""
        for _ in range(200):
            row = self.row
            if row is None:
                return
            await self.answer(row)
        raise AssertionError("the wizard does not come to an end")

    async def answer(self, row: Row) -> None:
        place = ("shared", "", row.question.key) if row.question.shared else row.place
        text = self.answers.get(place, "")
        if row.answered or not text or text == row.question.default:
            assert row.answered or text or row.question.optional, f"nothing to answer {place} with"
            await self.press("enter")
        elif row.question.type == "choice":
            choice = next(c for c in row.question.choices if text in (c.key, c.value, c.label))
            await self.press(choice.key)
        else:
            await self.press(*(NAMES.get(c, c) for c in text), "enter")
        self.typed[place] = text
