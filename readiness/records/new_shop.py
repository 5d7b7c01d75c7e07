"""The beginning of a shop of one's own: commented files to change, in a folder that has none yet."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from readiness.records.shop import ShopError

FOLDERS = ("bays", "sheets", "jobs")


def new_shop(to: Path) -> list[Path]:
    """Write shop.yaml, instruments.yaml, an example bay and an example sheet below `to`; the files written.

    Nothing there is touched. Raises ShopError if a shop stands there already or the disk refuses.
    """
    source = Path(str(files("readiness.records"))) / "blank"
    wanted = [path.relative_to(source) for path in sorted(source.rglob("*.yaml"))]
    try:
        there = [name for name in wanted if (to / name).exists()]
        if there:
            raise ShopError(f"{to / there[0]} is there already, so nothing was written.")
        for folder in FOLDERS:
            (to / folder).mkdir(parents=True, exist_ok=True)
        for name in wanted:
            text = (source / name).read_text(encoding="utf-8")
            (to / name).write_text(text, encoding="utf-8", newline="\n")
    except OSError as fault:
        why = (fault.strerror or type(fault).__name__).lower()
        raise ShopError(f"No shop could be made in {to}: {why}.") from fault
    return [
        to / name for name in sorted(wanted, key=lambda name: (len(name.parts), str(name) != "shop.yaml"))
    ]
