"""Meshes that nobody here made, out of packages from the registry that the `test` extra installs.

They are found by the ends of their paths among the packages' own files; no code of the packages is
imported. Both are under the MIT licence, the robots' and kitchen's meshes as their package says
under the Apache licence or MIT.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import files
from pathlib import Path

ROBOTICS = "gymnasium-robotics"
"""A kitchen, hands and arms for learning to act in; binary STL, most in metres, some in mm."""
ARCHITECTURE = "compas"
"""Small samples of an open framework for architecture and structures; STL and OBJ."""


@dataclass(frozen=True, slots=True)
class Foreign:
    """package: whose it is; path: how its path in the package ends; halved: how often every edge
    is halved (by the peer, in place), where a package has none as large."""

    package: str
    path: str
    halved: int = 0

    def __str__(self) -> str:
        name = self.path.rsplit("/", 1)[-1]
        return f"{name}/{4**self.halved}" if self.halved else name

    def read(self) -> bytes:
        """The file's bytes.

        Raises:
            FileNotFoundError: the package is not installed, or has no such file any more.
        """
        found = sorted(
            Path(str(one.locate()))
            for one in files(self.package) or ()
            if one.as_posix().endswith("/" + self.path)
        )
        if not found:
            raise FileNotFoundError(f"{self.package} has no {self.path}")
        return found[0].read_bytes()


def _of(package: str, *paths: str) -> tuple[Foreign, ...]:
    return tuple(Foreign(package, path) for path in paths)


WHOLE = (
    *_of(ROBOTICS, "hand/F1.stl", "hand/F2.stl", "hand/TH2_z.stl", "hand/TH3_z.stl"),
    *_of(ROBOTICS, "hand/knuckle.stl", "hand/lfmetacarpal.stl", "meshes/distal_ellipsoid.stl"),
    *_of(ROBOTICS, "meshes/burnerplate.stl", "meshes/handle2.stl"),
    *_of(ROBOTICS, "meshes/kettlehandle.stl", "meshes/hood.stl", "meshes/lightswitchbase.stl"),
    *_of(ROBOTICS, "meshes/micro.stl", "meshes/microhandle.stl", "meshes/microbutton.stl"),
    *_of(ROBOTICS, "visual/link2.stl", "visual/finger.stl", "collision/hand.stl"),
    *_of(ROBOTICS, "collision/link5.stl", "meshes/cabinetdrawer.stl", "meshes/slidecabinet.stl"),
    *_of(ARCHITECTURE, "samples/cone.stl"),
)
"""Closed meshes, of one body and of several."""
LARGE = (
    Foreign(ROBOTICS, "hand/F2.stl", halved=4),
    Foreign(ROBOTICS, "hand/knuckle.stl", halved=4),
    Foreign(ROBOTICS, "meshes/distal_ellipsoid.stl", halved=4),
)
"""Above 100,000 triangles. No mesh of these packages has as many and a surface that is closed, so
theirs are halved: the same shapes, cut finer."""
OPEN = (
    *_of(ROBOTICS, "hand/F3.stl", "hand/wrist.stl", "hand/palm.stl", "meshes/elbow_flex.stl"),
    *_of(ROBOTICS, "meshes/knob.stl", "meshes/kettle.stl", "meshes/countertop.stl"),
    *_of(ROBOTICS, "meshes/faucet.stl", "meshes/upper_arm.stl", "meshes/forearm_muscle.stl"),
    *_of(ARCHITECTURE, "samples/hypar.obj", "samples/mesh.obj"),
)
"""Surfaces with holes, sheets, and one that is closed with faces turned against each other."""
