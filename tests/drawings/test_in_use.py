"""In-use pictures: every fixture has one, it is seen, and its arrow goes the way it goes on.

Numbers come from the parts' own seats, the joints of the piece, and the raster. That a step's
picture is worth looking at was looked at.
"""

from __future__ import annotations

from functools import cache

import manifold3d as m3
import numpy as np
import pytest

from fixtures.assembly import Corner, Dowelled, Level
from fixtures.drawings import in_use, lettering, svg
from fixtures.drawings.bench_scenes import drilled
from fixtures.drawings.bodies import Body
from fixtures.drawings.ghosted import shot
from fixtures.drawings.in_use import InUse, View, arrows, looked_at
from fixtures.drawings.in_use_scenes import scenes
from fixtures.drawings.marks import LEAST, Area, Picture, Words
from fixtures.drawings.scene import Scene, joint_of
from fixtures.kernels.manifold import load
from fixtures.kit import Kit, kit
from fixtures.mesh import Floats, make
from fixtures.piece.legs import legs_in
from fixtures.piece.plan import Fixture
from fixtures.proof import overlap
from tests.piece.making import NAME, case, read, shelf, tables
from tests.shop_sheet.kits import small

KINDS = ("mitred", "inches", "hexagon")
SEEN = 0.5
"""Share of a fixture's pixels that no panel, strap or chuck stands before (ours)."""


@cache
def pictures(kind: str) -> tuple[InUse, ...]:
    return in_use.pictures(small(kind))


@cache
def views(kind: str) -> tuple[tuple[int, Scene, View], ...]:
    made = small(kind)
    return tuple(
        (number, scene, looked_at(scene))
        for number in range(1, len(made.steps) + 1)
        for scene in scenes(made, number)
    )


def fixture(made: Kit, name: str) -> Fixture:
    return next(item.fixture for item in made.items if item.fixture.name == name)


def of_role(kind: str, role: str) -> list[tuple[int, Scene, View]]:
    return [each for each in views(kind) if each[2].place.use and each[2].place.use.role == role]


def on_paper(view: View, way: tuple[float, float, float]) -> Floats:
    flat = view.window.paper([(0.0, 0.0, 0.0), way])
    return np.asarray((flat[1] - flat[0]) / np.linalg.norm(flat[1] - flat[0]))


@pytest.mark.parametrize("kind", KINDS)
def test_every_fixture_of_every_step_has_its_picture(kind: str) -> None:
    made = small(kind)
    wanted = {
        (number, name) for number, step in enumerate(made.steps, 1) for name, _ in step.fixtures
    }
    assert wanted
    assert {(one.step, one.fixture) for one in pictures(kind)} == wanted


@pytest.mark.parametrize("kind", KINDS)
def test_a_fixture_is_seen_and_not_hidden_by_panels(kind: str) -> None:
    for number, scene, view in views(kind):
        alone = shot(view.bodies[:1], view.window, shaded=False).full
        seen = (view.taken.seen == 0) & ~view.taken.veiled
        assert alone.sum() > 400, (number, scene.fixture)
        assert seen.sum() >= SEEN * alone.sum(), (number, scene.fixture)


@pytest.mark.parametrize("kind", KINDS)
def test_a_socket_s_arrow_goes_the_way_on_which_its_seats_let_panels_off(kind: str) -> None:
    # a panel leaves its seat along `off`, so the socket goes on along `off`
    made = small(kind)
    met = 0
    for _, scene, view in of_role(kind, "hold"):
        use = view.place.use
        assert use is not None
        assert use.place is not None
        seat = fixture(made, scene.fixture).part.seats[0]
        path = np.array(arrows(scene, view)[0])
        way = path[-1] - path[0]
        assert np.allclose(way / np.linalg.norm(way), on_paper(view, use.place.turn(seat.off)),
                           atol=2e-3)  # fmt: skip
        met += 1
    assert met >= 2


@pytest.mark.parametrize("kind", KINDS)
def test_every_arrow_is_the_told_way_off_taken_backwards(kind: str) -> None:
    for number, scene, view in views(kind):
        if not view.place.way:
            continue
        path = np.array(arrows(scene, view)[0])
        legs = np.diff(path, axis=0)
        assert len(legs) == len(view.place.way)
        for leg, off in zip(legs, reversed(view.place.way), strict=True):
            told = -on_paper(view, off)
            assert np.allclose(leg / np.linalg.norm(leg), told, atol=2e-3), (number, scene.fixture)


@pytest.mark.parametrize("kind", KINDS)
def test_an_arrow_ends_just_off_the_fixture_and_not_on_it(kind: str) -> None:
    for number, scene, view in views(kind):
        if scene.beside or not view.place.way:
            continue
        x, y = arrows(scene, view)[0][-1]
        rows, columns = np.nonzero(view.taken.seen == 0)
        spots = (np.column_stack([columns, rows]) + 0.5) / view.taken.dots
        spots += (view.window.left, view.window.top)
        along = len(view.place.along) > 0  # a clamp's jaw is between
        gap = float(np.linalg.norm(spots - (x, y), axis=1).min())
        assert 0.5 < gap < (30.0 if along else 4.0), (number, scene.fixture)


@pytest.mark.parametrize("kind", KINDS)
def test_words_stand_on_the_paper_and_not_on_each_other_and_can_be_read(kind: str) -> None:
    for one in pictures(kind):
        words = [mark for mark in one.drawing.marks if isinstance(mark, Words)]
        boxes = [lettering.box(each) for each in words]
        for n, (left, top, right, bottom) in enumerate(boxes):
            assert left >= 0
            assert top >= 0
            assert right <= one.drawing.wide
            assert bottom <= one.drawing.high
            assert words[n].height >= LEAST
            for other in boxes[:n]:
                apart = (
                    right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top
                )
                assert apart, (one.step, one.fixture, words[n].text)


@pytest.mark.parametrize("kind", KINDS)
def test_arrows_and_pictures_stay_on_the_paper(kind: str) -> None:
    for one in pictures(kind):
        for mark in one.drawing.marks:
            if isinstance(mark, Area):
                for ring in mark.rings:
                    assert ring.min() >= 0.0, (one.step, one.fixture)
                    assert np.all(ring <= (one.drawing.wide, one.drawing.high))
            if isinstance(mark, Picture):
                assert mark.at[1] + mark.high <= one.drawing.high + 1e-9
                assert len(mark.png) < 60_000


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_says_its_step_its_mark_and_how_many(kind: str) -> None:
    made = small(kind)
    for one in pictures(kind):
        told = [mark.text for mark in one.drawing.marks if isinstance(mark, Words)]
        assert str(one.step) in told
        count = dict(made.steps[one.step - 1].fixtures)[one.fixture]
        family, mark = one.fixture.rsplit("-", 1)
        assert f"{count} × {family.replace('-', ' ')} {mark}" in told


def test_the_panels_that_a_socket_holds_are_named() -> None:
    for number, scene, view in of_role("mitred", "hold"):
        if view.bodies[-1].name == "":  # an offcut
            continue
        use = view.place.use
        assert use is not None
        one = next(p for p in pictures("mitred") if (p.step, p.fixture) == (number, scene.fixture))
        told = {mark.text for mark in one.drawing.marks if isinstance(mark, Words)}
        assert set(use.boards) <= told


def test_the_same_kit_gives_the_same_bytes() -> None:
    made = small("hexagon")
    one, two = in_use.pictures(made), in_use.pictures(made)
    assert [svg.encode(p.drawing) for p in one] == [svg.encode(p.drawing) for p in two]


def test_a_step_by_itself_is_drawn_as_it_is_among_all() -> None:
    made = small("hexagon")
    number = next(n for n, step in enumerate(made.steps, 1) if step.title == "Glue up")
    among = [svg.encode(p.drawing) for p in pictures("hexagon") if p.step == number]
    assert among == [svg.encode(p.drawing) for p in in_use.of_steps(made, [number])]


def test_the_piece_lies_with_its_bottom_up_as_it_gets_its_legs() -> None:
    (_number, scene, view), = of_role("mitred", "foot")  # fmt: skip
    boards = {each.name: each for each in scene.bodies if each.style.ghost}
    highest = max(boards, key=lambda name: float(boards[name].points[:, 2].max()))
    assert highest == "bottom"
    leg = legs_in(small("mitred").joints)[0]
    assert scene.which == "the piece turned over"
    # the leg goes down its own axis: towards the piece, which is up the leg
    path = np.array(arrows(scene, view)[1])
    way = (path[1] - path[0]) / np.linalg.norm(path[1] - path[0])
    used = next(one for one in legs_in(small("mitred").joints) if view.place.use is not None
                and one.name == view.place.use.joint)  # fmt: skip
    x, y, z = used.down
    assert np.allclose(way, on_paper(view, (x, -y, z)), atol=2e-3)  # turned over, and backwards
    assert leg.down[2] < 0


def test_a_guide_drills_level_into_an_edge_and_straight_down_into_a_face() -> None:
    found = {scene.which: view for _, scene, view in of_role("mitred", "drill")}
    assert set(found) == {"on the edge", "on the face"}
    for which, level in (("on the edge", True), ("on the face", False)):
        for start, end in found[which].place.lines:
            way = np.subtract(end, start) / np.linalg.norm(np.subtract(end, start))
            wanted = 0.0 if level else -1.0
            assert way[2] == pytest.approx(wanted, abs=1e-9)


def test_a_board_lies_with_the_drilled_face_up() -> None:
    made = small("mitred")
    joint = next(joint for joint in made.joints if isinstance(joint, Dowelled))
    face, up = drilled(joint, on_face=True)
    assert face is joint.face
    # the edge stands on that face, and goes out of itself into it
    assert np.allclose(up, np.negative(joint.out))
    assert drilled(joint, on_face=False)[0] is joint.edge


def test_a_sleeve_stands_on_its_guide_and_the_bit_ends_as_deep_as_is_told() -> None:
    met = 0
    for _, _, view in of_role("mitred", "stop"):
        use, tools = view.place.use, view.place.along
        assert use is not None
        assert view.place.size is not None
        mouth, end = (np.array(at) for at in view.place.size[:2])
        down = (end - mouth) / np.linalg.norm(end - mouth)
        sleeve = view.place.main.points @ down
        bit = tools[0].points @ down
        block, deep = float(use.parameters["block"]), float(use.parameters["depth"])
        assert float(sleeve.max()) == pytest.approx(float(mouth @ down) - block, abs=1e-4)
        # the full diameter goes as deep as the hole; the point runs ahead of it
        assert float(bit.max()) >= float(mouth @ down) + deep - 1e-6
        point = float(bit.max()) - float(mouth @ down) - deep
        assert point <= float(use.parameters["drill"]) / 2
        # from the chuck down it stands out as it was measured
        assert float(np.ptp(bit)) == pytest.approx(float(use.parameters["stand_out"]), abs=1e-6)
        met += 1
    assert met >= 2


def test_a_strap_runs_round_the_boards_and_through_none() -> None:
    made = small("hexagon")
    _, scene, view = of_role("hexagon", "press")[0]
    straps = [each for each in view.bodies if each.name == "strap"]
    caul = fixture(made, scene.fixture)
    assert len(straps) == len({use.where.split(" strap at ")[1] for use in caul.uses}) > 1
    boards = [each for each in scene.bodies if each.style.ghost]
    assert len(boards) == 6
    for strap in straps:
        for board in boards:
            assert (solid(strap) ^ solid(board)).volume() == pytest.approx(0.0, abs=1e-6)
    corner = next(joint for joint in made.joints if isinstance(joint, Corner))
    assert corner.strapped


def solid(each: Body) -> m3.Manifold:
    return load(make(each.points, each.faces))


def test_sizes_are_told_in_the_reader_s_units() -> None:
    for kind, unit in (("mitred", " mm"), ("inches", " in")):
        sizes = [view.place.size[2] for _, _, view in of_role(kind, "set") if view.place.size]
        assert sizes
        assert all(size.endswith(unit) for size in sizes)


def test_a_spacer_s_size_is_that_between_what_it_stands_on_and_what_it_sets() -> None:
    made = small("mitred")
    for _, _, view in of_role("mitred", "set"):
        use = view.place.use
        assert use is not None
        assert view.place.size is not None
        joint = joint_of(made, use)
        foot, head, _ = view.place.size
        assert isinstance(joint, Level)
        assert np.linalg.norm(np.subtract(head, foot)) == pytest.approx(joint.height)


def test_a_spacer_ripped_from_an_offcut_is_a_block_of_its_height() -> None:
    told = tables(
        thick=18.0,
        case=case(420.0, 360.0, 240.0),
        shelf=[shelf("a", 110.0, fixing="dowel")],
        bit=[{"diameter": "8 mm", "stands_out": "95 mm"}],
        fixtures=[{"family": "spacer-block", "make_from": "offcut"}],
    )
    made = kit(read(told), NAME)
    number = next(n for n, step in enumerate(made.steps, 1) if step.title == "Dry fit")
    spacers = [s for s in scenes(made, number) if s.fixture.startswith("spacer-block")]
    assert spacers
    for scene in spacers:
        view = looked_at(scene)
        assert len(view.place.main.faces) == 12
        assert np.ptp(view.place.main.points[:, 2]) == pytest.approx(110.0, abs=1e-4)
    assert {one.fixture for one in in_use.of_steps(made, [number])} >= {s.fixture for s in spacers}


@pytest.mark.parametrize("made_from", ["print", "offcut"])
def test_a_spacer_of_two_halves_is_drawn_whole_with_its_halves_keyed(made_from: str) -> None:
    told = tables(
        thick=18.0,
        case=case(420.0, 480.0, 240.0),
        shelf=[shelf("a", 250.0, fixing="dowel")],
        bit=[{"diameter": "8 mm", "stands_out": "95 mm"}],
        printer={"bed": ["220 mm", "220 mm", "220 mm"]},
        fixtures=[{"family": "spacer-block", "make_from": made_from}],
    )
    made = kit(read(told), NAME)
    number = next(n for n, step in enumerate(made.steps, 1) if step.title == "Dry fit")
    (scene,) = (s for s in scenes(made, number) if s.fixture.startswith("spacer-block"))
    assert scene.which == "two halves, one turned over"
    for place in scene.places:
        assert np.ptp(place.main.points[:, 2]) == pytest.approx(250.0, abs=1e-3)
        count = len(place.main.points) // 2
        faces = place.main.faces
        split = len(faces) // 2
        lower = load(make(place.main.points[:count], faces[:split]))
        upper = load(make(place.main.points[count:], faces[split:] - count))
        assert overlap(lower, upper) == 0.0
        # both stand against the side: along X they lie over each other
        x = [np.array(half.bounding_box())[[0, 3]] for half in (lower, upper)]
        assert x[0] == pytest.approx(x[1], abs=1e-4)
        if made_from == "print":  # keyed: neither half slides to the front or rear
            for aside in (0.5, -0.5):
                assert overlap(lower, upper.translate((0.0, aside, 0.0))) > 0.0
    shown = next(one for one in in_use.of_steps(made, [number]) if one.fixture == scene.fixture)
    assert shown.which == scene.which


def test_the_batten_lies_as_far_from_the_marked_line_as_it_is_named() -> None:
    (view,) = (v for _, s, v in of_role("mitred", "drill") if s.which == "on the face")
    (line,) = view.place.marked
    batten = next(each for each in view.bodies if each.name.startswith("batten "))
    start, along = np.array(line[0]), np.subtract(line[1], line[0])
    along /= np.linalg.norm(along)
    flat = (batten.points - start)[:, :2]
    off = abs(flat[:, 0] * along[1] - flat[:, 1] * along[0]).min()
    assert batten.name == f"batten {off:.4g} mm from the line"
    use = view.place.use
    assert use is not None
    assert use.batten is not None
    assert off == pytest.approx(use.batten.off, abs=1e-6)


def test_every_printed_part_is_there_to_be_turned() -> None:
    made = small("mitred")
    found = in_use.models(made)
    assert set(found) == {item.fixture.name for item in made.items}
    for mesh in found.values():
        assert mesh.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-4)
