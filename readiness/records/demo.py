"""A copy of the invented demo shop, moved in time so that its story happens now.

`demo/moment.txt` holds the moment at which the shop stands still. Times in the copy are moved by the
distance from that moment to now; dates alone by whole days.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path

from msgspec.structs import replace

from readiness.records import lines, places
from readiness.records.journal import SUFFIX
from readiness.records.shop import SHOP_FILE, ShopError, ShopFolder

MOMENT_FILE = "moment.txt"
PAPERS = "papers"
"""Folder of files attached to jobs, which know them by their bytes."""
_TEXTS = (".yaml", ".md")

_TIME = re.compile(
    r"(?<![\d-])(?P<date>\d{4}-\d{2}-\d{2})"
    r"(?:(?P<sep>[T ])(?P<time>\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?)(?P<zone>Z|[+-]\d{2}:\d{2})?)?(?![\d-])"
)


class _Move:
    """From the demo's time to the time of the copy."""

    def __init__(self, moment: datetime, now: datetime) -> None:
        self.moment = moment
        self.now = now
        self.by = now - moment
        self.days = timedelta(days=(now.date() - moment.date()).days)

    def time(self, at: datetime) -> datetime:
        return (at + self.by).astimezone(self.now.tzinfo)

    def text(self, text: str) -> str:
        """All dates and times in a text moved; a time without a zone has the demo's."""
        return _TIME.sub(self._moved, text)

    def _moved(self, found: re.Match[str]) -> str:
        try:
            if found["time"] is None:
                return (date.fromisoformat(found[0]) + self.days).isoformat()
            at = datetime.fromisoformat(found[0])
        except ValueError:  # looks like a date, is none
            return found[0]
        at = at if at.tzinfo else at.replace(tzinfo=self.moment.tzinfo)
        return self.time(at).isoformat(found["sep"])

    def journal(self, data: bytes) -> bytes:
        """The same entries at the moved times, chained anew."""
        moved, prev = b"", ""
        for entry in lines.decode(data).entries:
            line = lines.encode(replace(entry, at=self.time(entry.at)), prev)
            moved, prev = moved + line, lines.digest(line)
        return moved


def copy_demo(to: Path, now: datetime) -> ShopFolder:
    """Copy the demo shop into the folder `to`, which must be new or empty, as if it were `now`.

    Raises ShopError if there is something in the folder already.
    """
    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise ShopError(f"{to} is not an empty folder; name another one for the demo shop.")
    source = places.demo()
    now = (now if now.tzinfo else now.astimezone()).replace(microsecond=0)
    move = _Move(datetime.fromisoformat((source / MOMENT_FILE).read_text(encoding="utf-8").strip()), now)
    for path in sorted(source.rglob("*")):
        target = to / path.relative_to(source)
        if path.suffix in (*_TEXTS, SUFFIX) or path.parent.name == PAPERS:
            target.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix in _TEXTS:
            target.write_text(move.text(path.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
        elif path.suffix == SUFFIX:
            target.write_bytes(move.journal(path.read_bytes()))
        elif path.parent.name == PAPERS:
            target.write_bytes(path.read_bytes())
    (to / MOMENT_FILE).write_text(f"{now.isoformat()}\n", encoding="utf-8", newline="\n")
    return ShopFolder(to)


@contextmanager
def demo_copy(keep: Path | None = None) -> Iterator[ShopFolder]:
    """A copy to try things on: removed afterwards, or in the folder `keep`, used again if it is there."""
    import shutil
    import tempfile

    from platformdirs import user_cache_path

    now = datetime.now().astimezone()
    if keep is not None:
        yield ShopFolder(keep) if (keep / SHOP_FILE).is_file() else copy_demo(keep, now)
        return
    cache = user_cache_path("readiness", appauthor=False, ensure_exists=True)
    folder = Path(tempfile.mkdtemp(prefix="demo-", dir=cache))
    try:
        yield copy_demo(folder, now)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
