"""Surveying: grow and judge many seeds, and ranges of commission values, on all cores or a cluster.

Each result is handed on as it comes, and those that are known already are not grown again, so that an interrupted
survey goes on from what it has. A result depends on nothing but its commission, so that the same survey gives the same
table on one core or a cluster, interrupted or not.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from armature.commission import Commission, changed
from armature.edge import ArmatureError, CommissionError
from armature.grow import grow
from armature.look.character import Character, character_of
from armature.look.likeness import crown_map
from armature.look.skeleton import Skeleton, skeleton_of
from armature.look.verdict import judged, typical_of
from armature.seeds import keys, uniform
from armature.tree import Floats

Values = Mapping[str, int | float | str]


@dataclass(frozen=True)
class Grown:
    """One tree of a survey: its key, seed, changed values, overall, family scores, worst findings, and a sketch of its
    crown.

    typical: 100 in the middle of all natural ranges, 0 at their edges. character: none where it could not be grown.
    failed: why it could not be grown, else empty. sketch: 96 numbers, wood by azimuth, height and ring, of length 1.
    """

    key: str
    seed: int
    values: dict[str, Any]
    overall: float
    families: dict[str, float]
    faults: tuple[str, ...]
    sketch: tuple[float, ...]
    typical: float = 0.0
    character: Character | None = None
    failed: str = ""


def surveyed(
    commission: Commission,
    seeds: Iterable[int],
    vary: Mapping[str, str] | None = None,
    known: Iterable[Grown] = (),
    jobs: int = -1,
    scheduler: str | None = None,
    told: Callable[[int, int], None] = lambda _done, _all: None,
    kept: Callable[[Grown], None] = lambda _grown: None,
) -> list[Grown]:
    """Return one result a seed, in the order of the seeds.

    vary: commission keys with what to try, `a, b, c` or `low .. high`, drawn by seed. known: results that are there
    already and not grown again. jobs: processes, -1 for one a core. scheduler: address of a dask.distributed scheduler,
    whose workers then do the work. told: hears how many are done. kept: is given each result as it comes. A draw that
    contradicts the commission counts as one that could not be grown. Raises CommissionError, before anything is grown,
    where none is left, or none with one of the choices.
    """
    if jobs < 1 and jobs != -1:
        raise CommissionError("jobs", "must be 1 or more processes, or -1 for one a core", jobs)
    draws = [(seed, drawn(vary or {}, seed)) for seed in dict.fromkeys(seeds)]
    wanted, grown_by_key = _keyed(commission, draws, vary or {})
    grown_by_key |= {grown.key: grown for grown in known if grown.key in wanted}
    open_ones = [(key, *wanted[key]) for key in wanted if key not in grown_by_key]
    told(len(grown_by_key), len(wanted))
    for grown in _worked(commission, open_ones, jobs, scheduler):
        grown_by_key[grown.key] = grown
        kept(grown)
        told(len(grown_by_key), len(wanted))
    return [grown_by_key[key] for key in wanted]


def _keyed(
    commission: Commission, draws: Sequence[tuple[int, dict[str, Any]]], vary: Mapping[str, str]
) -> tuple[dict[str, tuple[int, dict[str, Any]]], dict[str, Grown]]:
    """Return seed and values by key, and those of them already known to contradict the commission."""
    wanted, failed, refused = {}, {}, dict[int, ArmatureError]()
    for seed, values in draws:
        try:
            key = key_of(commission, seed, values)
        except ArmatureError as fault:
            refused[seed], key = fault, f"{seed} {json.dumps(values)}"
            failed[key] = Grown(key, seed, dict(values), 0.0, {}, (), (), failed=str(fault))
        wanted[key] = (seed, values)
    choices = [key for key, text in vary.items() if ".." not in text]
    groups = {(key, str(values[key])): [seed for seed, own in draws if own[key] == values[key]]
              for _, values in draws for key in choices}  # fmt: skip
    for seeds in (*groups.values(), [seed for seed, _ in draws]):
        if seeds and all(seed in refused for seed in seeds):
            raise refused[seeds[0]]
    return wanted, failed


def grown_again(commission: Commission, grown: Grown) -> Skeleton:
    """Return the skeleton of one tree of a survey of a commission, grown once more."""
    return skeleton_of(grow(changed(commission, {**grown.values, "seed": grown.seed})))


def one_grown(commission: Commission, key: str, seed: int, values: Values) -> Grown:
    """Return the result of one seed: what a worker does."""
    try:
        tree = grow(changed(commission, {**values, "seed": seed}))
    except ArmatureError as fault:
        return Grown(key, seed, dict(values), 0.0, {}, (), (), failed=str(fault))
    verdict, seen = judged(tree), skeleton_of(tree)
    sketch = tuple(round(float(x), 5) for x in _sketch(crown_map(seen)))
    names = tuple(fault.name for fault in verdict.faults[:4])
    character, typical = character_of(seen, verdict), typical_of(verdict)
    return Grown(key, seed, dict(values), verdict.overall, verdict.families, names, sketch, typical, character)


def drawn(vary: Mapping[str, str], seed: int) -> dict[str, Any]:
    """Return the values that a seed gives to the varied keys; raises CommissionError for ways that cannot be read.

    >>> drawn({"growth.twigs": "380 .. 400"}, 7) == drawn({"growth.twigs": "380 .. 400"}, 7)
    True
    """
    if "seed" in vary:
        raise CommissionError("seed", "is not varied: a survey has its own count of seeds and its first", vary["seed"])
    return {key: _drawn_one(key, text, seed) for key, text in vary.items()}


def _drawn_one(key: str, text: str, seed: int) -> Any:
    luck = float(uniform(keys(seed, [key], "survey"), 1)[0, 0])
    if ".." in text:
        ends = [re.fullmatch(r"\s*(-?\d+(?:\.\d+)?)\s*(\D*?)\s*", end) for end in text.split("..", 1)]
        if None in ends or ends[0][2] not in ("", ends[1][2]):  # type: ignore[index]
            raise CommissionError(key, "a range is `low .. high`, with the unit once or twice the same", text)
        low, high, unit = float(ends[0][1]), float(ends[1][1]), ends[1][2]  # type: ignore[index]
        if low > high:
            raise CommissionError(key, "a range is `low .. high`, the low end first", text)
        if "." in text.replace("..", ""):
            value: int | float = round(low + luck * (high - low), 3)
        else:
            value = int(low + luck * (high - low + 1.0))
        return f"{value} {unit}" if unit else value
    choices = [choice.strip() for choice in text.split(",") if choice.strip()]
    if not choices:
        raise CommissionError(key, "must name at least one value", text)
    return _plain(choices[min(int(luck * len(choices)), len(choices) - 1)])


def _plain(text: str) -> int | float | str:
    try:
        return json.loads(text) if re.fullmatch(r"-?\d+(\.\d+)?", text) else text
    except ValueError:
        return text


def key_of(commission: Commission, seed: int, values: Values) -> str:
    """Return a short key of everything that a result depends on."""
    whole = changed(commission, {**values, "seed": seed}).model_dump(mode="json")
    return hashlib.sha256(json.dumps(whole, sort_keys=True, default=str).encode()).hexdigest()[:16]


def _worked(
    commission: Commission, tasks: list[tuple[str, int, dict[str, Any]]], jobs: int, scheduler: str | None
) -> Iterator[Grown]:
    if scheduler is None and (jobs == 1 or len(tasks) < 2):
        yield from (one_grown(commission, *task) for task in tasks)
        return
    import joblib

    if scheduler is None:
        work = joblib.Parallel(n_jobs=min(jobs, len(tasks)), return_as="generator_unordered", batch_size=1)
        yield from work(joblib.delayed(one_grown)(commission, *task) for task in tasks)
        return
    try:
        from distributed import Client
    except ImportError as missing:
        raise CommissionError("scheduler", "needs the cluster extra: pip install 'armature[cluster]'") from missing
    try:
        client = Client(scheduler, timeout="20s")  # type: ignore[no-untyped-call]
    except (OSError, TimeoutError, ValueError) as fault:
        raise CommissionError("scheduler", "no dask scheduler answers there", scheduler) from fault
    with client, joblib.parallel_config(backend="dask", wait_for_workers_timeout=60):
        work = joblib.Parallel(return_as="generator_unordered", batch_size=1)
        yield from work(joblib.delayed(one_grown)(commission, *task) for task in tasks)


def _sketch(around: Floats) -> Floats:
    """Return a crown map (24, 8, 4) in 8 azimuths, 4 heights and 3 outer rings less its mean, at length 1: (96,)."""
    coarse = around[:, :, 1:].reshape(8, 3, 4, 2, 3).sum(axis=(1, 3)).ravel()
    coarse = coarse - coarse.mean()
    return np.asarray(coarse / max(float(np.linalg.norm(coarse)), 1e-12))
