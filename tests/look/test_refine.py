from pathlib import Path

import numpy as np
import pytest

import armature
from armature.commission import Commission, read
from armature.edge import CommissionError
from armature.grow import grow, swung, turn_about, turn_toward
from armature.grow.drawing import LEAST_LEAN, MOST_LEANS
from armature.look import judged, refined
from armature.look.clashes import met
from armature.look.hand_moves import rebent
from armature.look.proposals import Luck, tried
from armature.look.refine import Mending, free_rows
from armature.look.skeleton import skeleton_of
from armature.tree import Tree, assembled, bend_list, joints, locate, row_norms

ROOT = Path(armature.__file__).parent.parent
SMALL = 'title = "Alder"\nseed = 3\ncanopy.height = "3 m"\ngrowth = {limbs = 3, branches = 12, twigs = 90}'


@pytest.fixture(scope="module")
def grown() -> tuple[Tree, Commission]:
    commission = read(SMALL)
    return grow(commission), commission


@pytest.fixture(scope="module")
def mended(grown: tuple[Tree, Commission]) -> tuple[Tree, Mending, list[str]]:
    tree, commission = grown
    made = [str(tag) for tag in tree.tags[tree.of_rank(4)][:20]]
    return *refined(spoilt(tree), commission, made, rounds=10), made


def spoilt(tree: Tree) -> Tree:
    """Every other twig of the tree bent to lie in one direction: a clump and holes beside it."""
    for row in tree.of_rank(4)[30:75].tolist():
        turned = swung(tree, row, turn_toward(tree.axes[row], np.array([1.0, 0.2, 0.5]), 0.6))
        tree = turned or tree
    return tree


def test_mending_raises_the_overall_and_says_by_which_steps(mended: tuple[Tree, Mending, list[str]]) -> None:
    _, mending, _ = mended
    assert mending.after.overall > mending.before.overall + 1.0
    assert [step.overall for step in mending.steps] == sorted(step.overall for step in mending.steps)
    assert mending.steps[-1].overall == mending.after.overall
    assert mending.moved


def test_what_is_made_stays_to_the_last_bend(
    grown: tuple[Tree, Commission], mended: tuple[Tree, Mending, list[str]]
) -> None:
    before = spoilt(grown[0])
    after, mending, made = mended
    assert not set(made) & set(mending.moved)
    assert before.alone([before.rows[tag] for tag in made]).same_as(after.alone([after.rows[tag] for tag in made]))
    # What carries the made members stays too.
    for tag in made:
        parent = str(before.tags[before.parents[before.rows[tag]]])
        assert parent not in mending.moved


def test_counts_sizes_and_tags_stay(grown: tuple[Tree, Commission], mended: tuple[Tree, Mending, list[str]]) -> None:
    before, after = grown[0], mended[0]
    assert after.tags.tolist() == before.tags.tolist()
    assert (after.parents == before.parents).all()
    assert (after.start_diameters == before.start_diameters).all()
    assert (after.stock_diameters == before.stock_diameters).all()
    assert len(after.leaves) == len(before.leaves)


def test_moved_members_run_through_nobody_and_start_on_the_skin(
    grown: tuple[Tree, Commission], mended: tuple[Tree, Mending, list[str]]
) -> None:
    after, mending, _ = mended
    moved = {after.rows[tag] for tag in mending.moved}
    assert not [pair for pair in met(skeleton_of(after))[0].tolist() if set(pair) & moved]
    found = joints(after)
    for row in moved:
        parent = int(after.parents[row])
        assert above_skin(after, parent, after.starts[row]) == pytest.approx(0.0, abs=0.01)
        assert LEAST_LEAN - 0.1 <= found.leans[row] <= MOST_LEANS[int(after.ranks[row])] + 0.1


def above_skin(tree: Tree, parent: int, point: np.ndarray) -> float:
    """Return how far a point is above a member's skin: the least over its centreline, sampled finely."""
    stations = np.linspace(0.0, float(tree.lengths[parent]), 40_001)
    rows = np.full(len(stations), parent)
    away = row_norms(locate(tree.chains, rows, stations)[0] - point)
    return float(away.min() - tree.diameters_at([parent], [stations[away.argmin()]])[0] / 2.0)


def test_a_mended_tree_is_rebuilt_from_its_lists_alone(mended: tuple[Tree, Mending, list[str]]) -> None:
    after = mended[0]
    again = assembled(after.parents, joints(after), bend_list(after.chains))
    assert row_norms(again.vertices - after.chains.vertices).max() < 1e-6


def test_the_same_tree_mends_alike(grown: tuple[Tree, Commission], mended: tuple[Tree, Mending, list[str]]) -> None:
    again, _ = refined(spoilt(grown[0]), grown[1], mended[2], rounds=10)
    assert again.same_as(mended[0])


def test_a_made_tag_that_the_tree_lacks_is_refused(grown: tuple[Tree, Commission]) -> None:
    for where in ("made", "made.csv"):
        with pytest.raises(CommissionError, match=f"^{where}: must list tags of this tree"):
            free_rows(grown[0], ["Z99"], where)


def test_nothing_moves_where_all_is_made(grown: tuple[Tree, Commission]) -> None:
    tree, commission = grown
    same, mending = refined(tree, commission, tree.tags.tolist(), rounds=3)
    assert same.same_as(tree)
    assert mending.steps == ()


def test_a_swing_keeps_every_bend_and_turns_the_load_rigidly(grown: tuple[Tree, Commission]) -> None:
    tree = grown[0]
    row = int(tree.of_rank(2)[0])
    after = swung(tree, row, turn_about(tree.axes[row] + [0.3, 0.1, 0.0], 15.0))
    assert after is not None
    one, other = bend_list(tree.chains), bend_list(after.chains)
    assert other.bends == pytest.approx(one.bends, abs=1e-9)
    assert other.feeds == pytest.approx(one.feeds, abs=1e-6)
    load = tree.subtree(row)
    apart = row_norms(tree.tips[load] - tree.starts[row])
    assert row_norms(after.tips[load] - after.starts[row]) == pytest.approx(apart)


def test_bending_anew_keeps_start_axis_and_straight_runs(grown: tuple[Tree, Commission]) -> None:
    tree = grown[0]
    bends = np.bincount(bend_list(tree.chains).members, minlength=len(tree))
    row = next(int(r) for r in tree.of_rank(4) if bends[r] >= 2 and rebent(tree, int(r), np.full(9, 90.0), 1.1, 5.0))
    after = rebent(tree, row, np.full(9, 90.0), 1.1, 5.0)
    assert after is not None
    assert after.axes[row] == pytest.approx(tree.axes[row])
    assert bend_list(after.chains.taken([row])).feeds == pytest.approx(bend_list(tree.chains.taken([row])).feeds)
    assert row_norms(after.tips[[row]] - tree.tips[[row]])[0] > 1.0


def test_no_bend_is_mended_fainter_than_the_shop_makes(grown: tuple[Tree, Commission]) -> None:
    tree = grown[0]
    listed = bend_list(tree.chains)
    row = next(int(r) for r in tree.of_rank(4) if rebent(tree, int(r), np.zeros(9), 0.8, 5.0) is not None)
    least = float(listed.bends[listed.members == row].min())
    assert rebent(tree, row, np.zeros(9), 0.8, 0.8 * least - 0.01) is not None
    assert rebent(tree, row, np.zeros(9), 0.8, 0.8 * least + 0.01) is None
    alike = next(finding for finding in judged(tree).findings if finding.name == "twins")
    luck, made = Luck(3, tree, "test"), 0
    for twig in tree.of_rank(4).tolist():
        after = tried(tree, alike, twig, luck, 12.0)
        made += after is not None
        assert after is None or bend_list(after.chains.taken([twig])).bends.min() >= 12.0 - 1e-6
    assert made >= 5


def test_what_hangs_in_a_weeping_crown_goes_on_hanging() -> None:
    commission = read(ROOT / "presets" / "weeping.toml")
    tree = grow(commission)
    mended, mending = refined(tree, commission, rounds=6)
    assert mending.moved

    def rises(each: Tree) -> np.ndarray:
        chords = each.tips - each.starts
        return np.degrees(np.arctan2(chords[:, 2], np.hypot(chords[:, 0], chords[:, 1])))

    hung = rises(tree) < -50.0
    assert hung.sum() > 20
    assert rises(mended)[hung].max() < -20.0
