"""A document with one of every block, and what a writer might trip over, for tests of writers."""

from __future__ import annotations

from functools import cache

import numpy as np

from fixtures import mesh as meshes
from fixtures.drawings.marks import LEAST, WIDE, Area, Disc, Drawing, Lines, Pen, Words
from fixtures.look import PLUM, PRINTED
from fixtures.mesh import Mesh
from fixtures.shop_sheet.document import (
    SIZES,
    Beside,
    Blanks,
    Cautions,
    Document,
    Figure,
    FullSize,
    Heading,
    Model,
    Page,
    Paper,
    Points,
    Prose,
    Table,
    Ticks,
)

BAR = 150.0
"""Length of the bar on the full-size page, mm."""


def wedge(long: float = 60.0) -> Mesh:
    """A block cut slanting: 6 corners, 8 triangles, 9 edges."""
    side = [(0.0, 0.0), (long, 0.0), (0.0, 25.0)]
    corners = [(x, y, z) for y in (0.0, 40.0) for x, z in side]
    faces = [(0, 1, 2), (5, 4, 3), (0, 3, 4), (0, 4, 1), (1, 4, 5), (1, 5, 2), (2, 5, 3), (2, 3, 0)]
    return meshes.make(corners, faces)


def rod(around: int = 48) -> Mesh:
    """A round rod lying along Z: two caps and `around` sides."""
    angle = 2 * np.pi * np.arange(around) / around
    ring = np.stack((15 * np.cos(angle), 15 * np.sin(angle)), axis=1)
    corners = [(*xy, z) for z in (0.0, 50.0) for xy in ring.tolist()]
    faces = []
    for i in range(around):
        j = (i + 1) % around
        faces += [(i, j, around + j), (i, around + j, around + i)]
        if 0 < i < around - 1:
            faces += [(0, i + 1, i), (around, around + i, around + i + 1)]
    return meshes.make(corners, faces)


def drawing(title: str, wide: float = 120.0, high: float = 70.0) -> Drawing:
    """A framed shape with a hole, a line and a word."""
    frame = np.array([(5.0, 5.0), (wide - 5, 5.0), (wide - 5, high - 5), (5.0, high - 5)])
    line = np.array([[(10.0, high - 20), (wide - 10, high - 20)]])
    return Drawing(
        wide,
        high,
        (
            Area((frame,), PRINTED, Pen(WIDE)),
            Disc((wide / 2, high / 2 - 8), 9.0, PLUM),
            Lines(line, Pen(dash=(3.0, 0.75))),
            Words("DATUM 1/2", (wide / 2, high - 10), LEAST * 1.5, anchor="middle"),
        ),
        title,
        f"{title}, with a hole in the middle.",
    )


def full_size(paper: Paper) -> Drawing:
    """A page as large as the paper with a bar of BAR mm, 30 mm from the left and the top."""
    wide, high = SIZES[paper]
    bar = np.array([[(30.0, 30.0), (30.0 + BAR, 30.0)]])
    ticks = np.array([[(x, 25.0), (x, 35.0)] for x in (30.0, 30.0 + BAR)])
    words = Words("CHECK BAR 150", (30.0, 45.0), 4.0)
    return Drawing(wide, high, (Lines(bar, Pen(0.5)), Lines(ticks, Pen(0.25)), words), "Template")


@cache
def document(paper: Paper = "A4") -> Document:
    """Pages, steps, a full-size page, a model turned in place and one that no figure turns."""
    columns = ("panel", "outside", "inside", "width", "thick", "stock", "grain", "note")
    rows = tuple(
        (f"panel {i}", "420.0 mm", "395.6 mm", "220.0 mm", "12.20 mm", "case", "along", "held back")
        for i in range(1, 6)
    )
    job = Page(
        "job",
        'The job: a "case" & <shelf>',
        (
            Prose("A case 420 mm wide, with readings of 12.0 mm to 12.2 mm – 3/4 in nominal."),
            Table(columns, rows, right=(1, 2, 3, 4), caption="Cut list"),
            Heading("What to print"),
            Table(("count", "part"), (("8 ×", "corner-socket-45C2"), ("2 ×", "rod & pin"))),
            Beside(
                tuple(
                    Figure(drawing(f"Bed {i}", 80.0, 60.0), f"Bed load {i}", 80.0)
                    for i in range(1, 4)
                )
            ),
            Points(("Sand first.", "Measure 20 mm in from the edge.")),
        ),
    )
    steps = tuple(
        Page(
            f"step-{n}",
            f"Put on the sockets, round {n}",
            (
                Figure(drawing(f"In use {n}", 170.0, 90.0), "Where it goes", 170.0, ("wedge",)),
                Points(("Press it on.", "Wind the strap."), numbered=True),
                Heading("Before you go on"),
                Ticks(("The slot is waxed.", "Both diagonals agree within 1 mm.")),
                Blanks("Diagonals as measured", 2, "mm"),
                Blanks("Reading", 1, "in"),
                Cautions(("Keep fingers clear of the strap.", "Never use it under load.")),
            ),
            number=n,
        )
        for n in (1, 2)
    )
    return Document(
        'Kit for "first" piece <A&B>',
        paper,
        (job, *steps, FullSize("template-1", full_size(paper))),
        {
            "wedge": Model(wedge(), drawing("Wedge")),
            "rod & pin": Model(rod(), drawing("Rod and pin", 90.0, 60.0)),
        },
    )
