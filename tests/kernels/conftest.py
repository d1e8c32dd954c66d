"""The kernels under one roof: what both must say of a part, and how far each may be off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from fixtures import mesh as meshes
from fixtures.kernels import manifold
from fixtures.solid import Solid, Vec

DEFLECTION = 0.01


@dataclass(frozen=True)
class Kernel:
    """deflection: how far a curved wall may be drawn from the true one, mm; rounding: how far any
    coordinate below 64 mm may be off, mm; body: whether it holds one body or more.
    """

    name: str
    deflection: float
    rounding: float
    volume: Callable[[Solid], float]
    bounds: Callable[[Solid], tuple[Vec, Vec]]

    def allowance(self, volume: float, curved: float = 0.0) -> float:
        """mm³ that a part may be short of; half as much over is left to rounding alone."""
        return self.deflection * curved + self.blur(volume)

    def blur(self, volume: float) -> float:
        """mm³ by rounding: six walls of a cube of the volume, taken twice for thin parts."""
        return 2 * 6 * volume ** (2 / 3) * self.rounding


def _mesh_kernel() -> Kernel:
    def made(solid: Solid) -> meshes.Mesh:
        return manifold.mesh(solid, DEFLECTION)

    return Kernel(
        "manifold",
        DEFLECTION,
        2.0**-19,  # half a float32 step from 32 to 64 mm
        lambda solid: meshes.volume(made(solid)),
        lambda solid: meshes.bounds(made(solid)),
    )


def _exact_kernel() -> Kernel:
    pytest.importorskip("OCP", reason="the exact kernel's library is missing (panelry[brep])")
    from fixtures.kernels import brep

    # 1e-7 mm: within which the library takes two points for one and trims skew curves
    return Kernel("brep", 0.0, 1e-7, brep.volume, brep.bounds)


@pytest.fixture(scope="session", params=["manifold", "brep"])
def kernel(request: pytest.FixtureRequest) -> Kernel:
    return _mesh_kernel() if request.param == "manifold" else _exact_kernel()
