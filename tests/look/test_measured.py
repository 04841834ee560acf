from pathlib import Path

import numpy as np
import pytest

from armature.edge import CommissionError, FileError
from armature.look import judged
from armature.look.axes import Nodes, members_of, skeleton_of_nodes
from armature.look.measured import read_nodes

from .naturals import natural

HEAD = "id,parent,x,y,z,radius\n"
STEM = "1,-1,0,0,0,0.1\n2,1,0,0,1,0.09\n3,2,0,0,2,0.08\n4,3,0,0.1,3,0.05\n5,3,0.7,0,2.6,0.04\n6,5,1.2,0,2.9,0.03\n"


def written(folder: Path, text: str, name: str = "tree.csv") -> Path:
    file = folder / name
    file.write_text(text)
    return file


def as_csv(nodes: Nodes) -> str:
    rows = [
        f"{row},{parent},{x / 1000:.5f},{y / 1000:.5f},{z / 1000:.5f},{radius / 1000:.5f}"
        for row, (parent, (x, y, z), radius) in enumerate(zip(nodes.parents, nodes.points, nodes.radii, strict=True))
    ]
    return HEAD + "\n".join(rows) + "\n"


def test_members_follow_the_most_wood_and_start_where_they_leave(tmp_path: Path) -> None:
    tree = skeleton_of_nodes(read_nodes(written(tmp_path, HEAD + STEM)))
    # From node 3 the side shoot carries 0.92 + 0.58 m, the leader 1.005 m: the shoot goes on as the trunk.
    assert tree.tags.tolist() == ["6", "4"]
    assert tree.parents.tolist() == [-1, 0]
    assert tree.stations[1] == pytest.approx(2000.0)
    assert tree.starts[1] == pytest.approx([0.0, 0.0, 2000.0])
    assert tree.lengths[1] == pytest.approx(1000.0 * np.hypot(1.0, 0.1))


def test_all_wood_is_kept_whatever_the_order_of_the_rows(tmp_path: Path) -> None:
    nodes = natural(3)
    text = as_csv(nodes)
    head, *rows = text.splitlines()
    np.random.default_rng(1).shuffle(rows)
    tree, mixed = skeleton_of_nodes(nodes), skeleton_of_nodes(read_nodes(written(tmp_path, "\n".join([head, *rows]))))
    assert mixed.lengths.sum() == pytest.approx(tree.lengths.sum(), rel=1e-5)
    assert len(mixed) == len(tree)
    assert sorted(np.diff(mixed.offsets)) == sorted(np.diff(tree.offsets))


def test_swc_and_csv_of_one_tree_judge_alike(tmp_path: Path) -> None:
    nodes = natural(4)
    swc = "\n".join(
        f"{row + 1} {1 if parent < 0 else 3} {x / 1000:.5f} {y / 1000:.5f} {z / 1000:.5f} {radius / 1000:.5f} "
        f"{parent + 1 if parent >= 0 else -1}"
        for row, (parent, (x, y, z), radius) in enumerate(zip(nodes.parents, nodes.points, nodes.radii, strict=True))
    )
    one = judged(skeleton_of_nodes(read_nodes(written(tmp_path, "# made up\n" + swc, "tree.swc"))))
    other = judged(skeleton_of_nodes(read_nodes(written(tmp_path, as_csv(nodes)))))
    assert one.overall == other.overall


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("id,parent,x,y,z\n1,-1,0,0,0\n", "without radius"),
        (HEAD + STEM.replace("6,5,", "6,99,"), "must be the id of another row or -1 (got '99')"),
        (HEAD + STEM.replace("1,-1,", "1,3,"), "circle"),
        (HEAD + STEM.replace("2,1,", "2,2,"), "must not go round in a circle; one that does (got '2')"),
        (HEAD + STEM.replace("0.7,0,2.6", "0.7,0,1e300"), "line 6: x, y and z must be finite, at most 1e+09"),
        (HEAD + STEM + f"9,2,1,1,1,{'9' * 200_000}\n", "line 8: is no row of a CSV file: field larger"),
        (HEAD + STEM + "9,2,1,1,1,1e200\n", "radius of id 9: must be no larger than the tree (got '"),
        (HEAD + STEM + "9,2,1,1,1,5\n", "radius of id 9: must be no larger than the tree (got '"),
        (HEAD + STEM + "3,2,1,1,1,0.1\n", "each id must stand once (got '3')"),
        (HEAD + STEM.replace("0.7,0,2.6", "0.7,0,high"), "line 6: z: must be a number (got 'high')"),
        (HEAD + STEM.replace("0.7,0,2.6", "0.7,0,nan"), "must be finite"),
        (HEAD + "1,-1,0,0,0,0.1\n2,1,0,0,1,0.1\n", "at least 5 nodes (got 2)"),
        (HEAD + "".join(f"{n},{n - 1 or -1},1,1,1,0.1\n" for n in range(1, 9)), "not all lie at one place"),
        ("", "header"),
        ("# a birch\n\n" + HEAD + "# stem\n" + STEM.replace("0.7,0,2.6", "0.7,0,high"), "line 9: z: must be"),
        ("# a birch, mine\n" + HEAD.replace(",", ";") + "\n1;-1;0;0\n", "line 4: needs 6 fields (got 4)"),
    ],
)
def test_wrong_files_are_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    file = written(tmp_path, text)
    with pytest.raises(CommissionError) as caught:
        read_nodes(file)
    assert said in str(caught.value)
    assert str(file) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_comment_makes_the_unit_millimetres(tmp_path: Path) -> None:
    metres = read_nodes(written(tmp_path, HEAD + STEM))
    small = read_nodes(written(tmp_path, "# millimetres, z up\n" + HEAD + STEM))
    assert small.points * 1000.0 == pytest.approx(metres.points)
    assert small.radii * 1000.0 == pytest.approx(metres.radii)


def test_a_short_swc_row_names_its_line(tmp_path: Path) -> None:
    with pytest.raises(CommissionError, match="line 2: an SWC row is"):
        read_nodes(written(tmp_path, "1 1 0 0 0 1 -1\n2 3 0 0 1\n", "tree.swc"))


def test_a_missing_or_binary_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        read_nodes(tmp_path / "none.csv")
    with pytest.raises(FileError, match="is a device"):
        read_nodes(Path("/dev/zero"))
    (tmp_path / "photo.csv").write_bytes(b"\xff\xd8\xff\xe0" + bytes(range(256)))
    with pytest.raises(FileError, match="text file"):
        read_nodes(tmp_path / "photo.csv")


def test_a_loose_piece_near_by_is_joined_and_a_far_one_left_out(tmp_path: Path) -> None:
    near = "7,-1,1.25,0,2.95,0.03\n8,7,1.5,0,3.1,0.02\n"
    far = "17,-1,9,0,0,0.03\n18,17,9,0,1,0.02\n"
    joined = read_nodes(written(tmp_path, HEAD + STEM + near + far))
    assert (joined.parents < 0).sum() == 1
    assert len(joined) == 8
    assert joined.names[joined.parents[list(joined.names).index("7")]] == "6"
    assert "1 loose piece" in joined.repairs[0]
    assert "1 piece(s) of 2 node(s)" in joined.repairs[1]


def test_missing_radii_take_the_parents_and_it_is_said(tmp_path: Path) -> None:
    text = HEAD + STEM.replace("2.9,0.03", "2.9,0").replace("2.6,0.04", "2.6,-1")
    nodes = read_nodes(written(tmp_path, text))
    assert nodes.radii[nodes.names == "6"] == pytest.approx([80.0])
    assert "2 radius(es)" in nodes.repairs[0]
    bare = read_nodes(written(tmp_path, HEAD + "".join(line.rsplit(",", 1)[0] + ",0\n" for line in STEM.splitlines())))
    assert "no radius in the file" in bare.repairs[0]


@pytest.mark.parametrize("count", [15, 40])
def test_a_small_tree_is_judged(tmp_path: Path, count: int) -> None:
    rng = np.random.default_rng(count)
    rows = [f"{row},{max(row - 1, -1)},{0.02 * row},0,{0.3 * row},0.05" for row in range(8)]
    rows += [
        f"{row},{rng.integers(3, 8)},{rng.normal():.3f},{rng.normal():.3f},{2.5 + rng.normal() * 0.3:.3f},0.02"
        for row in range(8, count)
    ]
    verdict = judged(skeleton_of_nodes(read_nodes(written(tmp_path, HEAD + "\n".join(rows)))))
    assert 0.0 <= verdict.overall <= 100.0


def test_a_bare_line_of_nodes_is_judged(tmp_path: Path) -> None:
    rows = [f"{row},{row - 1},0,0,{0.3 * row},0.05" for row in range(15)]
    verdict = judged(skeleton_of_nodes(read_nodes(written(tmp_path, HEAD + "\n".join(rows)))))
    assert 0.0 <= verdict.overall <= 100.0


def test_members_of_numbers_parents_first() -> None:
    nodes = natural(2, "forest")
    members = members_of(nodes)
    parents = skeleton_of_nodes(nodes).parents
    assert (parents < np.arange(len(parents))).all()
    assert len(members) == len(nodes)
