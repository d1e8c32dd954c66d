"""A coupon from above with its letters filled in."""

from __future__ import annotations

import struct
import zlib

import numpy as np

from fixtures.export import labelled
from fixtures.kernels import manifold
from fixtures.look import INK
from fixtures.mesh import bounds
from tests.parts.made import part


def _pixels(data: bytes) -> np.ndarray:
    """An RGB picture whose rows are all filtered "up" (PNG third edition, 9.2)."""
    width, height = struct.unpack(">II", data[16:24])
    begin = data.index(b"IDAT") + 4
    length = struct.unpack(">I", data[begin - 8 : begin - 4])[0]
    raw = np.frombuffer(zlib.decompress(data[begin : begin + length]), dtype=np.uint8)
    rows = raw.reshape(height, 1 + 3 * width)
    assert set(rows[:, 0].tolist()) == {2}
    return np.cumsum(rows[:, 1:], axis=0, dtype=np.uint8).reshape(height, width, 3)


def test_letters_are_dark_where_they_are_engraved() -> None:
    mesh = manifold.mesh(part("fit-coupon").solid)
    image = _pixels(labelled.encode(mesh, "coupon"))
    (left, front, _), (right, back, _) = bounds(mesh)
    height, width, _ = image.shape
    scale = width * (1 - 2 * 0.04) / (right - left)  # pixels a mm; the picture's margin is 4 %
    owner = mesh.names.index("label F1")
    letters = mesh.vertices[mesh.faces[mesh.owner == owner]].reshape(-1, 3)
    middle = (letters.min(axis=0) + letters.max(axis=0)) / 2
    x = width / 2 + (middle[0] - (left + right) / 2) * scale
    y = height / 2 - (middle[1] - (front + back) / 2) * scale
    reach = int(2.6 * scale)
    near = image[int(y) - reach : int(y) + reach, int(x) - reach : int(x) + reach]
    dark = np.abs(near.astype(int) - INK).max(axis=2) < 12
    # two letters of 0.8 mm strokes, 4 mm tall: about 16 mm of stroke on 5.2 by 5.2 mm
    assert 0.25 < dark.mean() < 0.65


def test_the_same_bytes_each_time() -> None:
    mesh = manifold.mesh(part("fit-coupon").solid)
    assert labelled.encode(mesh, "a", "b") == labelled.encode(mesh, "a", "b")
