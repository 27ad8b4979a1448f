"""Pages of a PDF as a printer shows them: their words with their places, their tones, their colours."""

import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

Tones = npt.NDArray[np.uint8]
PER_POINT = 1 / 72  # in


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A word on a page, with the box about it in points from the top left corner."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


def words(pdf: bytes, folder: Path) -> list[tuple[tuple[float, float], list[Word]]]:
    """Each page's size in points, and its words with their places."""
    shown = _told(["pdftotext", "-bbox"], pdf, folder, ["-"]).decode()
    pages = []
    for size, body in re.findall(r"<page ([^>]*)>(.*?)</page>", shown, re.S):
        wide, high = (float(one) for one in re.findall(r'"([\d.]+)"', size))
        found = re.findall(
            r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', body
        )
        pages.append(
            (
                (wide, high),
                [
                    Word(text=text, left=float(x), top=float(y), right=float(xx), bottom=float(yy))
                    for x, y, xx, yy, text in found
                ],
            )
        )
    return pages


def text(pdf: bytes, folder: Path) -> list[str]:
    """The words on each page in the order in which it was set, runs of space made one."""
    shown = _told(["pdftotext", "-raw"], pdf, folder, ["-"]).decode()
    return [" ".join(page.replace("\u200b", "").split()) for page in shown.split("\f")[:-1]]


def collisions(found: list[Word]) -> list[tuple[str, str]]:
    """Words of one page that lie over each other by more than a third of a line."""

    def over(one: Word, other: Word) -> bool:
        across = min(one.right, other.right) - max(one.left, other.left)
        down = min(one.bottom, other.bottom) - max(one.top, other.top)
        return across > 0.6 and down > 0.35 * min(one.bottom - one.top, other.bottom - other.top)

    return [
        (one.text, other.text)
        for place, one in enumerate(found)
        for other in found[place + 1 :]
        if over(one, other)
    ]


def grey(pdf: bytes, folder: Path, *, per_inch: int) -> list[Tones]:
    """The pages as a grey-scale printer has them: 0 black, 255 white."""
    return [one[..., 0] for one in _pictures(pdf, folder, ["-gray"], per_inch)]


def coloured(pdf: bytes, folder: Path, *, per_inch: int) -> list[Tones]:
    """The pages in red, green and blue."""
    return _pictures(pdf, folder, [], per_inch)


def contrast(darker: int, lighter: int) -> float:
    """The ratio of two grey tones' luminance. Source: WCAG 2.2, relative luminance and contrast ratio."""

    def luminance(tone: int) -> float:
        share = tone / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    return (luminance(lighter) + 0.05) / (luminance(darker) + 0.05)


def _pictures(pdf: bytes, folder: Path, options: list[str], per_inch: int) -> list[Tones]:
    root = folder / "page"
    for old in folder.glob("page-*"):
        old.unlink()
    _told(["pdftoppm", "-r", str(per_inch), *options], pdf, folder, [str(root)])
    return [_read(path) for path in sorted(folder.glob("page-*.p?m"))]


def _read(path: Path) -> Tones:
    """A binary PGM or PPM file: rows, columns, one tone or three."""
    kind, size, _, body = path.read_bytes().split(b"\n", 3)
    wide, high = map(int, size.split())
    return np.frombuffer(body, dtype=np.uint8).reshape(high, wide, 1 if kind == b"P5" else 3)


def _told(command: list[str], pdf: bytes, folder: Path, last: list[str]) -> bytes:
    name, *options = command
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} (poppler) is not on this machine")
    file = folder / "printed.pdf"
    file.write_bytes(pdf)
    return subprocess.run([found, *options, file, *last], capture_output=True, check=True).stdout
