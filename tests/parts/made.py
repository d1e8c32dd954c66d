"""Parts built once for many tests, by family and parameters given as keywords."""

from __future__ import annotations

from functools import cache
from typing import Any

from fixtures import ingest
from fixtures.export import stl
from fixtures.features import features
from fixtures.kernels import manifold
from fixtures.mesh import Mesh
from fixtures.parts.catalog import family
from fixtures.parts.family import Part
from fixtures.printer import Printer
from fixtures.solid import Difference, Feature, Solid

PRINTER = Printer()
DEFAULTS: dict[str, dict[str, Any]] = {
    "corner-socket": {"thickness": (12.2,)},
    "spacer-block": {"height": 210.0},
    "drill-guide": {"thickness": (19.2,)},
    "depth-sleeve": {"stand_out": 90.0},
    "clamp-caul": {},
    "leg-socket": {"size": (28.2,)},
    "slot-comb": {"thickness": (12.2,)},
    "fit-coupon": {"thickness": (12.2,)},
}
FORMS: dict[str, dict[str, Any]] = {
    "corner-socket: cup": {"panels": 3},
    "corner-socket: block": {"panels": 3, "piece": "block"},
    "corner-socket: connector": {"stays": True},
    "corner-socket: connector of three": {"panels": 3, "stays": True},
    "leg-socket: raked and splayed": {"rake": 10.0, "splay": 14.0, "length": 150.0},
    "leg-socket: square": {"section": "square", "base": "square", "rake": 14.0, "splay": 10.0},
}
"""Forms of a family besides its default one, by `family: form`."""


def part(name: str, **values: Any) -> Part:
    """A family's part, or one of FORMS."""
    plain = name.partition(":")[0]
    chosen, asked = family(plain), DEFAULTS[plain] | FORMS.get(name, {}) | values
    return chosen.build(chosen.parameters(**asked), PRINTER)


@cache
def _mesh(made: Part) -> Mesh:
    return ingest.read(stl.encode(manifold.mesh(made.solid), "test"), "test.stl").mesh


def read_back(made: Part) -> Mesh:
    """The part's mesh as it comes out of its STL file, in its own axes."""
    return _mesh(made)


def unlabelled(solid: Solid) -> Solid:
    """The part without its engraved text."""
    assert isinstance(solid, Difference)
    cuts = tuple(
        cut for cut in solid.cuts if not (isinstance(cut, Feature) and cut.recipe.kind == "label")
    )
    return Difference(solid.body, cuts)


def feature_names(made: Part) -> list[str]:
    return [feature.name for feature, _ in features(made.solid)]
