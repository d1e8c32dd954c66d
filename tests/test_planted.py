"""Errors planted in written meshes: each is caught by the check of its name, and by no other.

The part's promises stay as they are; what is wrong is the mesh that is read back, or where it
stands. Every one has a clean twin: the same part, as it was written, passes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from fixtures import ingest
from fixtures.export import stl
from fixtures.kernels.manifold import load, mesh
from fixtures.mesh import Mesh, bounds, canonical, make
from fixtures.parts.family import Part
from fixtures.produce import proved
from fixtures.solid import Placed, Pose, Solid
from tests.parts.made import part, read_back
from tests.test_proof import box


@dataclass(frozen=True, slots=True)
class Planted:
    """A part, its mesh or its work gone wrong, and the checks that must say so.

    on: what the part stands on, where that is not what it was made for.
    """

    part: Part
    mesh: Mesh
    caught_by: tuple[str, ...]
    on: Part | None = None


def written(wrong: Mesh) -> Mesh:
    """As it comes out of its file."""
    return ingest.read(stl.encode(canonical(wrong), "planted"), "planted.stl").mesh


def failed(made: Part, there: Mesh) -> tuple[str, ...]:
    return tuple(check.name for check in proved(made, there, Pose()) if not check.holds)


def with_more(there: Mesh, more: Solid) -> Mesh:
    """The mesh with a lump on it."""
    raw = (load(there) + load(mesh(more))).to_mesh64()
    return make(np.asarray(raw.vert_properties)[:, :3], raw.tri_verts)


def slot_too_tight() -> Planted:
    """A socket whose slots were written 0.05 mm narrower than those promised."""
    made, tight = (part("corner-socket", clearance=c) for c in (0.40, 0.35))
    slots = tuple(f"{seat.panel.name} in {seat.slot}: play" for seat in made.seats)
    return Planted(made, read_back(tight), slots)


def slot_out_of_place() -> Planted:
    """A socket that stands 0.04 mm beside where its panels are, along panel A."""
    made = part("corner-socket")
    seat_b = made.seats[1]
    shift = 0.04 * np.array(seat_b.normal)
    there = read_back(made)
    shifted = make(there.vertices + shift, there.faces)
    return Planted(made, shifted, (f"{seat_b.panel.name} in {seat_b.slot}: play",))


def spacer_short() -> Planted:
    """A spacer whose head was written 0.5 mm low: all above its middle moved down."""
    made = part("spacer-block")
    there = read_back(made)
    low = there.vertices.copy()
    low[low[:, 2] > 105.0, 2] -= 0.5
    return Planted(made, make(low, there.faces), ("height: size",))


def glue_room_filled() -> Planted:
    """A socket with a rib in its tip relief, 1 mm outside the joint's arris."""
    made = part("corner-socket")
    (bead,) = (bead for bead in made.beads if "tip" in bead.name or "outer" in bead.name)
    x, _, z = bead.start
    rib = box((x - 6.0, -1.0, 1.0), (x - 1.0, 1.0, z + 20.0))
    return Planted(made, with_more(read_back(made), rib), (f"glue: {bead.name}",))


def caul_on_a_sharper_corner() -> Planted:
    """A caul for 90° on a corner of 84°: between legs and panels a wedge of air is left."""
    made, sharp = part("clamp-caul", angle=90.0), part("clamp-caul", angle=84.0)
    bears = ("panel A on leg A: bears", "panel B on leg B: bears")
    return Planted(made, read_back(made), bears, replace(made, rests=sharp.rests))


def caul_end_for_end() -> Planted:
    """A caul turned over on its corner: the strap's way now runs through a lip."""
    made = part("clamp-caul")
    there = read_back(made)
    top = bounds(there)[1][2]
    over = make(there.vertices * (1.0, -1.0, -1.0) + (0.0, 0.0, top), there.faces)
    return Planted(made, over, ("path: strap",))


def crumb_in_the_seat() -> Planted:
    """A pad with a crumb 0.2 mm high left in the jaw's seat."""
    made = part("clamp-caul", form="pad", thickness=(18.1,))
    crumb = box((-15.2, 8.0, 20.0), (-14.0, 10.0, 22.0))
    return Planted(made, with_more(read_back(made), crumb), ("jaw on seat: seated", "comes off"))


PLANTED: tuple[Callable[[], Planted], ...] = (
    slot_too_tight,
    slot_out_of_place,
    spacer_short,
    glue_room_filled,
    caul_on_a_sharper_corner,
    caul_end_for_end,
    crumb_in_the_seat,
)


@pytest.mark.parametrize("plant", PLANTED, ids=lambda plant: plant.__name__)
def test_a_planted_error_is_caught_by_its_own_check(plant: Callable[[], Planted]) -> None:
    planted = plant()
    assert failed(planted.on or planted.part, written(planted.mesh)) == planted.caught_by


@pytest.mark.parametrize("plant", PLANTED, ids=lambda plant: plant.__name__)
def test_its_clean_twin_passes(plant: Callable[[], Planted]) -> None:
    made = plant().part
    assert failed(made, written(read_back(made))) == ()


def test_a_caul_on_a_blunter_corner_runs_into_the_panels() -> None:
    """90° on 96°: the other way round of being wrong."""
    made, blunt = part("clamp-caul", angle=90.0), part("clamp-caul", angle=96.0)
    found = failed(replace(made, rests=blunt.rests), read_back(made))
    assert found == ("panel A on leg A: seated", "panel B on leg B: seated", "comes off")


def test_nothing_moved_is_nothing_found() -> None:
    """Standing the mesh and its promises elsewhere together changes no verdict."""
    made = part("clamp-caul")
    there = mesh(Placed(made.solid, Pose(at=(10.0, -3.0, 2.0))))
    assert all(check.holds for check in proved(made, there, Pose(at=(10.0, -3.0, 2.0))))
