"""The writers of drawings: true scale in every format, nothing overlapping, nothing lost, the same bytes twice."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import sys
from itertools import combinations, product
from pathlib import Path as FilePath
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pypdf
import pytest
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from shapely import Polygon

from tumblehome.drawing import (
    Area,
    Dimension,
    Drawing,
    Label,
    Note,
    Path,
    Rules,
    Text,
    VerdictMark,
    palette,
    person_outline,
    save,
    to_dxf,
    to_pdf,
    to_png,
    to_svg,
)
from tumblehome.drawing.compose import compose
from tumblehome.drawing.sheet import PAPERS, SCALES, sheet_for
from tumblehome.drawing.text import Box, Ink, Wish, place, text_width, wrapped
from tumblehome.errors import InputError, PictureError

SVG = "{http://www.w3.org/2000/svg}"
# SVG 2 and CSS Values 4: 1 in is 25.4 mm. PDF reference: the default user unit is 1/72 in.
MM_PER_INCH = 25.4
POINTS_PER_INCH = 72.0

RECTANGLE = ((-262.0, 0.0), (480.0, 0.0), (480.0, 1380.5), (-262.0, 1380.5))
HOLE = ((0.0, 200.0), (0.0, 500.0), (150.0, 500.0), (150.0, 200.0))
BAR = ((-700.0, 300.0), (700.0, 300.0), (700.0, 420.0), (-700.0, 420.0))


def _drawing(**changes: object) -> Drawing:
    usual = {
        "title": "Station 1650",
        "subtitle": "looking rearward",
        "items": (
            Area("lining", [[(-900, -50), (900, -50), (900, 1900), (-900, 1900)]]),
            Area("module", [RECTANGLE, HOLE], Label("locker", "742 wide")),
            Path("ghost", [(-800, 100), (-400, 1700)]),
            Text("text", (-600, 1500), "port side"),
            Dimension((-262, 900), (480, 900), "aisle", '742 · 29 3/16"'),
            VerdictMark((480, 1380), "fouls"),
        ),
        "notes": (Note("locker: 14 left", "clear"), Note("upper: 2 left", "tight"), Note("measured twice")),
    }
    return Drawing(**{**usual, **changes})  # type: ignore[arg-type]


def _svg(drawing: Drawing) -> ElementTree.Element:
    return ElementTree.fromstring(to_svg(drawing))


def _rings(svg: ElementTree.Element, layer: str) -> list[np.ndarray]:
    """Return the rings of all paths of `layer`, in millimeters of paper, read from the path data alone."""
    paths = svg.findall(f"{SVG}g[@data-layer='{layer}']/{SVG}path")
    assert paths, f"nothing is drawn on layer {layer}"
    rings = [ring for path in paths for ring in path.attrib["d"].split("M") if ring]
    return [np.array(re.findall(r"-?[\d.]+(?:e-?\d+)?", ring), dtype=float).reshape(-1, 2) for ring in rings]


# --- SVG ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("scale", [10, 15, 25])
def test_svg_gives_back_a_rectangle_at_true_scale(scale: int) -> None:
    """Corner to corner, paper times scale is the thing itself; the base lies on the rule of height 0."""
    svg = _svg(_drawing(scale=scale))
    corners, hole = _rings(svg, "module")
    for ring, true in ((corners, RECTANGLE), (hole, HOLE)):
        sides = (ring - corners[0]) * (scale, -scale)
        assert np.abs(sides - (np.array(true) - RECTANGLE[0])).max() / scale < 1e-6
    levels = [ring[0, 1] for ring in _rings(svg, "rule") if ring[0, 1] == ring[1, 1]]
    assert min(abs(level - corners[0, 1]) for level in levels) < 1e-6


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_a_user_unit_of_the_svg_is_a_millimeter_of_standard_paper(paper: str) -> None:
    """Sizes from ISO 216 (A4 210 x 297, A3 297 x 420) and ANSI/ASME Y14.1 (A 8.5 x 11 in, B 11 x 17 in)."""
    published = {
        "A4": (210, 297),
        "A3": (297, 420),
        "letter": (8.5 * 25.4, 11 * 25.4),
        "tabloid": (11 * 25.4, 17 * 25.4),
    }
    root = _svg(_drawing(paper=paper)).attrib
    size = [float(root[side].removesuffix("mm")) for side in ("width", "height")]
    assert sorted(size) == pytest.approx(published[paper])
    assert [float(number) for number in root["viewBox"].split()] == [0.0, 0.0, *size]


def test_svg_holds_any_text_escaped() -> None:
    """Whatever a title or label says comes back as it was (XML 1.0); a character that XML cannot hold is replaced."""
    odd = "<script>&\"]]>' 5' 3 1/2″"
    drawing = _drawing(title=odd, subtitle=odd, items=(Area("module", [RECTANGLE], Label(odd, "a\x00b")),))
    texts = [element.text for element in _svg(drawing).iter(f"{SVG}text")]
    assert texts.count(odd) >= 2
    assert "a\N{REPLACEMENT CHARACTER}b" in texts


def test_svg_has_one_group_for_each_layer_painted_in_the_order_of_the_palette() -> None:
    """Common practice, no published source: one named group a layer, so that a script can switch it off."""
    layers = [group.attrib["data-layer"] for group in _svg(_drawing()).findall(f"{SVG}g")]
    assert set(layers) >= {"rule", "lining", "module", "ghost", "dimension", "text", "verdict", "sheet"}
    assert layers == [layer for layer in palette.LAYERS if layer in layers]


def test_the_sheet_says_scale_paper_and_unit_and_every_verdict_by_word() -> None:
    """Common practice, no published source: a drawing without its scale cannot be measured."""
    texts = {element.text for element in _svg(_drawing(scale=10)).iter(f"{SVG}text")}
    assert {"1:10 on A3 · millimeters", "clear", "tight", 'aisle 742 · 29 3/16"', "locker", "742 wide"} <= texts


# --- scale and sheet ---------------------------------------------------------------------------------------------


@given(
    width=st.floats(50, 9000),
    height=st.floats(50, 3000),
    paper=st.sampled_from(sorted(PAPERS)),
    units=st.sampled_from(sorted(SCALES)),
)
def test_the_scale_is_the_largest_standard_one_at_which_the_drawing_fits(
    width: float, height: float, paper: str, units: str
) -> None:
    """Common practice, no published source: all lies in the frame; one scale larger would not fit."""
    items = (Area("module", [[(0, 0), (width, 0), (width, height), (0, height)]]),)
    drawing = _drawing(items=items, paper=paper, rules=Rules(units))  # type: ignore[arg-type]
    sheet = sheet_for(drawing)
    assert sheet.scale in SCALES[units]
    corners = sheet.to_paper([(0.0, 0.0), (width, height)])
    assert (corners.min(axis=0) >= (sheet.frame.left, sheet.frame.top)).all()
    assert (corners.max(axis=0) <= (sheet.frame.right, sheet.frame.bottom)).all()
    larger = [scale for scale in SCALES[units] if scale < sheet.scale]
    if larger:
        with pytest.raises(InputError, match="does not fit"):
            sheet_for(_drawing(items=items, paper=paper, rules=Rules(units), scale=larger[-1]))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("units", "step", "labels"),
    [("mm", 200.0, {"0", "200", "1000", "1800"}), ("in", 152.4, {'6"', '36"', '72"'})],
)
def test_rules_are_labeled_in_the_users_units(units: str, step: float, labels: set[str]) -> None:
    """Rules every 200 mm, or every 6 in (152.4 mm, 25.4 mm an inch): each in its place."""
    drawing = _drawing(rules=Rules(units))  # type: ignore[arg-type]
    svg = _svg(drawing)
    levels = sorted({ring[0, 1] for ring in _rings(svg, "rule") if ring[0, 1] == ring[1, 1]})
    assert len(levels) > 5
    assert np.diff(levels) * sheet_for(drawing).scale == pytest.approx(step)
    assert labels <= {element.text for element in svg.iter(f"{SVG}text")}


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"paper": "A33"}, "no paper 'A33'.*did you mean 'A3'"),
        ({"items": ()}, "nothing to draw"),
        ({"items": (Area("modul", [RECTANGLE]),)}, "no drawing layer 'modul'.*did you mean 'module'"),
        ({"items": (VerdictMark((0, 0), "foul"),)}, "no verdict 'foul'.*did you mean 'fouls'"),
        ({"items": (Path("ghost", [(0, 0), (float("nan"), 0)]),)}, "not a finite number"),
        ({"items": (Dimension((5, 5), (5, 5), "gap", "0"),)}, "from a point to itself"),
    ],
)
def test_what_cannot_be_drawn_is_refused_with_the_mend(changes: dict[str, object], message: str) -> None:
    """Common practice, no published source: one clear line instead of an odd picture."""
    with pytest.raises(InputError, match=message):
        to_svg(_drawing(**changes))


# --- labels ------------------------------------------------------------------------------------------------------

_POINTS = st.tuples(st.floats(0, 400), st.floats(0, 280))
_WISHES = st.lists(
    st.builds(
        lambda about, width, height, firm: Wish("label", width, height, [about], about, firm),
        _POINTS,
        st.floats(1, 60),
        st.floats(1, 10),
        st.booleans(),
    ),
    min_size=2,
    max_size=40,
)


@given(wishes=_WISHES, taken=st.lists(_POINTS, max_size=5))
@settings(max_examples=60, deadline=None)
def test_placed_labels_never_overlap(wishes: list[Wish], taken: list[tuple[float, float]]) -> None:
    """Law: no two placed boxes share any area, none leaves the sheet, and the same wishes get the same places."""
    bounds = Box(-70, -20, 470, 300)
    marks = [Box.around(point, 4, 4) for point in taken]
    places = place(wishes, bounds, marks, Ink(420, 297))
    assert len(places) == len(wishes) >= 2
    boxes = [spot.box for spot in places]
    for a, b in [*combinations(boxes, 2), *product(boxes, marks)]:
        assert min(a.right, b.right) <= max(a.left, b.left) or min(a.bottom, b.bottom) <= max(a.top, b.top)
    assert all(bounds.contains(spot.box) for spot in places)
    assert places == place(wishes, bounds, marks, Ink(420, 297))


@given(st.lists(st.tuples(st.floats(-800, 800), st.floats(0, 1800), st.text(max_size=12)), min_size=3, max_size=14))
@settings(max_examples=30, deadline=None)
def test_no_label_of_a_drawing_lies_on_another(spots: list[tuple[float, float, str]]) -> None:
    """Law, through the whole drawing: names of areas, texts and dimensions, however they crowd."""
    items = [
        item
        for x, y, string in spots
        for item in (
            Area("module", [[(x, y), (x + 90, y), (x + 90, y + 60), (x, y + 60)]], Label("box", string)),
            Dimension((x, y), (x + 200, y), "gap", string),
        )
    ]
    boxes = [each.place.box for each in compose(_drawing(items=items)).placed if each.place is not None]
    assert len(boxes) == len(items) > 0
    for a, b in combinations(boxes, 2):
        assert not a.overlaps(b)


def test_a_sheet_without_room_says_so() -> None:
    """Common practice, no published source: a label is never dropped silently and never put on another."""
    wish = Wish("far too long", 90, 10, [(50, 50)], (50, 50))
    with pytest.raises(PictureError, match="no room left for the label 'far too long'"):
        place([wish, wish], Box(0, 0, 100, 15), [], Ink(100, 15))


@pytest.mark.parametrize(("bold", "file"), [(False, "DejaVuSans.ttf"), (True, "DejaVuSans-Bold.ttf")])
def test_text_widths_are_those_of_the_font(*, bold: bool, file: str) -> None:
    """Reference: the advance widths in DejaVu Sans itself, read with fontTools."""
    fonts = pytest.importorskip("fontTools.ttLib", reason="reads the reference font")
    folder = FilePath(pytest.importorskip("matplotlib", reason="brings the reference font").get_data_path())
    font = fonts.TTFont(folder / "fonts" / "ttf" / file)
    glyphs, advances = font.getBestCmap(), font["hmtx"]
    string = "".join(map(chr, range(32, 127))) + "·×–°′″±"
    true = sum(advances[glyphs[ord(sign)]][0] for sign in string) / font["head"].unitsPerEm * 3.2
    assert text_width(string, 3.2, bold=bold) == pytest.approx(true, rel=1e-12)


def test_a_fraction_is_not_torn_from_its_number() -> None:
    """At no width does a line begin with a fraction of an inch."""
    for width in range(1, 60):
        lines = wrapped('bow 3 from 69 1/2" up: 2 1/4" to 2 15/16" out', 2.7, float(width))
        assert not any(line.split()[0].startswith(("1/", "15/")) for line in lines)
        assert " ".join(lines) == 'bow 3 from 69 1/2" up: 2 1/4" to 2 15/16" out'


@given(st.text(alphabet="abc mW", max_size=60), st.floats(5, 60))
def test_wrapping_keeps_every_word_in_order(string: str, width: float) -> None:
    """Law: nothing is lost, and a line is only too wide when it is a single word."""
    lines = wrapped(string, 3.2, width)
    assert " ".join(lines).split() == string.split()
    assert all(text_width(line, 3.2) <= width or " " not in line for line in lines)


def test_backgrounds_are_only_as_wide_as_their_text() -> None:
    """At most a millimeter of ground on either side of the words; the width is the font's own."""
    words = [word for each in compose(_drawing()).placed for word in each.words if word.patch]
    assert words
    for word in words:
        assert word.patch is not None
        over = word.patch[0].right - word.patch[0].left - text_width(word.string, word.size, bold=word.bold)
        assert 0 <= over <= 2


# --- DXF ---------------------------------------------------------------------------------------------------------


def _dxf(drawing: Drawing) -> ezdxf.document.Drawing:
    document = ezdxf.read(io.StringIO(to_dxf(drawing)))
    assert not document.audit().errors
    return document


def test_dxf_states_millimeters() -> None:
    """DXF reference, HEADER section: $INSUNITS 4 is millimeters, $MEASUREMENT 1 is metric."""
    header = _dxf(_drawing()).header
    assert (header["$INSUNITS"], header["$MEASUREMENT"]) == (4, 1)


@given(
    st.lists(
        st.tuples(st.floats(5, 900), st.floats(0, 6.28)), min_size=3, max_size=30, unique_by=lambda p: round(p[1], 3)
    ),
    st.sampled_from([None, 20, 50]),
)
@settings(max_examples=12, deadline=None)
def test_closed_polylines_have_their_true_area(polar: list[tuple[float, float]], scale: int | None) -> None:
    """Reference: shapely's area of the same star-shaped ring; the shoelace formula over what the file holds."""
    ring = [(r * np.cos(a), r * np.sin(a)) for r, a in sorted(polar, key=lambda p: p[1])]
    lines = (
        _dxf(_drawing(items=(Area("module", [ring, HOLE]),), scale=scale))
        .modelspace()
        .query("LWPOLYLINE[layer=='module']")
    )
    assert [line.closed for line in lines] == [True, True]
    for line, true in zip(lines, (ring, HOLE), strict=True):
        x, y = np.array([point[:2] for point in line.get_points()]).T
        shoelace = abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
        assert shoelace == pytest.approx(Polygon(true).area, rel=1e-9, abs=1e-6)


def test_dxf_fills_areas_and_leaves_out_their_holes() -> None:
    """Reference: shapely's area of the polygon with its hole, from the boundaries of the hatch."""
    (hatch,) = _dxf(_drawing()).modelspace().query("HATCH[layer=='module']")
    rings = [Polygon([vertex[:2] for vertex in path.vertices]) for path in hatch.paths]
    outline, hole = sorted(rings, key=lambda ring: -ring.area)
    assert outline.difference(hole).area == pytest.approx(Polygon(RECTANGLE, [HOLE]).area, rel=1e-9)


def test_dxf_dimensions_measure_truly_and_show_the_callers_text() -> None:
    """DXF reference, DIMENSION: group 42 is the measurement, group 1 the text that the user gave."""
    (dimension,) = _dxf(_drawing()).modelspace().query("DIMENSION")
    assert dimension.dxf.text == 'aisle 742 · 29 3/16"'
    assert dimension.get_measurement() == pytest.approx(742.0)


def test_dxf_texts_are_as_high_as_on_the_sheet() -> None:
    """The height of a DXF text is that of its capitals, which are 0.729 of the font size (DejaVu Sans, OS/2 table)."""
    for scale in (10, 20):
        texts = _dxf(_drawing(scale=scale)).modelspace().query("TEXT")
        (port,) = [text for text in texts if text.dxf.text == "port side"]
        assert port.dxf.height == pytest.approx(0.729 * palette.BODY * scale)


def test_every_line_weight_is_one_that_dxf_knows() -> None:
    """DXF reference, group 370: a fixed list, in 1/100 mm; -1, -2, -3 are by layer, by block, default."""
    every_layer = [Area(layer, [RECTANGLE]) for layer in palette.LAYERS]
    marks = [VerdictMark((0, 0), verdict) for verdict in palette.VERDICTS]
    text = to_dxf(_drawing(items=(*every_layer, *marks, Dimension((0, 0), (9, 900), "rise", "900"))))
    weights = {int(number) for number in re.findall(r"^ *370\n *(-?\d+)$", text, flags=re.MULTILINE)}
    assert len(weights) > 5
    assert weights <= {-1, -2, -3, *VALID_DXF_LINEWEIGHTS}


def test_dxf_keeps_line_breaks_in_texts_from_breaking_its_own_lines() -> None:
    """A DXF file is pairs of lines (DXF reference): a name with a line break must not add any."""
    document = _dxf(_drawing(items=(Area("module", [RECTANGLE], Label("one\n0\nEOF")),)))
    assert [text.dxf.text for text in document.modelspace().query("TEXT[layer=='text']")] == ["one 0 EOF"]


# --- PDF and PNG -------------------------------------------------------------------------------------------------


def test_pdf_pages_are_exactly_their_paper() -> None:
    """Paper from ISO 216 and ANSI/ASME Y14.1 over 25.4 mm an inch times 72 points (PDF reference)."""
    pages = pypdf.PdfReader(io.BytesIO(to_pdf([_drawing(paper="A3"), _drawing(paper="letter")]))).pages
    sizes = [sorted((float(page.mediabox.width), float(page.mediabox.height))) for page in pages]
    a3 = [side / MM_PER_INCH * POINTS_PER_INCH for side in (297, 420)]
    assert sizes == [pytest.approx(a3, abs=1e-3), pytest.approx([8.5 * 72, 11 * 72], abs=1e-3)]


def _bar() -> Drawing:
    return _drawing(
        items=(Path("ghost", [(-750, 0), (750, 800)]), Area("steel", [BAR])), notes=(), rules=None, scale=10
    )


def _bar_pixels(picture: Image.Image) -> tuple[int, int]:
    """Return how many columns and rows the steel bar covers, counting pixels nearer to steel than to paper."""
    steel = [int(palette.STEEL[at : at + 2], 16) for at in (1, 3, 5)]
    near = np.abs(np.asarray(picture.convert("RGB"), dtype=int) - steel).max(axis=2) < 60
    rows = near.sum(axis=1) > 0.5 * near.sum(axis=1).max()
    return int(near[rows].any(axis=0).sum()), int(rows.sum())


def test_a_bar_in_the_pdf_is_as_long_on_paper_as_the_scale_says(tmp_path: FilePath) -> None:
    """1400 x 120 mm at 1:10 are 140 x 12 mm of paper; poppler draws each 25.4 mm as 300 pixels."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler's pdftoppm is not installed")
    (tmp_path / "bar.pdf").write_bytes(to_pdf([_bar()]))
    subprocess.run(["pdftoppm", "-r", "300", "-png", "bar.pdf", "bar"], cwd=tmp_path, check=True)
    with Image.open(next(tmp_path.glob("bar*.png"))) as picture:
        assert list(_bar_pixels(picture)) == pytest.approx([140 / 25.4 * 300, 12 / 25.4 * 300], abs=1.5)


@pytest.mark.parametrize("ppi", [96, 150])
def test_a_png_has_the_pixels_that_its_paper_has_at_that_resolution(ppi: int) -> None:
    """Paper 297 x 420 mm (ISO 216) at `ppi` pixels an inch of 25.4 mm, and the bar of 140 mm at the same."""
    with Image.open(io.BytesIO(to_png(_bar(), ppi))) as picture:
        assert sorted(picture.size) == pytest.approx([297 / 25.4 * ppi, 420 / 25.4 * ppi], abs=1)
        assert _bar_pixels(picture)[0] == pytest.approx(140 / 25.4 * ppi, abs=1.5)


@pytest.mark.parametrize("ppi", [0.0, -1.0, float("nan"), 1e9])
def test_a_resolution_that_makes_no_picture_is_refused(ppi: float) -> None:
    """Common practice, no published source."""
    with pytest.raises(InputError, match="pixels an inch"):
        to_png(_drawing(), ppi)


def test_a_letter_that_no_font_has_leaves_the_others_readable() -> None:
    """U+10FFFD is for private use, and no font has it: what stands before it in the title is drawn as without it."""
    plain, odd = (Image.open(io.BytesIO(to_png(_drawing(title=f"Bücher{end}"), 100))) for end in ("", " \U0010fffd"))
    width = round((12.0 + text_width("Bücher", 5.2, bold=True)) / MM_PER_INCH * 100)
    one, other = (picture.convert("L").crop((0, 0, width, round(20 / MM_PER_INCH * 100))) for picture in (plain, odd))
    assert np.asarray(one).min() < 128
    assert one.tobytes() == other.tobytes()


def test_quotes_and_backslashes_come_through_the_typesetter() -> None:
    """What a label says stands in the PDF as it was; text read back with pypdf."""
    odd = 'a "b" \\n #c $d'
    text = pypdf.PdfReader(io.BytesIO(to_pdf([_drawing(title=odd)]))).pages[0].extract_text()
    assert odd.replace(" ", "") in text.replace(" ", "")


# --- all of them -------------------------------------------------------------------------------------------------


def test_the_same_drawing_gives_the_same_bytes_twice() -> None:
    """Common practice, no published source: a drawing that did not change makes no difference to a version control."""
    assert to_svg(_drawing()) == to_svg(_drawing())
    assert to_dxf(_drawing()) == to_dxf(_drawing())
    assert to_pdf([_drawing()]) == to_pdf([_drawing()])
    assert to_png(_drawing(), 60) == to_png(_drawing(), 60)


@pytest.mark.parametrize(
    ("suffix", "start"), [("svg", b"<?xml"), ("PNG", b"\x89PNG"), ("pdf", b"%PDF"), ("dxf", b"  0")]
)
def test_save_writes_what_the_suffix_says(tmp_path: FilePath, suffix: str, start: bytes) -> None:
    """The first bytes that each format's specification asks for; a DXF file begins with the group code 0."""
    save(_drawing(), tmp_path / f"sheet.{suffix}")
    assert (tmp_path / f"sheet.{suffix}").read_bytes().startswith(start)


def test_save_refuses_another_suffix_and_keeps_the_old_file_on_a_fault(tmp_path: FilePath) -> None:
    """Common practice, no published source: nothing is ever half written."""
    with pytest.raises(InputError, match=r"not '\.svgz'; did you mean '\.svg'"):
        save(_drawing(), tmp_path / "sheet.svgz")
    with pytest.raises(InputError, match="this name has no suffix"):
        save(_drawing(), tmp_path / "sheet")
    (tmp_path / "sheet.svg").write_text("old")
    with pytest.raises(InputError):
        save(_drawing(items=()), tmp_path / "sheet.svg")
    assert (tmp_path / "sheet.svg").read_text() == "old"


def test_nothing_heavy_is_loaded_before_it_is_needed() -> None:
    """Common practice, no published source: a command that only prints must start at once."""
    heavy = {"typst", "ezdxf", "matplotlib", "vtk", "pyvista"}
    code = f"import sys, tumblehome.drawing; print(sorted({heavy!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# --- the person --------------------------------------------------------------------------------------------------

# ANSUR II (2012), report NATICK/TR-15/007, 50th percentiles: stature, bideltoid, hip and forearm-forearm breadth.
MEDIANS = [(1755.0, 509.0, 344.0, 579.0), (1626.0, 450.0, 353.0, 492.0)]


@pytest.mark.parametrize(("stature", "deltoids", "hips", "forearms"), MEDIANS)
def test_the_person_has_the_medians_sizes(stature: float, deltoids: float, hips: float, forearms: float) -> None:
    """Source: ANSUR II, as above; the outline passes through the measured points."""
    outline = person_outline(stature)
    assert outline[:, 1].min() == 0.0
    assert outline[:, 1].max() == pytest.approx(stature, abs=1e-9)
    for breadth in (deltoids, hips, forearms):
        assert np.abs(np.abs(outline[:, 0]) - breadth / 2).min() < 1e-6


@given(st.floats(1300, 2200))
def test_the_person_is_one_simple_mirrored_outline_that_grows_with_stature(stature: float) -> None:
    """Law: the outline does not cross itself, its left half mirrors its right, and a taller person covers more."""
    outline = person_outline(stature)
    body = Polygon(outline)
    assert body.is_valid
    assert body.symmetric_difference(Polygon(outline * (-1, 1))).area < 1e-6 * body.area
    assert Polygon(person_outline(stature + 5)).area > body.area


@pytest.mark.parametrize("stature", [0.0, -5.0, float("nan"), float("inf")])
def test_a_stature_that_is_no_length_is_refused(stature: float) -> None:
    """Common practice, no published source."""
    with pytest.raises(InputError, match="stature is a positive length"):
        person_outline(stature)
