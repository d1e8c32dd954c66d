"""leg-socket: its bore leans as asked, its screws can be driven, and its leg is held and let go.

Rays and volumes are another library's on the mesh as read back. Sizes of screws: ASME B18.6.1 as
printed (#8: 0.164 in shank, head 0.332 in at most, 82°).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import manifold3d as m3
import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from fixtures import proof
from fixtures.advisor.advise import advise
from fixtures.errors import InputError, PartRefused
from fixtures.features import features
from fixtures.fit import told
from fixtures.kernels import manifold
from fixtures.parts.family import Part
from fixtures.printer import Calibration, Line, Printer
from fixtures.produce import produce
from fixtures.solid import Placed, Pose
from tests.parts.made import PRINTER, feature_names, part, read_back, unlabelled

LEANS = [(0.0, 0.0), (12.0, 0.0), (0.0, 9.0), (10.0, 14.0), (17.0, 17.0)]


def _cut(made: Part, name: str) -> Any:
    """The recipe of a cut by its name."""
    return next(feature.recipe for feature, _ in features(made.solid) if feature.name == name)


def _judge(made: Part) -> trimesh.Trimesh:
    mesh = read_back(made)
    return trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)


def _met(mesh: trimesh.Trimesh, start: np.ndarray, way: np.ndarray) -> float:
    """Distance to the first surface on a ray, mm."""
    hits = mesh.ray.intersects_location([start], [way], multiple_hits=True)[0]
    return float(np.linalg.norm(hits - start, axis=1).min()) if len(hits) else math.inf


def _down(rake: float, splay: float) -> np.ndarray:
    """The leg's axis in the socket's axes, by the tangents of both leans."""
    out = math.hypot(math.tan(math.radians(rake)), math.tan(math.radians(splay)))
    way = np.array([out, 0.0, 1.0])
    return np.asarray(way / np.linalg.norm(way))


@pytest.mark.parametrize(("rake", "splay"), LEANS)
@pytest.mark.parametrize("section", ["round", "square"])
def test_a_leg_along_the_asked_axis_has_the_same_play_all_along(
    section: str, rake: float, splay: float
) -> None:
    """From points of the axis, through the leg's middle at the board, square to it: 28.2 + 0.30."""
    made = part("leg-socket", section=section, rake=rake, splay=splay)
    read, down = _judge(made), _down(rake, splay)
    across = np.array([down[2], 0.0, -down[0]]) if section == "round" else None
    if across is None:
        # the front face is parallel to the case's front; sideways as the left hand has it
        turn = math.atan2(math.tan(math.radians(splay)), math.tan(math.radians(rake)))
        across = np.array([math.sin(turn), math.cos(turn), 0.0])
        across -= (across @ down) * down
        across /= np.linalg.norm(across)
    bore = _cut(made, "bore")
    for deep in (3.0, 15.0, 25.0):
        start = np.array(bore.at) - deep * down
        for way in (across, np.cross(down, across)):
            for side in (1.0, -1.0):
                assert _met(read, start, side * way) == pytest.approx(14.25, abs=0.012)


@pytest.mark.parametrize(("rake", "splay"), LEANS)
def test_the_leg_goes_in_by_the_depth_and_stands_on_a_square_stop(
    rake: float, splay: float
) -> None:
    made = part("leg-socket", rake=rake, splay=splay, depth=30.0)
    read, down = _judge(made), _down(rake, splay)
    bore = _cut(made, "bore")
    mouth = np.array(bore.at)
    aside = np.cross(down, [0.0, 1.0, 0.0])
    aside /= np.linalg.norm(aside)
    for off in (np.zeros(3), np.array([0.0, 8.0, 0.0]), np.array([0.0, -8.0, 0.0]), 6.0 * aside):
        assert _met(read, mouth + 5.0 * down + off, -down) == pytest.approx(35.0, abs=0.005)
    # and past the stop there is plastic
    assert bore.at[2] - 30.0 * down[2] - 14.25 * down[0] > 2.9


@pytest.mark.parametrize(("rake", "splay"), LEANS)
@pytest.mark.parametrize("base", ["round", "square"])
@pytest.mark.parametrize("section", ["round", "square"])
def test_a_driver_reaches_every_screw_past_a_leaning_socket(
    section: str, base: str, rake: float, splay: float
) -> None:
    """A bar as thick as a #8 head, 0.332 in, stood on each screw's seat meets nothing."""
    made = part("leg-socket", section=section, base=base, rake=rake, splay=splay)
    body = manifold.load(read_back(made))
    holes = [_cut(made, f"hole {n} countersink") for n in (1, 2, 3, 4)]
    for hole in holes:
        x, y, z = hole.at
        assert z == pytest.approx(6.0)
        turns = np.arange(24) * math.pi / 12
        ring = [(x + 0.166 * 25.4 * math.cos(a), y + 0.166 * 25.4 * math.sin(a)) for a in turns]
        bar = np.array([(i, j, k) for i, j in ring for k in (z + 0.001, z + 120.0)])
        assert proof.overlap(body, m3.Manifold.hull_points(bar)) == 0.0


def test_a_flat_head_is_sunk_flush_and_keeps_plastic_under_it() -> None:
    """The cone of 82° is 0.332 in wide at the flange's face; under it 1.5 mm or more is left."""
    made = part("leg-socket")
    read = _judge(made)
    hole = _cut(made, "hole 1 countersink")
    x, y, _ = hole.at
    for deep in (0.0, 1.0, 2.0):
        wide = 0.332 * 25.4 / 2 - deep * math.tan(math.radians(41.0))
        met = _met(read, np.array([x, y, 6.0 - deep - 1e-4]), np.array([0.0, 1.0, 0.0]))
        assert met == pytest.approx(wide, abs=0.02)
    sunk = (0.332 * 25.4 - 2 * _met(read, np.array([x, y, 1.0]), np.array([0.0, 1.0, 0.0]))) / 2
    assert 6.0 - sunk / math.tan(math.radians(41.0)) >= 1.5


def test_a_pan_head_goes_into_a_counterbore_with_a_shoulder() -> None:
    made = part("leg-socket", head="pan")
    read = _judge(made)
    hole = _cut(made, "hole 1 counterbore")
    x, y, _ = hole.at
    down = np.array([0.0, 0.0, -1.0])
    # on the shoulder, between the shank's hole and the head's edge
    assert _met(read, np.array([x, y + 3.2, 20.0]), down) == pytest.approx(
        14.0 + 0.7 * 4.166, abs=0.01
    )
    assert _met(read, np.array([x, y + 5.2, 20.0]), down) == pytest.approx(14.0, abs=0.01)


@pytest.mark.parametrize(("rake", "splay"), LEANS)
def test_the_wall_round_the_leg_is_as_thick_as_asked(rake: float, splay: float) -> None:
    made = part("leg-socket", rake=rake, splay=splay, wall=6.0)
    read, down = _judge(made), _down(rake, splay)
    bore = _cut(made, "bore")
    start = np.array(bore.at) - 5.0 * down
    for way in (np.array([0.0, 1.0, 0.0]), np.array([-down[2], 0.0, down[0]])):
        hits = read.ray.intersects_location([start], [way], multiple_hits=True)[0]
        runs = np.sort(np.linalg.norm(hits - start, axis=1))
        assert runs[1] - runs[0] == pytest.approx(6.0, abs=0.03)


def test_the_drain_opens_into_the_bore_just_over_the_stop() -> None:
    made = part("leg-socket", rake=10.0, splay=14.0)
    drain = _cut(made, "drain")
    into, read = np.array(drain.axis), _judge(made)
    # from outside through the wall and across the bore to the far wall: 5 + 28.5 mm, and 1 before
    assert _met(read, np.array(drain.at) - into, into) == pytest.approx(34.5, abs=0.05)


def test_both_hands_are_mirror_images() -> None:
    values = {"section": "square", "base": "square", "rake": 14.0, "splay": 9.0}
    left, right = (part("leg-socket", hand=hand, **values) for hand in ("left", "right"))
    a, b = (manifold.mesh(unlabelled(made.solid)) for made in (left, right))
    assert left.mark != right.mark
    one, other = np.array(a.vertices), np.array(b.vertices) * [1.0, -1.0, 1.0]
    assert len(one) == len(other)
    assert cKDTree(one).query(other)[0].max() < 1e-4
    assert (left.quantity, right.quantity) == (2, 2)


def test_round_legs_take_four_sockets_alike_whichever_way_they_lean() -> None:
    """In its own axes a socket knows only how far it leans: rake and splay change places."""
    one, other = (
        part("leg-socket", rake=rake, splay=splay, hand=hand)
        for rake, splay, hand in ((8.0, 12.0, "left"), (12.0, 8.0, "right"))
    )
    assert one.mark == other.mark
    assert one.quantity == 4


@pytest.mark.parametrize("name", ["leg-socket", "leg-socket: square"])
def test_a_socket_for_another_leg_is_found_out(name: str) -> None:
    made = part(name)
    tight = read_back(part(name, size=(27.85,)))
    failing = [c.name for c in proof.hold(tight, made.seats) if not c.holds]
    assert "leg in bore: seated" in failing
    loose = read_back(part(name, size=(28.55,)))
    failing = [c.name for c in proof.hold(loose, made.seats) if not c.holds]
    assert failing  # a square bore's stop lies elsewhere too


def test_a_flange_that_hangs_over_its_boards_edge_no_longer_bears() -> None:
    made = part("leg-socket")
    rest = made.rests[0]
    # the board ends 25 mm from the leg's middle
    corners = tuple((min(x, 25.0), y, z) for x, y, z in rest.panel.corners)
    cut = replace(rest, panel=replace(rest.panel, corners=corners))
    checks = proof.rests(read_back(made), [cut])
    assert [c.name for c in checks if not c.holds] == ["board on flange: bears"]


@pytest.mark.slow
@pytest.mark.parametrize(("rake", "splay"), LEANS[2:4])
def test_flange_down_it_wants_no_supports_and_bore_upright_it_does(
    rake: float, splay: float
) -> None:
    made = part("leg-socket", rake=rake, splay=splay)
    assert not produce(made, PRINTER, biased=False).advice.supports
    down = _down(rake, splay)
    upright = Pose((down[2], 0.0, down[0]), (0.0, 1.0, 0.0), (-down[0], 0.0, down[2]))
    stood = manifold.mesh(Placed(made.solid, upright))
    low = float(stood.vertices[:, 2].min())
    mesh = manifold.mesh(Placed(made.solid, replace(upright, at=(0.0, 0.0, -low))))
    assert advise(mesh, PRINTER, ()).supports


@pytest.mark.slow
def test_a_printer_that_was_measured_draws_the_bore_wider() -> None:
    """A standing bore printed 0.2 mm small is drawn 0.2 mm larger; a square one by its slots."""
    line = Line(1.0, -0.2, 1.0, 1.0, -0.22, -0.18, 0.01, 8)
    printer = Printer(calibration=Calibration("2026-01-31", slot=line, bore_standing=line))
    for section in ("round", "square"):
        made = part("leg-socket", section=section, rake=10.0)
        drawn = produce(made, printer, biased=True)
        bore = next(fact for fact in drawn.facts if fact.name == "bore")
        assert bore.cad == pytest.approx(28.7, abs=0.001)
        assert drawn.holds
        assert len(drawn.chances) == 1


# --- refusals and findings ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "where", "says"),
    [
        # atan √(tan² 19 + tan² 18) = 25.3
        ({"rake": 19.0, "splay": 18.0}, "rake", "25.3"),
        # and atan √(tan² 25 - tan² 19) = 17.4
        ({"rake": 19.0, "splay": 18.0}, "rake", "splay 17.4° or less"),
        # upright the mouth is 6.3 + 33.84 mm under the board
        ({"length": 45.0}, "length", "51 mm"),
        ({"size": (11.0,)}, "size", "outside 12 mm to 60 mm"),
        ({"size": ()}, "size", "no reading"),
        ({"size": (40.0,), "depth": 30.0}, "depth", "32 mm"),
        ({"head": "pan", "screw": "#12"}, "flange", "6.9"),
        ({"screw": "#12", "flange": 5.0, "head": "pan"}, "flange", "--head flat"),
        ({"fit": "press"}, "fit", "press"),
    ],
)
def test_what_cannot_be_is_refused_with_a_remedy(
    values: dict[str, object], where: str, says: str
) -> None:
    with pytest.raises(InputError) as refused:
        part("leg-socket", **values)
    fault = next(fault for fault in refused.value.faults if fault.where == where)
    assert says in f"{fault.message} {fault.remedy}"
    assert fault.remedy


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(InputError) as refused:
        part("leg-socket", size=(70.0, 5.0), rake=19.0, splay=18.0)
    assert [fault.where for fault in refused.value.faults] == ["size", "size", "rake"]


@pytest.mark.parametrize(
    ("board", "length", "severity"),
    [
        (18.0, 25.0, "stop"),  # 19 mm into 18 mm: comes out
        (18.0, 23.0, "mend"),  # 1 mm left
        (18.0, 22.0, None),  # 2 mm left
        (18.0, 14.0, "mend"),  # 8 mm of hold, and 2 × 4.17 is wanted
        (18.0, 14.5, None),
    ],
)
def test_screws_are_checked_against_the_board(
    board: float, length: float, severity: str | None
) -> None:
    found = part("leg-socket", board=board, screw_length=length).findings
    told_of = [f for f in found if f.check == "screw-length"]
    assert [f.severity for f in told_of] == ([severity] if severity else [])


def test_a_pan_heads_counterbore_lets_its_screw_go_deeper() -> None:
    """0.7 of 4.17 mm of the flange is gone: 20 mm go 16.9 mm deep, and 18 mm keeps 1.1 mm."""
    found = part("leg-socket", head="pan", board=18.0, screw_length=20.0).findings
    skin = next(f.measured for f in found if f.check == "screw-length")
    assert skin == pytest.approx(18.0 - 20.0 + 6.0 - 0.7 * 0.164 * 25.4, abs=1e-6)


def test_the_fit_speaks_of_a_leg() -> None:
    report = part("leg-socket", size=(28.0, 28.2), depth=36.0, length=200.0).fits[0]
    lines = told(report)
    assert lines[0].startswith("The bore is 28.5 mm wide: 0.3 mm of clearance at the largest")
    assert not any("panel" in line for line in lines)
    assert report.lean_mm == pytest.approx(200.0 * 0.5 / report.grip)


def test_the_note_tells_how_the_leg_is_cut() -> None:
    """Upright: height less stop. Leaning 10° one way: by the closed form h / cos - stop ± r tan."""
    upright = part("leg-socket", length=150.0).notes[-1]
    bore = _cut(part("leg-socket"), "bore")
    long = f"{150.0 - bore.at[2] + bore.depth:.2f}".rstrip("0").rstrip(".")
    assert f"{long} mm long, both ends square" in upright
    made = part("leg-socket", rake=10.0, length=150.0)
    bore = _cut(made, "bore")
    cos, tan = math.cos(math.radians(10.0)), math.tan(math.radians(10.0))
    stop = bore.at[2] / cos - bore.depth
    middle = 150.0 / cos - stop
    for size in (middle, middle + 14.1 * tan, middle - 14.1 * tan):
        assert f"{size:.2f}".rstrip("0").rstrip(".") + " mm" in made.notes[-1]
    assert "10.0°" in made.notes[-1]


def test_only_a_leaning_bore_has_a_well() -> None:
    assert "well" not in feature_names(part("leg-socket"))
    assert "well" in feature_names(part("leg-socket", splay=3.0))


def test_no_load_is_rated_and_tipping_is_spoken_of() -> None:
    cautions = " ".join(part("leg-socket").cautions)
    for word in ("no load", "tip", "creeps", "screw"):
        assert word in cautions


def test_a_bad_value_is_refused_by_its_field() -> None:
    with pytest.raises((PartRefused, ValueError)):
        part("leg-socket", rake=21.0)
