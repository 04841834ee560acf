import numpy as np
import pytest

from armature.centreline import bend_list, row_norms
from armature.commission import Commission, read
from armature.errors import CommissionError
from armature.grow import grow
from armature.joints import assembled, joints
from armature.look import refined
from armature.look.clashes import met
from armature.look.refine import Mending, free_rows
from armature.look.skeleton import skeleton_of
from armature.look.swing import rebent, swung, turn_about, turn_toward
from armature.tree import Tree

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
        host = str(before.tags[before.parents[before.rows[tag]]])
        assert host not in mending.moved


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
        host = int(after.parents[row])
        from armature.look.swing import _above_skin

        above = _above_skin(after, host, after.starts[[row]], float(after.stations[row]))[0]
        assert above == pytest.approx([0.0], abs=0.01)
        assert 19.9 <= found.leans[row] <= 115.1


def test_a_mended_tree_is_rebuilt_from_its_lists_alone(mended: tuple[Tree, Mending, list[str]]) -> None:
    after = mended[0]
    again = assembled(after.parents, joints(after), bend_list(after.chains))
    assert row_norms(again.vertices - after.chains.vertices).max() < 1e-6


def test_the_same_tree_mends_alike(grown: tuple[Tree, Commission], mended: tuple[Tree, Mending, list[str]]) -> None:
    again, _ = refined(spoilt(grown[0]), grown[1], mended[2], rounds=10)
    assert again.same_as(mended[0])


def test_a_made_tag_that_the_tree_lacks_is_refused(grown: tuple[Tree, Commission]) -> None:
    with pytest.raises(CommissionError, match="must list tags of this tree"):
        free_rows(grown[0], ["Z99"])


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
    row = next(int(r) for r in tree.of_rank(4) if bends[r] >= 2 and rebent(tree, int(r), np.full(9, 90.0), 1.1))
    after = rebent(tree, row, np.full(9, 90.0), 1.1)
    assert after is not None
    assert after.axes[row] == pytest.approx(tree.axes[row])
    assert bend_list(after.chains.taken([row])).feeds == pytest.approx(bend_list(tree.chains.taken([row])).feeds)
    assert row_norms(after.tips[[row]] - tree.tips[[row]])[0] > 1.0
