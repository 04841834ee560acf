"""A preset's frame given to a general frame solver from its CSV lists alone: base forces, ratios at feet, frequencies.

Run by hand: `python -m tests.bench.bench_engineer [preset]`; some minutes. What is printed stands in docs/strength.md.
"""

from __future__ import annotations

import csv
import io
import sys
import time
from pathlib import Path

import numpy as np
from Pynite import FEModel3D

from armature.commission import read
from armature.files import model_csvs
from armature.grow import grow
from armature.strength import Assessment, strengthened

PRESETS = Path(__file__).parents[2] / "presets"
CASES = {"weight": "weight", "wind": "wind toward +x"}


def main(name: str) -> None:
    """Print what the solver finds beside what the sweeps found."""
    commission = read(PRESETS / f"{name}.toml")
    found = strengthened(grow(commission), commission).assessment
    files = {key: list(csv.DictReader(io.StringIO(text))) for key, text in model_csvs(found).items()}
    model = _model(files)
    start = time.process_time()
    model.analyze_linear(check_stability=False)
    print(
        f"{name}: {len(model.nodes)} points, {len(model.members)} bars, {time.process_time() - start:.0f} s of solver"
    )
    _base(model, files)
    _ratios(found, model, files)
    _tones(found, model, files)


def _model(files: dict[str, list[dict[str, str]]]) -> FEModel3D:
    model = FEModel3D()
    for point in files["points.csv"]:
        model.add_node(point["point"], *(float(point[f"{axis}_mm"]) for axis in "xyz"))
        if point["held"] == "1":
            model.def_support(point["point"], *[True] * 6)
    model.add_material(
        "steel", float(files["bars.csv"][0]["young_mpa"]), float(files["bars.csv"][0]["shear_mpa"]), 0.3, 0
    )
    for bar in files["bars.csv"]:
        flex = float(bar["inertia_mm4"])
        model.add_section(bar["bar"], float(bar["area_mm2"]), flex, flex, float(bar["torsion_mm4"]))
        model.add_member(bar["bar"], bar["from_point"], bar["to_point"], "steel", bar["bar"])
    for short, case in CASES.items():
        for push in files["forces.csv"]:
            if push["case"] == case:
                for axis in "xyz":
                    model.add_node_load(push["point"], f"F{axis.upper()}", float(push[f"f{axis}_n"]), short)
        model.add_load_combo(short, {short: 1.0})
    return model


def _base(model: FEModel3D, files: dict[str, list[dict[str, str]]]) -> None:
    held = next(point["point"] for point in files["points.csv"] if point["held"] == "1")
    for short, case in CASES.items():
        node = model.nodes[held]
        reaction = -np.array([getattr(node, f"Rxn{each}")[short] for each in ("FX", "FY", "FZ", "MX", "MY", "MZ")])
        row = next(row for row in files["feet.csv"] if row["case"] == case and row["member"] == "T")
        own = np.array([float(row[key]) for key in row if key not in ("case", "member")])
        shear, bend = (
            np.linalg.norm(reaction[some] - own[some]) / np.linalg.norm(own[some]) for some in (slice(3), slice(3, 6))
        )
        print(f"  {short}: force {np.round(reaction[:3], 1)} N, moment {np.round(reaction[3:] / 1e6, 3)} kN m,")
        print(f"    apart from the sweeps by {shear:.1e} of the force and {bend:.1e} of the moment")


def _ratios(found: Assessment, model: FEModel3D, files: dict[str, list[dict[str, str]]]) -> None:
    """Bending at each foot under 1.2 weight + 1.0 wind by the solver's own bar forces, over 0.9 x 1.6 Fy S."""
    firsts: dict[str, str] = {}
    for bar in files["bars.csv"]:
        if bar["kind"] == "bar":
            firsts.setdefault(bar["member"], bar["bar"])
    apart, worst, most = [], (0.0, ""), (0.0, "", 0.0)
    for row, tag in enumerate(found.tree.tags.tolist()):
        member = model.members[firsts[tag]]
        solved = 1.2 * member.f("weight")[[4, 5], 0] + member.f("wind")[[4, 5], 0]
        tangent = found.cross_sections.tangents[row]
        own = np.zeros(3)
        for case, factor in (("weight", 1.2), ("wind toward +x", 1.0)):
            line = next(each for each in files["feet.csv"] if each["case"] == case and each["member"] == tag)
            own += factor * np.array([float(line[f"m{axis}_n_mm"]) for axis in "xyz"])
        across = float(np.linalg.norm(own - (own @ tangent) * tangent))
        limit = 0.9 * 1.6 * float(found.yields[row]) * np.pi * float(found.tree.start_diameters[row]) ** 3 / 32.0
        ratio = float(np.linalg.norm(solved)) / limit
        apart.append(abs(ratio - across / limit))
        worst, most = max(worst, (ratio, str(tag))), max(most, (apart[-1], str(tag), ratio))
    print(f"  ratios of bending at {len(apart)} feet: worst {worst[0]:.3f} at {worst[1]}; apart in the middle")
    print(f"    by {np.median(apart):.1e}, at most by {most[0]:.1e} of {most[2]:.3f}, at {most[1]}")


def _tones(found: Assessment, model: FEModel3D, files: dict[str, list[dict[str, str]]]) -> None:
    from scipy.sparse import csc_array, diags_array
    from scipy.sparse.linalg import eigsh

    stiff = csc_array(model.Ke("weight", check_stability=False))
    lumps = np.zeros(stiff.shape[0])
    for push in files["forces.csv"]:
        if push["case"] == "weight":
            node = model.nodes[push["point"]].ID
            lumps[6 * node : 6 * node + 3] = -float(push["fz_n"]) / 9.80665 * 1e-3
    free = np.setdiff1d(np.arange(stiff.shape[0]), np.arange(6) + 6 * model.nodes["0"].ID)
    squares = eigsh(
        stiff[free][:, free],
        3,
        diags_array(np.maximum(lumps[free], 1e-12)).tocsc(),
        sigma=0.0,
        return_eigenvectors=False,
    )
    tones = np.sort(np.sqrt(squares)) / (2.0 * np.pi)
    print(
        f"  lowest tones by its matrix {np.round(tones, 4)} Hz, by the sweeps {np.round(found.modes.frequencies, 4)} Hz"
    )


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "garden")
