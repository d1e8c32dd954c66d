"""The exact kernel by itself: closed forms to rounding, true arcs, its own refusals."""

from __future__ import annotations

import itertools
import math
import re
from pathlib import Path

import pytest

from fixtures.errors import KernelError, PartRefused
from fixtures.outline import Arc, Line, Outline, polygon_outline
from fixtures.solid import (
    Box,
    Break,
    Cylinder,
    Difference,
    EdgeBrokenExtrude,
    Placed,
    Pose,
    Union,
)
from tests.zoo import ALL_SOUND, NASTY, SKIN, Nasty, Specimen, at

pytest.importorskip("OCP", reason="the exact kernel's library is missing (panelry[brep])")
from fixtures.kernels import brep


@pytest.mark.parametrize("part", ALL_SOUND, ids=lambda part: part.name)
def test_sound_part_has_its_closed_form_to_rounding(part: Specimen) -> None:
    assert brep.volume(part.solid) == pytest.approx(part.volume, rel=1e-11)


@pytest.mark.parametrize("part", ALL_SOUND, ids=lambda part: part.name)
def test_sound_part_is_one_valid_body(part: Specimen) -> None:
    assert brep.bodies(part.solid) == 1
    assert brep.is_valid(part.solid)


@pytest.mark.parametrize("part", [n for n in NASTY if n.bodies], ids=lambda part: part.name)
def test_nasty_part_has_as_many_bodies_as_in_truth(part: Nasty) -> None:
    assert brep.bodies(part.solid) == part.bodies


def test_skin_of_a_rounding_error_is_no_skin() -> None:
    """30 mm³ less a hole of 4 pi right through; a plate and a dimple would have the same volume,
    but not a wall, plate sides and two ring faces: 4 + 2 + the wall.
    """
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer

    faces = TopExp_Explorer(brep.solid_of(SKIN), TopAbs_ShapeEnum.TopAbs_FACE)
    n_faces = 0
    while faces.More():
        n_faces += 1
        faces.Next()
    assert n_faces == 4 + 2 + 1


def test_an_arc_stays_one_true_cylinder() -> None:
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    quarter = Outline((4, 0), (Arc((0, 4), (0, 0)), Line((0, 0)), Line((4, 0))))
    faces = TopExp_Explorer(
        brep.solid_of(EdgeBrokenExtrude((quarter,), 3)), TopAbs_ShapeEnum.TopAbs_FACE
    )
    radii = []
    while faces.More():
        surface = BRepAdaptor_Surface(TopoDS.Face(faces.Current()))
        if surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cylinder:
            radii.append(surface.Cylinder().Radius())
        faces.Next()
    assert radii == [4.0]


def test_box_lost_beside_a_piercing_cone_is_kept() -> None:
    """A bar 20.024 long through a cube of 20 leaves 1 × 1 × 0.024 outside; a slim cone stays within
    but for a sliver. Fused in one go the library lost the cube or half the bar.
    """
    across = math.sqrt(1 - 0.992**2)
    turned = Pose((0.992, 0.0, across), (0.0, -1.0, 0.0), (across, 0.0, -0.992), (10.0, 10.0, 10.0))
    over = Pose((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0), (10.0, 10.0, 10.0))
    bar = Placed(at(Box((1, 1, 20.024)), -0.5, -0.5, -10.012), over)
    cone = Placed(at(Cylinder(0.5, 19.85, 1.3265), 0, 0, -9.925), turned)
    for parts in itertools.permutations((Box((20, 20, 20)), bar, cone)):
        assert 8000.024 <= brep.volume(Union(parts)) < 8000.025


def test_ribs_lost_at_a_leaning_wall_are_kept() -> None:
    """Two ribs apart add to an arm at 60° what each adds alone. Fused with each other first, as a
    compound, the library lost both.
    """
    edge = Break(1.0, 1.0)

    def prism(height: float, *corners: tuple[float, float]) -> EdgeBrokenExtrude:
        return EdgeBrokenExtrude((polygon_outline(corners),), height, edge, edge)

    arm = prism(
        35.0,
        (31.867136103677474, -67.19549882328188),
        (33.233161507461915, -67.56152422706631),
        (54.5373864405591, -55.26152422706631),
        (54.90341184434354, -53.89549882328187),
        (27.71281292110204, -6.799999999999995),
        (61.88823940164498, 52.393575034635184),
        (61.52221399786054, 53.759600438419625),
        (34.32901631902917, 69.45960043841963),
        (32.96299091524473, 69.0935750346352),
        (-5.92820323027551, 1.7320508075688763),
        (-5.92820323027551, -1.7320508075688763),
    )
    near = prism(
        31.0,
        (31.251488055696854, -16.929165124598846),
        (38.17969128597236, -12.929165124598843),
        (35.67969128597236, -8.599038105676652),
        (28.751488055696854, -12.599038105676653),
    )
    far = prism(
        31.0,
        (50.92136103677467, -50.9983845062519),
        (57.84956426705017, -46.9983845062519),
        (55.34956426705017, -42.66825748732971),
        (48.42136103677467, -46.66825748732971),
    )
    apart = sum(brep.volume(Union((arm, rib))) for rib in (near, far)) - brep.volume(arm)
    assert apart > brep.volume(arm) + 1000
    for parts in ((arm, near, far), (near, far, arm), (arm, Union((near, far)))):
        assert brep.volume(Union(parts)) == pytest.approx(apart)


def test_library_error_is_raised_as_ours_from_the_original() -> None:
    """An arc that does not end on its circle leaves a gap that only the library notices."""
    outline = Outline((5, 0), (Arc((0, 4), (0, 0)), Line((0, 0)), Line((5, 0))))
    with pytest.raises(KernelError) as caught:
        brep.volume(EdgeBrokenExtrude((outline,), 1))
    assert str(caught.value).startswith("the exact kernel failed: StdFail_NotDone")
    assert type(caught.value.__cause__).__module__.startswith("OCP")


def test_error_that_is_not_the_librarys_passes_unchanged() -> None:
    with pytest.raises(TypeError):
        brep.volume(Box((1, 2)))  # type: ignore[arg-type]


def test_a_refusal_is_not_taken_for_a_failure_of_the_library() -> None:
    with pytest.raises(PartRefused):
        brep.bounds(Difference(Box((1, 1, 1)), (Box((2, 2, 2)),)))


def test_library_does_not_chatter(capfd: pytest.CaptureFixture[str]) -> None:
    for part in ALL_SOUND[::4]:
        brep.is_valid(part.solid)
    assert capfd.readouterr() == ("", "")


def test_no_other_module_loads_the_library() -> None:
    """It takes a second to load, so the rest of the package must not come near it."""
    package = Path(brep.__file__).parents[1]
    sources = {
        path.relative_to(package).as_posix(): path.read_text("utf-8")
        for path in package.rglob("*.py")
    }
    loads = re.compile(r"^\s*(?:from|import)\s+OCP\b", re.MULTILINE)
    assert [name for name, text in sources.items() if loads.search(text)] == ["kernels/brep.py"]
    at_start = re.compile(
        r"^(?:from fixtures\.kernels import .*\bbrep\b|.*fixtures\.kernels\.brep)", re.MULTILINE
    )
    assert not [name for name, text in sources.items() if at_start.search(text)]
