"""The picture as SVG: parsed as XML, its places compared with the shapes, its colours with the contrast asked for."""

from __future__ import annotations

import re
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.checks.picture import KEEPS_OUT, Circle, Line, Outline, Spot, extent
from readiness.report.svg import STYLE, svg
from tests.pictures import bay, car, crowded, shapes

NS = "{http://www.w3.org/2000/svg}"


def parsed(picture, **more) -> ElementTree.Element:
    return ElementTree.fromstring(svg(picture, title="The plan", **more))


def of_class(root: ElementTree.Element, name: str, tag: str = "*") -> list[ElementTree.Element]:
    return [e for e in root.iter(f"{NS}{tag}" if tag != "*" else "*") if name in e.get("class", "").split()]


def corners(path: ElementTree.Element) -> list[tuple[float, float]]:
    return [
        (float(c), float(r)) for c, r in re.findall(r"[ML]?(-?[\d.e+-]+),(-?[\d.e+-]+)", path.get("d", ""))
    ]


def mapping(picture, root: ElementTree.Element):
    """From metres to pixels, as the corners of the bay have it; they may be turned, but not mirrored or stretched."""
    outline = next(s for s in picture if s.role == "bay")
    seen = [complex(*p) for p in corners(of_class(root, "bay", "path")[0])]
    # x forward up and y left left is (x, y) -> (-y, -x) on a page whose rows go down: mirrored as every page is
    metres = [complex(-y, -x) for x, y in outline.points]
    turn = (seen[1] - seen[0]) / (metres[1] - metres[0])
    shift = seen[0] - turn * metres[0]
    for m, p in zip(metres, seen, strict=True):
        assert abs(turn * m + shift - p) < 0.01
    return lambda at: turn * complex(-at[1], -at[0]) + shift, abs(turn)


@pytest.mark.parametrize("heading", [0, 37, 90, 200, 315])
@pytest.mark.parametrize("width", [300, 720, 1200])
def test_every_shape_stands_where_it_stands(heading, width):
    picture = bay(heading)
    root = parsed(picture, width=width)
    at, scale = mapping(picture, root)
    circles = {(c.get("cx"), c.get("cy")): c for c in root.iter(f"{NS}circle") if c.get("cx")}
    paths = [corners(p) for p in root.iter(f"{NS}path") if "d" in p.attrib]
    for shape in picture:
        if isinstance(shape, Circle):
            centre = at(shape.at)
            near = [c for (x, y), c in circles.items() if abs(complex(float(x), float(y)) - centre) < 0.01]
            assert any(float(c.get("r")) == pytest.approx(shape.radius * scale, abs=0.01) for c in near), (
                shape
            )
        elif isinstance(shape, Outline | Line):
            wanted = [at(p) for p in shape.points]
            assert any(
                len(p) == len(wanted)
                and all(abs(complex(*q) - w) < 0.01 for q, w in zip(p, wanted, strict=True))
                for p in paths
            ), shape
        elif shape.role == "target":
            assert any(abs(complex(float(x), float(y)) - at(shape.at)) < 0.01 for x, y in circles)


def test_a_wheel_is_as_long_as_a_wheel_and_turned_as_the_car():
    picture = bay(37.0)
    root = parsed(picture)
    at, scale = mapping(picture, root)
    wheels = [corners(w) for w in of_class(root, "wheel", "path")]
    assert len(wheels) == 4
    front, rear = at(picture[2].at), at(picture[4].at)  # of the left side
    along = (front - rear) / abs(front - rear)
    for a, b, c, _ in ([complex(*p) for p in w] for w in wheels):
        assert abs(b - a) == pytest.approx(0.65 * scale, abs=0.05)
        assert abs(((a - b) / abs(a - b) / along).imag) < 0.01
        assert abs(c - b) == pytest.approx(0.2 * scale, abs=0.05)


@pytest.mark.parametrize("heading", range(0, 360, 45))
def test_the_front_of_the_car_is_called_so_whichever_way_it_points(heading):
    picture = bay(heading)
    root = parsed(picture)
    at, _ = mapping(picture, root)
    (word,) = [t for t in root.iter(f"{NS}text") if t.text == "front"]
    place = complex(float(word.get("x")), float(word.get("y")))
    body = picture[1].points
    front, rear = at(((body[0][0] + body[-1][0]) / 2, (body[0][1] + body[-1][1]) / 2)), at(body[2])
    assert abs(place - front) < abs(place - rear)


def test_every_reason_has_its_own_hatching_and_is_explained():
    root = parsed(bay())
    patterns = {p.get("id"): ElementTree.tostring(p[0]) for p in root.iter(f"{NS}pattern")}
    assert len(patterns) == len(set(patterns.values())) == len(KEEPS_OUT)
    for zone in of_class(root, "zone"):
        used = re.fullmatch(r"fill: url\(#(.+)\)", zone.get("style", ""))
        assert used
        assert used[1] in patterns
    said = {t.text for t in root.iter(f"{NS}text")}
    assert {f"{reason}: {out}" for reason, out in KEEPS_OUT.items()} <= said


@given(st.sampled_from(["metric", "us"]), st.floats(0.2, 3000))
def test_the_scale_is_as_long_as_it_says(system, size):
    picture = (Outline("bay", ((0, 0), (0, size), (size / 2, size), (size / 2, 0)), "Bay"),)
    root = parsed(picture, system=system)
    _, scale = mapping(picture, root)
    (bar,) = of_class(root, "scale")
    length = float(re.search(r"h([\d.e+-]+)", bar.get("d"))[1])
    number, unit = next(
        t.text.split() for t in root.iter(f"{NS}text") if re.fullmatch(r"[\d.]+ (m|ft|in)", t.text)
    )
    metres = {"m": 1.0, "ft": 0.3048, "in": 0.0254}[unit]  # exactly, NIST SP 811
    assert length / scale == pytest.approx(float(number) * metres, abs=0.002 / scale + 1e-9)
    assert (unit == "m") == (system == "metric")


HOSTILE = '</text><script>alert(1)</script>& "q" \u202e\x1b[2J\x00]]> <!-- {0} 车间'


def test_text_from_people_is_text():
    picture = (*car(), Spot("obstacle", (1, 1), HOSTILE, note=HOSTILE), Circle("zone", (2, 2), 1, "\ud800 x"))
    written = svg(picture, title=HOSTILE)
    root = ElementTree.fromstring(written.encode())
    assert not list(root.iter(f"{NS}script"))
    assert "\x1b" not in written
    assert "\u202e" not in written
    said = " ".join(t.text or "" for t in root.iter(f"{NS}text"))
    assert "</text><script>" in said
    assert "车间" in root.find(f"{NS}title").text


def test_nothing_comes_from_outside_and_all_that_is_meant_is_there():
    written = svg(bay(), title="The plan")
    root = ElementTree.fromstring(written)
    assert written.count("http") == 1  # the name of the language itself
    assert not [e for e in root.iter() for k in e.attrib if k.endswith("href")]
    assert "@import" not in written
    assert "url(http" not in written
    assert root.get("role") == "img"
    for what in ("aria-labelledby", "aria-describedby"):
        assert [e for e in root.iter() if e.get("id") == root.get(what)]
    desc = root.find(f"{NS}desc").text
    assert all(s.label in desc for s in bay() if s.label)
    assert "Metal, up to 2.00 m." in desc


def test_two_pictures_on_one_page_keep_apart():
    one, other = ({e.get("id") for e in parsed(p).iter() if e.get("id")} for p in (bay(200.0), bay(20.0)))
    assert one
    assert not one & other


def test_the_same_picture_is_written_the_same():
    assert svg(crowded(20), title="x") == svg(crowded(20), title="x")


@pytest.mark.parametrize(
    "picture", [bay(), bay(20.0), crowded(12), crowded(40)], ids=["200", "20", "12", "40"]
)
def test_no_word_is_written_over_another(picture):
    """By the breadth of narrow letters, 6 px of 13 px type, and the height of its small letters."""
    root = parsed(picture)
    boxes = []
    for t in root.iter(f"{NS}text"):
        wide = 6.0 * len(t.text)
        left = float(t.get("x")) - wide * {"middle": 0.5, "end": 1.0}.get(t.get("text-anchor"), 0.0)
        base = float(t.get("y"))
        boxes.append((left, base - 9, left + wide, base, t.text))
    for a, b in combinations(boxes, 2):
        assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]), (a, b)
    for left, top, right, bottom, text in boxes:
        assert left >= 0, text
        assert right <= float(root.get("width")), text
        assert 0 <= top < bottom <= float(root.get("height")), text


@given(st.lists(shapes(), max_size=6), st.text(max_size=30), st.floats(1, 5000))
@settings(deadline=None)
def test_any_shapes_make_a_sound_file(some, title, width):
    root = ElementTree.fromstring(svg(tuple(some), title=title, width=width).encode())
    size = [float(v) for v in root.get("viewBox").split()]
    assert size[2] == float(root.get("width")) > 0
    assert size[3] == float(root.get("height")) > 0
    for element in root.iter():
        for value in element.attrib.values():
            assert "nan" not in value.split()
            assert "inf" not in value


@given(st.lists(shapes(), min_size=1, max_size=6))
@settings(deadline=None)
def test_every_ordinary_shape_is_on_the_sheet(some):
    picture = tuple(s for s in some if extent(s) and all(abs(v) <= 1e6 for p in extent(s) for v in p))
    root = ElementTree.fromstring(svg(picture, title="x").encode())
    drawn = [
        e
        for e in root.iter()
        if e.get("class", "").split()[:1] and e.get("class").split()[0] in {s.role for s in picture}
    ]
    assert len([e for e in drawn if "hatch" not in e.get("class")]) >= len(picture)
    width, height = float(root.get("width")), float(root.get("height"))
    for e in drawn:
        if e.get("cx"):
            assert -0.01 <= float(e.get("cx")) <= width + 0.01
            assert -0.01 <= float(e.get("cy")) <= height + 0.01


# --- colours -------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance of sRGB as WCAG 2.2 defines it (from memory)."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return sum(w * v for w, v in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(a: str, b: str) -> float:
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


LOOKS = [dict(re.findall(r"--(\w+): (#\w{6})", block)) for block in re.findall(r"\.plan \{([^}]*)\}", STYLE)]


@pytest.mark.parametrize("look", LOOKS, ids=["light", "dark", "print"])
def test_words_and_lines_stand_out_from_the_paper(look):
    """WCAG 2.2: 4.5 to 1 for text, 3 to 1 for what a drawing says by its lines."""
    assert contrast(look["ink"], look["paper"]) >= 4.5
    assert contrast(look["quiet"], look["paper"]) >= 4.5
    for name in ("area", "eye", "wrong"):
        assert contrast(look[name], look["paper"]) >= 3.0
    assert contrast(look["ink"], look["thing"]) >= 3.0  # a clearance over a thing
