"""One job a call, for timing whole cold processes: `python -m tests.bench.jobs NAME FOLDER`."""

from __future__ import annotations

import sys
from pathlib import Path


def ours(folder: Path) -> None:
    """The default corner socket as an STL file; advice and proof off."""
    from fixtures.export import stl
    from fixtures.kernels import manifold
    from fixtures.parts.catalog import family
    from fixtures.printer import Printer

    chosen = family("corner-socket")
    part = chosen.build(chosen.parameters(thickness=("12.2 mm",)), Printer())
    (folder / "ours.stl").write_bytes(stl.encode(manifold.mesh(part.solid), "bench"))


def peer(folder: Path) -> None:
    """The same solid through trimesh, as an STL file."""
    from fixtures.parts.catalog import family
    from fixtures.printer import Printer
    from tests.bench import peers

    chosen = family("corner-socket")
    part = chosen.build(chosen.parameters(thickness=("12.2 mm",)), Printer())
    peers.solid(part.solid).export(folder / "peer.stl")


if __name__ == "__main__":
    {"ours": ours, "peer": peer}[sys.argv[1]](Path(sys.argv[2]))
