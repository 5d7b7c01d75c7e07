"""Draws the README's picture of the report anew: python tests/paper_picture.py [FOLDER]

Both pages of a demo job side by side, as Chromium shows them.
"""

from __future__ import annotations

import sys
import tempfile
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from readiness.records.account import account
from readiness.records.dossier import dossier
from readiness.records.shop import ShopFolder
from readiness.report.html import html_page
from tests.browser import Browser
from tests.shop import MOMENT, demo_shop

HERE = Path(__file__).parent.parent / "demo" / "pictures"
JOB = "HB-0422"
SIZE, SCALE = (1720, 1230), 0.52
SIDE_BY_SIDE = (
    "main { display: grid; grid-template-columns: 1fr 1fr; gap: 3rem; } .annex, .trade .foot { display: none; } "
    + ("body { max-width: none; } .sheet + .sheet { margin-top: 0; }")
)


def draw_report(folder: ShopFolder, to: Path) -> Path:
    """One picture, `report.png`."""
    found = dossier(JOB, folder.path)
    with tempfile.TemporaryDirectory() as scratch, Browser() as browser:
        source = Path(scratch) / "report.html"
        source.write_text(
            html_page(account(found.visit, MOMENT + timedelta(hours=1)), found), encoding="utf-8"
        )
        page = browser.open(source, SIZE[0])
        page.shape(*SIZE)
        page.evaluate(
            f"document.head.appendChild(document.createElement('style')).textContent = '{SIDE_BY_SIDE}'"
        )
        path = to / "report.png"
        path.write_bytes(page.picture(SCALE))
    return path


def main() -> None:
    to = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE
    with tempfile.TemporaryDirectory() as scratch:
        print(draw_report(demo_shop(Path(scratch)), to))


if __name__ == "__main__":
    main()
