"""The exported frame, read from its CSV alone, solved by a general frame solver: PyNiteFEA, linear and P-delta."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
from Pynite import FEModel3D

from armature.files import model_csvs
from armature.strength import Assessment, assessed
from armature.tree import Leaves
from tests.strength.made import american, cantilever, commission
from tests.trees import random_tree

Rows = list[dict[str, str]]


def rows_of(text: str) -> Rows:
    return list(csv.DictReader(io.StringIO(text)))


def model_of(files: dict[str, Rows], case: str) -> FEModel3D:
    """Return the frame of the files under one of their cases."""
    model = FEModel3D()
    for point in files["points.csv"]:
        name = point["point"]
        model.add_node(name, float(point["x_mm"]), float(point["y_mm"]), float(point["z_mm"]))
        if point["held"] == "1":
            model.def_support(name, True, True, True, True, True, True)
    for bar in files["bars.csv"]:
        name = bar["bar"]
        young, shear = float(bar["young_mpa"]), float(bar["shear_mpa"])
        model.add_material(f"steel{name}", young, shear, 0.3, 0.0)
        inertia = float(bar["inertia_mm4"])
        model.add_section(f"bar{name}", float(bar["area_mm2"]), inertia, inertia, float(bar["torsion_mm4"]))
        model.add_member(name, bar["from_point"], bar["to_point"], f"steel{name}", f"bar{name}")
    for push in files["forces.csv"]:
        if push["case"] == case:
            for axis in "xyz":
                model.add_node_load(push["point"], f"F{axis.upper()}", float(push[f"f{axis}_n"]), case)
    model.add_load_combo(case, {case: 1.0})
    return model


@pytest.fixture(scope="module")
def found() -> Assessment:
    return assessed(random_tree(2, 5, limbs=1), american())


@pytest.fixture(scope="module")
def files(found: Assessment) -> dict[str, Rows]:
    return {name: rows_of(text) for name, text in model_csvs(found).items()}


def test_the_model_weighs_as_the_tree(found: Assessment, files: dict[str, Rows]) -> None:
    bars = [bar for bar in files["bars.csv"] if bar["kind"] == "bar"]
    volume = sum(float(bar["area_mm2"]) * float(bar["length_mm"]) for bar in bars)
    assert volume == pytest.approx(float(found.tree.volumes.sum()), rel=1e-6)


@pytest.mark.parametrize("case", ["weight", "wind toward +x"])
def test_a_general_frame_solver_finds_the_same_forces_at_the_base(
    found: Assessment, files: dict[str, Rows], case: str
) -> None:
    model = model_of(files, case)
    model.analyze_linear(check_stability=False)
    held = next(point["point"] for point in files["points.csv"] if point["held"] == "1")
    node = model.nodes[held]
    reaction = np.array([getattr(node, f"Rxn{name}")[case] for name in ("FX", "FY", "FZ", "MX", "MY", "MZ")])
    own = next(row for row in files["feet.csv"] if row["case"] == case and row["member"] == "T")
    feet = np.array([float(own[name]) for name in own if name not in ("case", "member")])
    # Both sides are statics of the same forces; six decimals of a millimetre are what the files keep.
    np.testing.assert_allclose(-reaction, feet, rtol=1e-4, atol=1e-4 * np.abs(feet).max())


def test_p_delta_adds_what_the_second_order_share_says() -> None:
    """A slender post with a weight on top in the wind: moment at the foot over the first-order one, by P-delta."""
    leaf = Leaves(np.array(["T-1"]), np.array([0]), np.array([1500.0]), np.array([1]), np.array([""]))
    tree = cantilever(1500.0, 30.0, 30.0).hung(leaf)
    found = assessed(tree, commission(), np.array([70.0]), np.array([20_000.0]))
    files = {name: rows_of(text) for name, text in model_csvs(found).items()}
    moments = []
    for analyse in ("analyze_linear", "analyze_PDelta"):
        model = model_of(files, "wind toward +x")
        for push in files["forces.csv"]:
            if push["case"] == "weight":
                # The combination 1.2 D + 1.0 W, whose share is the worst.
                model.add_node_load(push["point"], "FZ", 1.2 * float(push["fz_n"]), "wind toward +x")
        getattr(model, analyse)(check_stability=False)
        moments.append(abs(model.nodes["0"].RxnMY["wind toward +x"]))
    assert found.order.factors[0] > 1.05
    assert moments[1] / moments[0] == pytest.approx(found.order.factors[0], rel=0.01)
