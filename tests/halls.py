"""The demo shop with invented halls in place of its bays: empty, or crowded with posts along the walls."""

from __future__ import annotations

from pathlib import Path

from readiness.records.shop import ShopFolder
from tests.shop import demo_shop


def hall(
    folder: ShopFolder, name: str, length: float, width: float, *, posts: int = 0, title: str = ""
) -> None:
    """Write a rectangular bay of that size in m; the car usually stands along its middle."""
    corners = ((0, 0), (length, 0), (length, width), (0, width))
    outline = "".join(f"  - {{x: {x} m, y: {y} m}}\n" for x, y in corners)
    things = "".join(_post(k, length, width) for k in range(posts))
    text = (
        f"bay: {name}\ntitle: {title or name}\noutline:\n{outline}"
        f"standing: {{x: {0.4 * length:.2f} m, y: {width / 2} m, heading: 0 °}}\n"
        + (f"obstacles:\n{things}" if things else "")
    )
    (folder.path / "bays" / f"{name}.yaml").write_text(text, encoding="utf-8", newline="\n")


def _post(k: int, length: float, width: float) -> str:
    """Along either long wall, no two at one place."""
    x, y = 0.2 + (length - 0.4) * ((k * 0.618) % 1), 0.1 + (k % 7) * 0.12
    at = f"{{x: {x:.3f} m, y: {y if k % 2 else width - y:.3f} m}}"
    return f"  - {{name: post {k}, metal: yes, disc: {{at: {at}, radius: 0.04 m}}}}\n"


def crowded(to: Path, bays: int, posts: int) -> ShopFolder:
    """Halls of 13 by 9 m alone, each with so many posts: the search takes a while."""
    folder = demo_shop(to)
    for path in (folder.path / "bays").iterdir():
        path.unlink()
    for n in range(1, bays + 1):
        hall(folder, f"hall-{n:02}", 13.0, 9.0, posts=posts, title=f"Hall {n}")
    return ShopFolder(folder.path)
