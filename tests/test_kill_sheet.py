"""What a sheet being written showed as kept survives a kill at any moment."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from readiness.checklist.files import read_sheet
from readiness.records.drafts import drafts, new_draft, open_draft
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopFolder
from readiness.sheetmaking.draft import Draft
from readiness.wizard.sheet_session import SheetSession
from tests.killing import Killer, show
from tests.sheetmaking.writing import SHEETS, answers_of, next_asked
from tests.shop import Clock, demo_shop
from tests.test_kill import FORK

pytestmark = pytest.mark.slow

KILLS = 20


def session_of(shop: str) -> SheetSession:
    folder = ShopFolder(Path(shop))
    there = drafts(folder)
    kept = open_draft(there[0].path) if there else new_draft(folder)
    return SheetSession.of(folder, kept, Clock())


def writing(shop: str, seed: int) -> None:
    """The program that is killed: does what the screen does, shows an answer when it counts as kept."""
    chance, session = random.Random(seed), session_of(shop)
    wanted = answers_of(SHEETS[seed % len(SHEETS)])
    while True:
        asked = next_asked(session.draft, wanted, session.known)
        if asked is None:
            session.kept.keep(Draft())
            show(["", ""])
            continue
        session.answer(asked.question, wanted.get(asked.key))
        show([asked.key, session.draft.get(asked.key)])
        if chance.random() < 0.1:
            session.undo()
            show([asked.key, ""])


def warm(shop: str) -> None:
    session_of(shop)


@FORK
def test_answers_survive_kills(tmp_path):
    shop, chance = demo_shop(tmp_path), random.Random(6)
    held: dict[str, str] = {}
    with Killer(writing, warm, str(shop.path)) as killer:
        for seed in range(KILLS):
            for key, text in killer.kill(
                str(shop.path), seed // 4, lines=chance.randrange(1, 12), and_then=chance.uniform(0, 0.03)
            ):
                held = {**held, key: text} if key else {}
            draft = open_draft(drafts(shop)[0].path).draft
            lost = {k: t for k, t in held.items() if t and draft.get(k) not in (t, "")}
            assert not lost
            missing = [k for k, t in held.items() if t and not draft.get(k)]
            assert len(missing) <= 1, "at most the one that was being undone when it was killed"
            held = {k: draft.get(k) for k in held}
    assert [p.suffix for p in (shop.path / "drafts").iterdir() if not p.name.startswith(".")] == [".json"]
    assert mistakes_in([shop.path]) == []
    assert all(read_sheet(path) for path in SHEETS)
