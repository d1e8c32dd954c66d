"""Whatever the bytes: a mesh or a refusal, never another exception."""

from __future__ import annotations

import io
import zipfile

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fixtures import ingest
from fixtures.errors import FileRefused
from fixtures.mesh import canonical
from tests.ingest import making
from tests.ingest.making import FILES

STARTS = [b"", b"solid x\n", b"ply\nformat ascii 1.0\n", b"glTF\2\0\0\0", b"PK\3\4", b"v 0 0 0\nf "]
WORDS = [
    b"nan",
    b"-1",
    b"1e400",
    b"99999999999",
    b"\xff\xff\xff\xff",
    b"\0\0\0\0",
    b"<",
    b'"',
    b"{",
    b"]",
]

edits = st.lists(
    st.tuples(
        st.floats(0, 1, exclude_max=True),
        st.integers(0, 12),
        st.one_of(st.sampled_from(WORDS), st.binary(max_size=6)),
    ),
    min_size=1,
    max_size=4,
)


def edited(data: bytes, changes: list[tuple[float, int, bytes]]) -> bytes:
    for place, cut, new in changes:
        at = int(place * len(data))
        data = data[:at] + new + data[at + cut :]
    return data


def read_or_refused(data: bytes, name: str) -> None:
    try:
        loaded = ingest.read(data, name)
    except FileRefused as refusal:
        (fault,) = refusal.faults
        assert fault.where == name
        return
    mesh = loaded.mesh
    assert len(mesh.faces) > 0
    assert np.isfinite(mesh.vertices).all()
    assert mesh.faces.min() >= 0
    assert mesh.faces.max() < len(mesh.vertices)
    again = canonical(mesh)
    assert again.vertices.tobytes() == mesh.vertices.tobytes()
    assert again.faces.tobytes() == mesh.faces.tobytes()


@settings(deadline=None)
@given(st.sampled_from(STARTS), st.binary(max_size=400), st.sampled_from([*FILES, "x", "x.bin"]))
def test_noise(start: bytes, data: bytes, name: str) -> None:
    read_or_refused(start + data, name)


@pytest.mark.parametrize("name", FILES)
@settings(max_examples=60, deadline=None)
@given(length=st.floats(0, 1))
def test_files_cut_short(name: str, length: float) -> None:
    read_or_refused(FILES[name][: int(length * len(FILES[name]))], name)


@pytest.mark.parametrize("name", FILES)
@settings(max_examples=60, deadline=None)
@given(bits=st.lists(st.floats(0, 1, exclude_max=True), min_size=1, max_size=6))
@example(bits=[0.0])
def test_files_with_flipped_bits(name: str, bits: list[float]) -> None:
    data = bytearray(FILES[name])
    for bit in bits:
        place = int(bit * len(data) * 8)
        data[place // 8] ^= 1 << place % 8
    read_or_refused(bytes(data), name)


@pytest.mark.parametrize("name", FILES)
@settings(max_examples=60, deadline=None)
@given(changes=edits)
def test_files_with_pieces_changed(name: str, changes: list[tuple[float, int, bytes]]) -> None:
    read_or_refused(edited(FILES[name], changes), name)


@settings(max_examples=150, deadline=None)
@given(changes=edits)
def test_3mf_with_its_model_changed(changes: list[tuple[float, int, bytes]]) -> None:
    # packed anew, so that the change is met by the reader and not by the checksum
    objects = (
        f'<object id="1">{making.mesh_xml()}</object><object id="2"><components>'
        '<component objectid="1" transform="1 0 0 0 1 0 0 0 1 9 9 9"/></components></object>'
    )
    model = making.model_xml(
        objects=objects, build='<item objectid="2"/>', attributes='unit="inch"'
    )
    read_or_refused(making.package(edited(model.encode(), changes), stored=True), "a.3mf")


@settings(max_examples=100, deadline=None)
@given(changes=edits)
def test_3mf_with_its_relationships_changed(changes: list[tuple[float, int, bytes]]) -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("_rels/.rels", edited(making.RELS.encode(), changes))
        archive.writestr("3D/3dmodel.model", making.model_xml())
    read_or_refused(made.getvalue(), "a.3mf")


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats()
    | st.text(max_size=3)
    | st.sampled_from([0, 1, 4, 5, 6, 5126, 5123, "VEC3", "SCALAR"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=6,
)


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_glb_with_any_value_in_its_scene_replaced(data: st.DataObject) -> None:
    tree = making.gltf(
        nodes=[{"children": [1], "scale": [1, 1, 1]}, {"mesh": 0, "translation": [0, 0, 0]}]
    )
    at: object = tree
    while True:
        assert isinstance(at, (dict, list))
        key = data.draw(st.sampled_from(sorted(at) if isinstance(at, dict) else range(len(at))))
        inner = at[key]
        if isinstance(inner, (dict, list)) and inner and data.draw(st.booleans()):
            at = inner
            continue
        at[key] = data.draw(json_values)
        break
    read_or_refused(making.glb(tree), "a.glb")
