"""The picture of a kit, judged by where its pixels are inked."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.kit_picture import picture
from tests.export.test_picture import FRONT, WHITE, decoded
from tests.test_kit import made

DARK = 200  # sum of three channels; the edges' ink has 122


def light(kind: str, **view: tuple[float, float]) -> np.ndarray:
    """Sum of the channels at each pixel."""
    return decoded(picture(made(kind), **view)).astype(int).sum(axis=2)


def runs(there: np.ndarray) -> int:
    """How many runs of true values a row has."""
    return int(np.count_nonzero(np.diff(np.concatenate(([0], there.astype(int)))) == 1))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "cases"), [("mitred", 1), ("tops run", 2)], ids=["blind dowels", "through dowels"]
)
def test_shelves_set_after_glue_up_are_drawn_beside_it(kind: str, cases: int) -> None:
    assert runs((light(kind) < WHITE).any(axis=0)) == cases


@pytest.mark.slow
def test_a_groove_draws_no_seam_along_a_boards_front_edge() -> None:
    drawn = light("mitred", view=FRONT)
    inked = np.flatnonzero((drawn < WHITE).any(axis=1))
    middle = drawn[int(inked[0] + inked[-1]) // 2]
    # two arrises of the left side's front edge, and two of the right one's
    assert runs(middle < DARK) == 4
