"""SVG drawings that are broken, hostile or too much: refused with what to do, never a crash."""

import gzip
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.drawing import svg_curves, svg_path, svg_sheet, svg_tree
from proveout.drawing.svg_sheet import read_svg_sheet
from proveout.finding import InputError

OPEN = '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'


def refused(folder: Path, content: str | bytes) -> str:
    """The words with which a file is refused."""
    file = folder / "bad.svg"
    file.write_bytes(content.encode() if isinstance(content, str) else content)
    with pytest.raises(InputError) as error:
        read_svg_sheet(file)
    return str(error.value)


def body(folder: Path, inside: str) -> str:
    return refused(folder, f"{OPEN}{inside}</svg>")


def test_entities_are_never_read(tmp_path: Path) -> None:
    """Entities in each other grow without end, and one can fetch a file: all are refused, in any coding."""
    laughs = "".join(f'<!ENTITY l{n} "{10 * f"&l{n - 1};"}">' for n in range(1, 10))
    text = f'<!DOCTYPE svg [<!ENTITY l0 "ha">{laughs}]>{OPEN}<text>&l9;</text></svg>'
    assert "declares an XML entity" in refused(tmp_path, text)
    assert "declares an XML entity" in refused(tmp_path, text.encode("utf-16"))
    outside = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>{OPEN}<text>&x;</text></svg>'
    assert "declares an XML entity" in refused(tmp_path, outside)
    assert "document type outside" in refused(tmp_path, f'<!DOCTYPE svg SYSTEM "http://a/b.dtd">{OPEN}</svg>')
    parameter = f'<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://a/b"> %p;]>{OPEN}</svg>'
    assert "entity" in refused(tmp_path, parameter)


def test_the_standards_own_document_type_is_no_harm(tmp_path: Path) -> None:
    """The line that SVG 1.1 itself recommends (1.3) refers outside, but nothing is fetched for it."""
    file = tmp_path / "good.svg"
    public = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    )
    file.write_text(f'<?xml version="1.0"?>{public}{OPEN}<line x2="1"/></svg>')
    assert len(read_svg_sheet(file).wires) == 1
    assert "entity" in refused(tmp_path, f"{public}{OPEN}<text>&nbsp;</text></svg>")


def test_copies_that_show_themselves_are_refused(tmp_path: Path) -> None:
    """5.6 makes a use that shows itself an error: at first hand, by way of a group, and of another use."""
    for inside in (
        '<g id="a"><use href="#a"/></g>',
        '<use id="a" href="#a"/>',
        '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
        '<symbol id="a"><use href="#a"/></symbol><use href="#a"/>',
    ):
        said = body(tmp_path, inside)
        assert "use " in said
        assert "shows itself" in said


def test_copies_of_copies_are_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten uses of ten uses of ten ... stop at a count of elements, long before they would end."""
    monkeypatch.setattr(svg_sheet, "MOST_SHOWN", 5_000)
    layers = "".join(f'<g id="g{n}">{10 * f"""<use href="#g{n - 1}"/>"""}</g>' for n in range(1, 12))
    said = body(tmp_path, f'<defs><g id="g0"><line x2="1"/></g>{layers}</defs><use href="#g11"/>')
    assert "5000 elements" in said
    chain = "".join(f'<use id="u{n}" href="#u{n - 1}"/>' for n in range(1, 40))
    assert "copies of copies" in body(
        tmp_path, f'<line id="u0" x2="1"/><defs>{chain}</defs><use href="#u39"/>'
    )


def test_a_copy_from_outside_is_refused(tmp_path: Path) -> None:
    """Nothing outside the file is read, however it is named."""
    for target in ("other.svg#part", "http://example.org/a.svg#b", "", "file:///etc/hostname"):
        assert "nothing outside is read" in body(tmp_path, f'<use href="{target}"/>')


@pytest.mark.parametrize(
    ("inside", "name", "why"),
    [
        ('<line x2="1"/><path id="p7" d="M0 0L1e308 1e308"/>', 'path 1 (line 1, id "p7")', "too large"),
        ('<path d="M0 0L1e999 0"/>', "path 1", "too large"),
        ('<path d="M0 0"/><path d="M0 0L2e6 0"/>', "path 2", "1000000 units"),
        ('<path d="M0 0C5e6 0 0 0 9 9"/>', "path 1", "1000000 units"),
        ('<path d="M0 0L NaN 3"/>', "path 1", "no path data"),
        ('<path d="M0 0L3 4 5"/>', "path 1", "3 numbers after L"),
        ('<path d="L3 4"/>', "path 1", "move (M)"),
        ('<path d="3 4"/>', "path 1", "move (M)"),
        ('<path d="M0 0L1--2"/>', "path 1", "no path data"),
        ('<path d="M0 0A1 1 0 2 0 3 3"/>', "path 1", "an arc"),
        ('<path d="M0 0Z5"/>', "path 1", "no numbers"),
        ('<circle r="nan"/>', "circle 1", "none"),
        ('<circle r="inf"/>', "circle 1", "too large"),
        ('<circle r="-1"/>', "circle 1", "negative r"),
        ('<circle r="1" cx="1e7"/>', "circle 1", "1000000 units"),
        ('<circle r="2em"/>', "circle 1", "no length"),
        ('<rect width="one" height="1"/>', "rect 1", "no length"),
        ('<polygon points="0 0 1"/>', "polygon 1", "pairs"),
        ('<polyline points="0 0 1 x"/>', "polyline 1", "pairs"),
        ('<g transform="spin(3)"><line x2="1"/></g>', "g 1", "transform"),
        ('<g transform="scale(1 2 3)"/>', "g 1", "transform"),
        ('<g transform="scale(1e300)"><line x2="1"/></g>', "g 1", "too large"),
        (2 * '<g transform="scale(1e11)">' + '<line x2="1"/></g></g>', "line 1", "too large"),
        ('<line x2="1" style="transform:rotate(3deg)"/>', "line 1", "style"),
        ('<svg viewBox="0 0 1"/>', "svg 2", "viewBox"),
        ('<svg viewBox="0 0 nan 1"/>', "svg 2", "viewBox"),
    ],
)  # fmt: skip
def test_a_bad_shape_is_named(tmp_path: Path, inside: str, name: str, why: str) -> None:
    """Tag and number, line and id, and what is wrong with it."""
    said = body(tmp_path, inside)
    assert said.startswith(name)
    assert "(line 1" in said
    assert why in said


def test_what_is_no_drawing_is_told_by_its_kind(tmp_path: Path) -> None:
    """A picture, a packed drawing, a web page, other XML, a drawing cut short, an empty one, a folder."""
    assert "a picture" in refused(tmp_path, b"\x89PNG\r\n\x1a\n" + bytes(range(256)))
    assert "packed SVG" in refused(tmp_path, gzip.compress(OPEN.encode()))
    assert "no SVG" in refused(tmp_path, "<html><body/></html>")
    assert "no SVG" in refused(tmp_path, "<plist/>")
    assert "no SVG text" in refused(tmp_path, b"")
    assert "DXF" in refused(tmp_path, "0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n")
    assert "broken SVG drawing: line 1" in refused(tmp_path, OPEN + '<path d="M0 0')
    assert "broken SVG drawing" in refused(tmp_path, OPEN + "<a:b/></svg>")
    assert "broken" in refused(
        tmp_path, b'<?xml version="1.0" encoding="no-such"?>' + OPEN.encode() + b"</svg>"
    )
    for path in (tmp_path, tmp_path / "none.svg"):
        with pytest.raises(InputError, match=r"plain file|can't be read"):
            read_svg_sheet(path)


def test_every_bound_holds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Bytes, depth, elements, lines, chords: each stops where it says."""
    assert "100 deep" in body(tmp_path, 5000 * "<g>" + 5000 * "</g>")
    monkeypatch.setattr(svg_curves, "MOST_SEGMENTS", 1000)
    assert "lines and arcs" in body(tmp_path, f'<path d="M0 0{500 * "h1v1"}h1"/>')
    assert "lines and arcs" in body(tmp_path, 600 * '<path d="M0 0h1v1"/>')
    assert "lines and arcs" in body(tmp_path, f'<path d="M0 0{900 * "C9 99 99 9 99 99 "}"/>')
    monkeypatch.setattr(svg_tree, "MOST_ELEMENTS", 50)
    assert "50 elements" in body(tmp_path, 60 * "<g/>")
    monkeypatch.setattr(svg_tree, "BIGGEST", 3_000)
    assert "MB" in body(tmp_path, f"<!--{3000 * ' '}-->")


def test_a_path_shown_again_and_again_is_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A long path costs its length each time it is shown, though it draws nothing."""
    monkeypatch.setattr(svg_sheet, "BIGGEST", 10_000)
    long = f'<path id="p" d="{2000 * "M0 0 "}"/>'
    assert "Split" in body(tmp_path, long + 9 * '<use href="#p"/>')


def test_hostile_texts_take_no_square_of_their_length(tmp_path: Path) -> None:
    """A million characters that nearly match, or end nowhere, are refused or read within the test's time."""
    many = 1_000_000
    assert "transform" in body(tmp_path, f'<g transform="{" " * many}x"/>')
    assert "no length" in body(tmp_path, f'<circle r="1{" " * many}!"/>')
    assert "million" in body(tmp_path, f'<path d="{"M0 0" * 2_600_000}"/>')
    assert "MB" in body(tmp_path, f"<style>{'/*' * many}</style>")
    for style in ("/*" * (many // 3), "a" * (many - 30) + "!{display:none}", ".a{" * (many // 4)):
        assert "move (M)" in body(tmp_path, f'<style>{style}</style><path d="x"/>')


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.,-+eE \t\nnaif", max_size=60))
def test_any_path_data_are_read_or_refused(data: str) -> None:
    """Whatever the letters: wires of finite numbers, or words."""
    ink = svg_curves.Ink()
    try:
        svg_path.draw_path(data, ink)
        inked = svg_curves.wires_of(ink, [(1.0, 0.0, 0.0, -1.0, 0.0, 0.0)], 0.01)
    except (svg_path.PathError, svg_curves.TooMuch, svg_curves.Unusable) as error:
        assert str(error) or isinstance(error, svg_curves.TooMuch)
        return
    wires = inked.wires
    assert np.isfinite(wires.start).all()
    assert np.isfinite(wires.end).all()
    arcs = ~np.isnan(wires.centre[:, 0])
    first = np.hypot(*(wires.start - wires.centre)[arcs].T)
    last = np.hypot(*(wires.end - wires.centre)[arcs].T)
    assert first == pytest.approx(last, rel=1e-9, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(cut=st.integers(0, 400), junk=st.binary(max_size=6), at=st.integers(0, 400))
def test_a_spoiled_file_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, cut: int, junk: bytes, at: int
) -> None:
    """A file with bytes cut out or put in: a sheet, or an InputError, and nothing else."""
    whole = (
        f'{OPEN}<g id="a" transform="rotate(30 1 2)"><path d="M0 0h3a2 2 0 012 2z"/>'
        '<rect width="3" height="2" rx="1"/></g>'
        '<use href="#a" x="1"/><circle r="1"/><style>.a{display:none}</style></svg>'
    ).encode()
    file = tmp_path_factory.mktemp("spoiled") / "bad.svg"
    file.write_bytes(whole[: at % len(whole)] + junk + whole[at % len(whole) + cut % 9 :])
    try:
        sheet = read_svg_sheet(file)
    except InputError as error:
        assert str(error)
        return
    assert np.isfinite(sheet.wires.start).all()
