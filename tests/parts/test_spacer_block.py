"""spacer-block: it stands, it is as high as it says, and two halves make one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures import proof
from fixtures.errors import PartRefused
from fixtures.features import Label, features
from fixtures.kernels import manifold
from fixtures.mesh import bounds, volume
from fixtures.parts.family import Part, steady
from fixtures.parts.spacer_block import on_top
from fixtures.produce import produce
from tests.parts.made import PRINTER, part, read_back, unlabelled


@pytest.mark.parametrize("height", [12.0, 20.0, 33.9, 34.0, 60.0, 120.0, 210.0, 400.0])
def test_height_is_set_between_two_faces_that_bear(height: float) -> None:
    made = part("spacer-block", height=height)
    checks = proof.spans(read_back(made), made.spans)
    assert len(checks) == 3
    assert all(check.holds for check in checks)


def test_footprint_is_at_least_60_by_40() -> None:
    low, high = bounds(read_back(part("spacer-block", height=80.0)))
    assert (high[0] - low[0], high[1] - low[1]) == pytest.approx((40.0, 60.0))


@pytest.mark.parametrize(("height", "lip"), [(12.0, 0.0), (60.0, 15.0), (228.0, 0.0)])
def test_it_stands_by_itself(height: float, lip: float) -> None:
    """The centre of mass lies over the foot, and 5 mm or more from each edge but the panel's."""
    mesh = read_back(part("spacer-block", height=height, lip=lip))
    corners = mesh.triangles
    six = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    centre = (corners.sum(axis=1) * six[:, None]).sum(axis=0) / (4 * six.sum())
    flat = np.all(np.abs(corners[:, :, 2]) < 1e-6, axis=1)
    foot = corners[flat].reshape(-1, 3)
    assert foot[:, 0].min() + 1.0 < centre[0] < foot[:, 0].max() - 5.0
    assert foot[:, 1].min() + 5.0 < centre[1] < foot[:, 1].max() - 5.0


def test_glue_has_six_millimetres_under_the_shelf_joint() -> None:
    """A 5.8 mm triangular bead has room under the joint of side and shelf; 6.4 mm has not."""
    made = part("spacer-block", height=80.0)
    body = manifold.load(read_back(made))

    def wedge(leg: float) -> manifold.m3.Manifold:
        points = [(0, y, 80) for y in (5, 55)] + [(leg, y, 80) for y in (5, 55)]
        return manifold.m3.Manifold.hull_points(
            np.array(points + [(0, y, 80 - leg) for y in (5, 55)], dtype=float)
        )

    assert proof.overlap(body, wedge(5.8)) == 0.0
    assert proof.overlap(body, wedge(6.4)) > 0.0


def test_two_like_halves_key_together_to_the_whole_height() -> None:
    made = part("spacer-block", height=400.0)
    assert made.quantity == 4
    half = manifold.load(read_back(made))
    other = half.rotate((180.0, 0.0, 0.0)).translate((0.0, 60.0, 400.0))
    assert proof.overlap(half, other) == 0.0
    pose = on_top(made.spans[0])
    stood = half.transform(np.column_stack([pose.x, pose.y, pose.z, pose.at]))
    assert (stood ^ other).volume() == pytest.approx(other.volume(), rel=1e-6)
    box = (half + other).bounding_box()
    assert box[5] - box[2] == pytest.approx(400.0, abs=1e-4)
    for aside in (0.3, -0.3):
        assert proof.overlap(half, other.translate((0.0, aside, 0.0))) > 0.0
    assert proof.overlap(half, other.translate((0.0, 0.0, -0.05))) > 0.0


def test_a_tall_one_is_light() -> None:
    """A 200 mm spacer is not a solid bar of 60 × 40: less than a quarter of that plastic."""
    assert volume(read_back(part("spacer-block", height=200.0))) < 60 * 40 * 200 / 4


def test_too_tall_for_the_bed_is_refused_with_the_remedy() -> None:
    with pytest.raises(PartRefused) as refusal:
        part("spacer-block", height=460.0)
    assert str(refusal.value) == (
        "A spacer of 460 mm does not fit a bed of 240 mm, not even as two halves (at most 448 "
        "mm). Rip an offcut to this height: it is stiffer and made in five minutes."
    )
    with pytest.raises(PartRefused, match="a lip would stand on both"):
        part("spacer-block", height=300.0, lip=6.0)


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize(("height", "lip"), [(20.0, 3.0), (80.0, 6.0), (120.0, 15.0)])
def test_a_lip_prints_without_support(height: float, lip: float, hand: str) -> None:
    made = produce(part("spacer-block", height=height, lip=lip, hand=hand), PRINTER, biased=False)
    assert not made.advice.supports
    assert not [f for f in made.advice.findings if f.severity != "note"]


def test_a_lip_too_low_to_stop_a_shelf_is_refused() -> None:
    with pytest.raises(PartRefused, match="A lip of 1 mm stops no shelf; it must be 3 mm or more"):
        part("spacer-block", height=80.0, lip=1.0)


def test_the_lip_stands_at_the_front_of_either_hand() -> None:
    for hand, front in (("left", 0.0), ("right", 60.0)):
        mesh = read_back(part("spacer-block", height=80.0, lip=8.0, hand=hand))
        top = mesh.vertices[mesh.vertices[:, 2] > 87.9]
        assert len(top)
        assert np.abs(top[:, 1] - front).max() < 6.0 + 1e-6


def test_deep_shelves_want_two_a_side() -> None:
    assert part("spacer-block", shelf_depth=200.0).quantity == 2
    assert part("spacer-block", shelf_depth=201.0).quantity == 4


def test_an_offcut_is_named_where_it_serves_as_well() -> None:
    checks = [f.check for f in part("spacer-block", height=120.0).findings]
    assert checks == ["offcut-serves"]
    assert not part("spacer-block", height=120.0, lip=6.0).findings


def test_the_tilt_of_a_mismatch_is_told() -> None:
    """0.1 mm over 600 mm is atan(0.1 / 600) = 0.0095 degrees (plane trigonometry)."""
    notes = " ".join(part("spacer-block").notes)
    assert f"{math.degrees(math.atan(0.1 / 600)):.3f}°" in notes


def test_volume_agrees_with_the_exact_kernel_within_the_chord() -> None:
    brep = pytest.importorskip("fixtures.kernels.brep", reason="exact kernel not installed")
    for height in (20.0, 60.0, 210.0):
        solid = unlabelled(part("spacer-block", height=height).solid)
        # round walls of finger hole or windows, with their 1 mm breaks
        walls = 2 * (2 * math.pi * 14.5) * 8.5
        off = volume(manifold.mesh(solid)) - brep.volume(solid)
        assert abs(off) <= 0.01 * walls


def test_it_prints_without_support_on_its_web() -> None:
    made = produce(part("spacer-block", height=210.0), PRINTER, biased=False)
    low, high = bounds(made.mesh)
    assert high[2] - low[2] == pytest.approx(40.0)
    assert not made.advice.supports


def texts(made: Part) -> list[str]:
    return [f.recipe.text for f, _ in features(made.solid) if isinstance(f.recipe, Label)]


def test_one_height_has_one_mark_and_one_label_however_it_was_summed() -> None:
    """All 1/64 in up to 12 in, over boards of 0.700 to 0.750 in by 0.001: floats a hair apart."""
    for n in range(32, 12 * 64 + 1, 13):
        height = n * 25.4 / 64
        for mil in range(700, 751, 3):
            thick = mil * 25.4 / 1000
            for meant in (height, height + thick, (height + thick) / 2):
                told = {(steady(v, 3), steady(v, 2)) for v in (meant, meant - 1e-8, meant + 1e-8)}
                told.add((steady((meant + thick) - thick, 3), steady((meant - 7.3) + 7.3, 2)))
                assert len(told) == 1, meant


@pytest.mark.parametrize("height", [122.2375, 244.475])
def test_a_height_half_way_between_two_roundings_is_one_spacer(height: float) -> None:
    made = [part("spacer-block", height=value) for value in (height, height - 1e-8)]
    assert made[0].mark == made[1].mark
    assert len({text for each in made for text in texts(each)}) == len(texts(made[0]))


def test_a_label_that_has_no_room_is_told_shorter_and_the_part_is_made() -> None:
    """SET 244.48/2 and a mark of wide letters want 56 mm and have 54: the mark alone stays."""
    for n in range(40):
        made = part("spacer-block", height=240.48 + n)
        assert made.mark in " ".join(texts(made))
