import os
import subprocess
import sys

import numpy as np
import pytest
from scipy import stats

from armature.seeds import keys, normal, uniform

# A fixed seed makes each of these a constant: a p-value over this bound holds for good, and fair numbers fall under it
# by chance once in a thousand seeds.
LEAST_P = 1e-3


def test_a_tags_draws_do_not_depend_on_the_tags_beside_it() -> None:
    alone = uniform(keys(1, ["A01"]), 8)
    beside = uniform(keys(1, ["T", "A01", "B02-117-33"]), 8)
    assert np.array_equal(alone[0], beside[1])


def test_a_tags_draws_do_not_depend_on_how_many_are_drawn() -> None:
    key = keys(7, ["A01-12"])
    assert np.array_equal(uniform(key, 40)[:, 10:15], uniform(key, 5, start=10))
    assert np.array_equal(normal(key, 40)[:, 10:15], normal(key, 5, start=10))


def test_seed_tag_and_stream_each_make_another_stream() -> None:
    draws = [
        uniform(keys(seed, [tag], stream), 4)[0]
        for seed in (1, 2, 2**63 - 1)
        for tag in ("A01", "A10", "A1", "A", "")
        for stream in ("", "shape", "lean")
    ]
    assert len({draw.tobytes() for draw in draws}) == len(draws)


def test_draws_are_uniform_within_a_stream_and_across_tags() -> None:
    tags = [f"{limb}{branch:02d}-{twig:02d}" for limb in "ABCDE" for branch in range(1, 41) for twig in range(1, 51)]
    within = uniform(keys(3, ["A01"]), 20_000)[0]
    across = uniform(keys(3, tags), 1)[:, 0]
    for draws in (within, across):
        assert draws.min() >= 0.0
        assert draws.max() < 1.0
        assert stats.kstest(draws, "uniform").pvalue > LEAST_P


def test_first_draws_of_neighbouring_seeds_are_uniform() -> None:
    firsts = np.array([uniform(keys(seed, ["T"]), 1)[0, 0] for seed in range(2000)])
    assert stats.kstest(firsts, "uniform").pvalue > LEAST_P
    assert abs(np.corrcoef(firsts[:-1], firsts[1:])[0, 1]) < 4.0 / np.sqrt(len(firsts))  # four standard errors


@pytest.mark.parametrize("other", [(3, "A02", ""), (4, "A01", ""), (3, "A01", "lean")])
def test_two_streams_are_independent(other: tuple[int, str, str]) -> None:
    seed, tag, stream = other
    one, two = uniform(keys(3, ["A01"]), 20_000)[0], uniform(keys(seed, [tag], stream), 20_000)[0]
    # 8 x 8 cells: chi-square finds any dependence that is more than a slope, which the correlation would show.
    table, _, _ = np.histogram2d(one, two, bins=8, range=[[0, 1], [0, 1]])
    assert stats.chi2_contingency(table).pvalue > LEAST_P
    assert abs(np.corrcoef(one, two)[0, 1]) < 4.0 / np.sqrt(one.size)


def test_normal_draws_are_standard_normal() -> None:
    draws = normal(keys(5, ["B03"]), 20_000)[0]
    assert stats.kstest(draws, "norm").pvalue > LEAST_P
    assert abs(np.corrcoef(draws[:-1], draws[1:])[0, 1]) < 4.0 / np.sqrt(draws.size)


def test_draws_are_the_same_in_another_process_with_another_hash_seed() -> None:
    code = "from armature.seeds import keys, uniform; print(uniform(keys(9, ['A01-12'], 'shape'), 3).tobytes().hex())"
    runs = [
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for seed in ("1", "2")
    ]
    assert runs == [uniform(keys(9, ["A01-12"], "shape"), 3).tobytes().hex()] * 2
