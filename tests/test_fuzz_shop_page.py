"""Damaged files in a shop: its page is shown all the same, or says in a sentence that there is no shop to show."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import pytest

from readiness.records.index import JobIndex
from readiness.records.overview.gather import shop_page
from readiness.records.shop import SHOP_FILE, ShopError, ShopFolder
from readiness.report.html_shop import html_page
from readiness.report.shop_data import as_dict
from readiness.report.shop_text import page_text
from tests.forged import fields_of, forged
from tests.mutants import damaged, slipped
from tests.shop import MOMENT, demo_shop

pytestmark = pytest.mark.slow
ROUNDS, EACH = 6, 6
KEPT = ("HB-0421", "HB-0422", "HB-0415")
"""Read by level, ended, and a no-go; of two sheets and three bays."""


@pytest.fixture(scope="module")
def bench(tmp_path_factory) -> Path:
    folder = demo_shop(tmp_path_factory.mktemp("fuzz-shop"))
    for path in folder.jobs_folder.iterdir():
        if path.stem not in KEPT:
            path.unlink()
    for name in ("dunlin-surround", "godwit-camera"):
        (folder.path / "sheets" / f"{name}.yaml").unlink()
    return folder.path


@pytest.mark.parametrize("nth", range(ROUNDS))
def test_its_page_is_shown_whatever_was_damaged(bench, tmp_path, nth):
    chance = random.Random(nth)
    for k in range(EACH):
        shop = tmp_path / f"shop-{k}"
        shutil.copytree(bench, shop)
        changed = chance.sample(sorted(_files(shop)), chance.choice((1, 1, 2, 3)))
        for path in changed:
            _damage(path, chance)
        try:
            page = shop_page(ShopFolder(shop), MOMENT, index=JobIndex(ShopFolder(shop), tmp_path / "cache"))
        except ShopError:
            assert shop / SHOP_FILE in changed
            continue
        assert page_text(page, 80)
        assert html_page(page)
        assert json.dumps(as_dict(page), allow_nan=False)


def _files(shop: Path) -> list[Path]:
    return [p for ending in ("*.yaml", "*.jsonl") for p in shop.rglob(ending) if "answers" not in p.parts]


def _damage(path: Path, chance: random.Random) -> None:
    if path.suffix == ".jsonl":
        path.write_bytes(forged(fields_of(path.read_bytes()), chance))
        return
    text = path.read_text(encoding="utf-8")
    path.write_text(
        chance.choice((damaged, slipped))(text, chance), encoding="utf-8", errors="surrogatepass", newline=""
    )
