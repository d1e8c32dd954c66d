"""slot-comb: each slot is what its label says, to a hundredth."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from fixtures import proof
from fixtures.errors import InputError, PartRefused
from fixtures.features import Label, features
from tests.parts.made import part, read_back


@pytest.mark.parametrize("thickness", [2.0, 3.0, 6.4, 12.2, 19.0, 25.0, 38.0])
def test_each_slot_takes_its_gauge_and_stops_it_both_ways(thickness: float) -> None:
    made = part("slot-comb", thickness=(thickness,))
    checks = proof.hold(read_back(made), made.seats)
    assert len(made.seats) == 10
    assert all(check.holds for check in checks)


def test_slots_step_by_a_twentieth_about_the_largest_reading() -> None:
    made = part("slot-comb", thickness=(12.0, 12.2, 12.1, 12.2))
    widths = [f.recipe.fact(f.name).width for f, _ in features(made.solid) if "slot" in f.name]
    assert widths == pytest.approx([12.15 + 0.05 * i for i in range(10)])


def test_labels_say_the_width_of_the_slot_on_their_left() -> None:
    """Measured on the read-back mesh by another library's rays, label by label."""
    made = part("slot-comb", steps=8)
    mesh = read_back(made)
    read = trimesh.Trimesh(mesh.vertices.copy(), mesh.faces.copy(), process=False)
    labels = [
        f.recipe
        for f, _ in features(made.solid)
        if isinstance(f.recipe, Label) and f.recipe.text[0].isdigit()
    ]
    assert len(labels) == 8
    for label in labels:
        # reading along Y the slot on the left lies at smaller x; along -Y at larger x
        left = -label.across[1]
        y = 10.0 if label.across[1] > 0 else 40.0
        start = np.array([label.at[0] + left * 10.0, y, 5.0])
        hits = [
            np.linalg.norm(
                read.ray.intersects_location([start], [[side, 0, 0]])[0] - start, axis=1
            ).min()
            for side in (1.0, -1.0)
        ]
        assert sum(hits) == pytest.approx(float(label.text), abs=0.005)


def test_too_many_slots_for_the_bed_says_how_many_fit() -> None:
    with pytest.raises(PartRefused, match=r"Use --steps 10 or fewer"):
        part("slot-comb", thickness=(35.0,), steps=20)
    part("slot-comb", thickness=(35.0,), steps=10)


def test_nothing_measured_is_an_error_that_says_to_measure() -> None:
    with pytest.raises(InputError, match="Measure in 4 places"):
        part("slot-comb", thickness=())


def test_by_name_alone_only_when_asked() -> None:
    """18 mm birch plywood may be 18.7 mm thick: +0.7 in the tolerance table of two mills."""
    made = part("slot-comb", thickness=(), sheet="18 mm birch plywood", unmeasured=True)
    first = next(f for f, _ in features(made.solid) if f.name == "slot_1")
    assert first.recipe.fact("slot_1").width == pytest.approx(18.7 - 0.05)
    assert any("not measured" in finding.message for finding in made.findings)
