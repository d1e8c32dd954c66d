"""Drawings to test with, and their files read by other programs' libraries."""

from __future__ import annotations

import io

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest
from PIL import Image

from fixtures.drawings.marks import Area, Disc, Drawing, Lines, Mark, Pen, Picture, Words
from fixtures.export import picture
from fixtures.look import GREY, INK, PALE, PAPER, PLUM, PRINTED, WOOD
from fixtures.mesh import Floats

Greys = npt.NDArray[np.float64]
BLACK = (0, 0, 0)


def ring(x: float, y: float, radius: float, corners: int = 60) -> Floats:
    turn = np.linspace(0.0, 2 * np.pi, corners, endpoint=False)
    return np.column_stack((x + radius * np.cos(turn), y + radius * np.sin(turn)))


def rectangle(x: float, y: float, wide: float, high: float) -> Floats:
    return np.array([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)])


def chequered() -> bytes:
    """A PNG of 40 × 30 pixels in squares of 10."""
    y, x = np.mgrid[0:30, 0:40]
    dark = (x // 10 + y // 10) % 2 == 0
    return picture.png(np.where(dark[:, :, None], INK, WOOD).astype(np.uint8))


def on_paper(*marks: Mark, wide: float = 60.0, high: float = 40.0) -> Drawing:
    return Drawing(wide, high, marks, "A test")


EVERYTHING = Drawing(
    120.0,
    90.0,
    (
        Area((rectangle(8, 8, 40, 24), ring(20, 20, 6)), PRINTED, Pen(0.5)),
        Area((rectangle(56, 8, 20, 24),), WOOD, Pen(0.25, GREY, (3.0, 0.75))),
        Disc((92.0, 20.0), 9.0, PALE, Pen(0.5, PLUM)),
        Disc((110.0, 20.0), 5.0, None, Pen(0.25, INK, (2.0, 1.0))),
        Lines(np.array([((8.0, 38.0), (112.0, 44.0)), ((112.0, 44.0), (112.0, 38.0))]), Pen(0.25)),
        Lines(np.array([((8.0, 48.0), (112.0, 48.0))]), Pen(0.5, PLUM, (6.0, 2.0))),
        Words('Shelf <"&> 3/4 in, ⌀8 ± 0.2', (8.0, 58.0), 4.0),
        Words("up", (112.0, 84.0), 5.0, PLUM, "end", 90.0),
        Picture(chequered(), (8.0, 64.0), 28.0, 21.0),
    ),
    "Everything <&>",
    'One of each "mark"',
    PAPER,
)


def of_png(data: bytes) -> Greys:
    """Lightness of a PNG, 0 to 255, read by Pillow."""
    with Image.open(io.BytesIO(data)) as opened:
        assert opened.format == "PNG"
        return np.asarray(opened.convert("L"), dtype=np.float64)


def of_pdf(data: bytes, dots: float, page: int = 0) -> Greys:
    """Lightness of a page of a PDF, drawn by pypdfium2 at so many pixels to a mm.

    It stretches a page to whole pixels, rounding up; the slack is for sizes that are whole already.
    """
    document = pypdfium2.PdfDocument(data)
    try:
        size = document[page].get_size()
        drawn = document[page].render(scale=dots * 25.4 / 72 * (1 - 1e-4)).to_pil().convert("L")
        assert drawn.size == pytest.approx([value / 72 * 25.4 * dots for value in size], abs=0.1)
        return np.asarray(drawn, dtype=np.float64)
    finally:
        document.close()


def middle(grey: Greys, dots: float, box: tuple[float, float, float, float]) -> tuple[float, float]:
    """Where the ink inside a box (left, top, right, bottom in mm) has its middle, mm.

    Weighing the ink finds it to a small part of a pixel. The paper is the box's lightest pixel.
    """
    left, top, right, bottom = (round(value * dots) for value in box)
    ink = grey[top:bottom, left:right]
    ink = ink.max() - ink
    x = (np.arange(left, right) + 0.5) / dots
    y = (np.arange(top, bottom) + 0.5) / dots
    total = ink.sum()
    assert total > 0
    return float((ink.sum(axis=0) * x).sum() / total), float((ink.sum(axis=1) * y).sum() / total)
