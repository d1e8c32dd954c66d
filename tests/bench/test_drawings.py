"""Hidden lines and sections, measured when asked for: see test_budgets."""

from __future__ import annotations

import pytest

from fixtures.drawings.hidden import projected
from fixtures.drawings.section import hatched, section_at
from fixtures.export.picture import FRONT_RIGHT, View
from fixtures.features import Label
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.solid import Difference, Feature
from tests.bench.test_budgets import perforated, timed, told

pytestmark = pytest.mark.bench


def lettered(holes: int, rows: int) -> Mesh:
    """A guide of 184 × 60 mm with holes in two rows, and lines of letters on front and back."""
    words = "DRILL 8 IN 19 WORK FROM HERE TO B"
    front = ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0))
    back = ((0.0, -1.0, 0.0), (-1.0, 0.0, 0.0))
    places = [((8.0, 0.0, z), *front) for z in (2.5, 8.5, 14.5)]
    places += [((176.0, 60.0, z), *back) for z in (2.5, 8.5, 14.5)]
    labels = tuple(
        Feature(f"label_{i + 1}", Label(*place, words, 4.0))
        for i, place in enumerate(places[:rows])
    )
    return manifold.mesh(Difference(perforated(holes, holes // 2), labels))


@pytest.mark.parametrize("view", [FRONT_RIGHT, (0.0, 0.0), (0.0, 90.0)])
@pytest.mark.parametrize(
    ("holes", "rows", "budget"), [(12, 3, 300), (2, 6, 500)], ids=["guide", "letters"]
)
def test_hidden_lines(holes: int, rows: int, budget: int, view: View) -> None:
    mesh = lettered(holes, rows)
    name = f"hidden lines of {len(mesh.faces)} triangles from {view}"
    taken = timed(lambda: projected([mesh], view))
    assert told(name, taken, str(budget)) < 4 * budget / 1000


def test_a_section_with_its_hatching() -> None:
    mesh = lettered(12, 6)

    def job() -> None:
        hatched(section_at(mesh, "z", 10.0).rings, 2.0)

    assert told(f"section of {len(mesh.faces)} triangles", timed(job), "50") < 0.2
