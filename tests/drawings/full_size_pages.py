"""Pages at full size, measured as printed: pixels of a PDF, read by another library."""

from __future__ import annotations

from functools import cache

import numpy as np
import pypdfium2

from fixtures.drawings import lettering
from fixtures.drawings.marks import Area, Disc, Drawing, Lines, Mark, Picture, Words
from fixtures.kit import Kit
from fixtures.shop_sheet import full_size_pages, pdf
from fixtures.shop_sheet.document import Document, Paper
from tests.shop_sheet.kits import EXAMPLES, KINDS, example, small

DOTS = 10.0
"""Pixels of a measured page to a mm."""
POINT = 25.4 / 72

__all__ = ["DOTS", "KINDS", "boxes", "example", "named", "pages", "pixels", "small"]


def named(name: str) -> Kit:
    """The kit of the example of that name."""
    return example(next(path for path in EXAMPLES if path.stem == name))


def pages(kit: Kit, paper: Paper, key: str) -> list[Drawing]:
    """Labels or templates of a kit."""
    made = full_size_pages.pages(kit, paper)
    return [page.drawing for page in made if page.key.startswith(key)]


@cache
def _written(name: str, paper: Paper) -> bytes:
    kit = named(name)
    return pdf.encode(Document(name, paper, full_size_pages.pages(kit, paper)))


def pixels(name: str, paper: Paper, number: int) -> np.ndarray:
    """A full-size page of an example, counted from 0: darkness 0 to 1, 10 pixels to a mm."""
    page = pypdfium2.PdfDocument(_written(name, paper))[number]
    grey = np.asarray(page.render(scale=DOTS * POINT, grayscale=True).to_numpy())
    return 1.0 - grey.reshape(grey.shape[:2]) / 255.0


def boxes(mark: Mark) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of what a mark inks."""
    match mark:
        case Words():
            return lettering.box(mark)
        case Disc(at, radius, _, pen):
            reach = radius + (pen.width / 2 if pen else 0.0)
            return at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach
        case Lines(ends, pen):
            corners, half = ends.reshape(-1, 2), pen.width / 2
        case Area(rings, _, own):
            corners, half = np.concatenate(rings), own.width / 2 if own else 0.0
        case Picture(_, at, wide, high):
            return *at, at[0] + wide, at[1] + high
    (left, top), (right, bottom) = corners.min(axis=0), corners.max(axis=0)
    return left - half, top - half, right + half, bottom + half
