"""Types through the wizard as a technician would: looks at the question, types its answer, counts keys."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from textual.app import App
from textual.pilot import Pilot
from textual.screen import ModalScreen

from readiness.wizard.app import ReadinessApp
from readiness.wizard.bay_screen import BayScreen
from readiness.wizard.dialogs import Ask, Pick
from readiness.wizard.form import Form
from readiness.wizard.rows import Row
from readiness.wizard.walk import Walk

NAMES = {" ": "space", ".": "full_stop", ",": "comma", "-": "minus", "/": "slash", "°": "°"}

Place = tuple[str, str, str]
"""Check, side, question."""


def calm(app: App[object]) -> None:
    """No blinking, so that two looks at the same state are equal."""
    for entry in app.screen.query("Input"):
        entry.cursor_blink = False  # type: ignore[attr-defined]


LONGEST = 30.0
"""Seconds for which anything is waited for before the test fails."""


async def settled(app: ReadinessApp, pilot: Pilot[None]) -> None:
    """All workers done, all messages handled. An open dialog's worker is never done: close it first."""
    await asyncio.wait_for(app.workers.wait_for_complete(), LONGEST)
    await pilot.pause()
    await pilot.pause()


async def until(pilot: Pilot[None], condition: Callable[[], bool]) -> None:
    """Wait for a state, not for a time."""
    for _ in range(int(LONGEST / 0.02)):
        if condition():
            await pilot.pause()
            return
        await pilot.pause(0.02)
    raise AssertionError("what was waited for did not come")


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

    async def dialog(self, kind: type[ModalScreen[Any]] = ModalScreen) -> None:
        """Wait for a dialog of that kind to stand."""
        await until(self.pilot, lambda: isinstance(self.app.screen, kind))

    async def ask(self, key: str, kind: type[ModalScreen[Any]] = ModalScreen) -> None:
        """Press a key that opens a dialog, and wait for it."""
        before = self.app.screen
        await self.press(key)
        await until(self.pilot, lambda: self.app.screen is not before and isinstance(self.app.screen, kind))

    async def to_bays(self, *keys: str) -> BayScreen:
        """Press keys that lead to the list of bays, and wait for it."""
        await self.press(*keys)
        await until(self.pilot, lambda: isinstance(self.app.screen, BayScreen))
        screen = self.app.screen
        assert isinstance(screen, BayScreen)
        return screen

    async def take_bay(self, name: str, place: str = "own") -> None:
        """Take a bay once it was looked at; where both places serve, the one named."""
        screen = self.app.screen
        assert isinstance(screen, BayScreen)
        await until(self.pilot, lambda: screen.search.looked[name].there is not None or screen.search.done)
        await self.press(screen.keys_of[name])
        if screen.search.looked[name].choice == "ask":
            await self.dialog(Pick)
            await self.press("m" if place == "own" else "w")
        await until(self.pilot, lambda: self.app.screen is not screen)

    async def begin(self, sheet: int, side: str, bay: str) -> None:
        """A new job from the list of jobs, with the number that is offered: sheet by its place in the list, side by key."""
        await self.ask("n")
        await self.ask(str(sheet))
        await self.to_bays(side)
        await self.take_bay(bay)
        await self.dialog(Ask)
        await self.press("enter")
        await settled(self.app, self.pilot)

    @property
    def walk(self) -> Walk:
        screen = self.app.screen
        assert isinstance(screen, Walk), screen
        return screen

    @property
    def row(self) -> Row | None:
        return self.walk.row

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
