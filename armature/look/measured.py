"""Reading a measured tree: SWC (`id type x y z radius parent`) or CSV with `id,parent,x,y,z,radius`, in metres, or in
millimetres where a comment says so.

What is plainly mended is mended and said; what would be a guess is an error.
SWC: Cannon and others, J. Neurosci. Methods 84 (1998), from memory; its units are taken as metres here.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

from armature.edge import CommissionError, FileError, read_bytes
from armature.look.axes import Nodes
from armature.tree import Floats, Ints

_COLUMNS = ("id", "parent", "x", "y", "z", "radius")
_ROOTS = ("-1", "", "nan", "none", "na", "null")
# A comment that says so, as in the tree.swc of a job folder, makes the unit millimetres.
_MM = re.compile(r"^#\s*millimet(re|er)s\b", re.IGNORECASE | re.MULTILINE)
_LEAST, _MOST = 5, 1_000_000
_LARGEST = 200_000_000  # bytes: a million nodes with room
# No tree is measured from so far away, even in thousandths of a millimetre.
_FARTHEST = 1e9
# An orphan nearer to the rest of the tree than this share of its height is joined to it.
_BRIDGE = 0.1


def read_nodes(path: Path) -> Nodes:
    """Return the nodes of an SWC or CSV file, parents first, lengths in mm.

    Raises FileError if it cannot be read, CommissionError naming the line where a rule is broken.
    """
    try:
        text = read_bytes(path, _LARGEST, "measured tree").decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as bad:
        raise FileError(path, "must be a text file: SWC, CSV or design.json") from bad
    plain = _plain_table(text, path.suffix.lower() == ".swc")
    if plain is not None:
        ids, above, table = plain
        table *= 1.0 if _MM.search(text) else 1000.0
        return _mended(path, ids, above, table[:, :3], table[:, 3])
    rows = _swc_rows(path, text) if path.suffix.lower() == ".swc" else _csv_rows(path, text)
    if len(rows) < _LEAST:
        raise CommissionError(str(path), f"a tree needs at least {_LEAST} nodes", len(rows))
    if len(rows) > _MOST:
        raise CommissionError(str(path), f"a measured tree has at most {_MOST:,} nodes", len(rows))
    names = [row[0] for row in rows]
    values = _numbers(path, rows)
    parents = _parents(path, names, [row[1] for row in rows])
    values *= 1.0 if _MM.search(text) else 1000.0
    return _mended(path, np.array(names), parents, values[:, :3], values[:, 3])


def _plain_table(text: str, is_swc: bool) -> tuple[np.ndarray[tuple[int], np.dtype[np.str_]], Ints, Floats] | None:
    """Return ids, parents and x, y, z, radius of a file that holds numbers alone; None for any other.

    A million rows in seconds; what is amiss, and what is no number, is left to the readers that name the line.
    """
    lines = [line for line in text.split("\n") if line.strip() and not line.startswith("#")]
    columns: tuple[int, ...] = (0, 6, 2, 3, 4, 5)
    split = None
    if not is_swc:
        split = next((sign for sign in (",", ";", "\t") if lines and sign in lines[0]), ",")
        heads = [name.strip().lower() for name in lines[0].split(split)] if lines else []
        if any(name not in heads for name in _COLUMNS):
            return None
        columns, lines = tuple(heads.index(name) for name in _COLUMNS), lines[1:]
    if not _LEAST <= len(lines) <= _MOST:
        return None
    try:
        table = np.loadtxt(lines, delimiter=split, usecols=columns, comments="#" if is_swc else None, ndmin=2)
    except ValueError:
        return None
    if not np.isfinite(table).all() or np.abs(table[:, :5]).max() > _FARTHEST or (table[:, :2] % 1.0).any():
        return None
    ids, above = table[:, 0].astype(np.int64), table[:, 1].astype(np.int64)
    order = np.argsort(ids, kind="stable")
    at = np.minimum(np.searchsorted(ids[order], above), len(ids) - 1)
    known = ids[order][at] == above
    if (np.diff(ids[order]) == 0).any() or not np.isin(above[~known], (-1, 0)).all():
        return None
    return ids.astype(np.str_), np.where(known, order[at], -1), table[:, 2:].copy()


def _swc_rows(path: Path, text: str) -> list[list[str]]:
    rows = []
    for number, line in enumerate(text.splitlines(), start=1):
        fields = line.split("#")[0].replace(",", " ").split()
        if not fields:
            continue
        if len(fields) < 7:
            raise CommissionError(f"{path}: line {number}", "an SWC row is `id type x y z radius parent`", line.strip())
        rows.append([_plain(fields[0]), _plain(fields[6]), *fields[2:6], str(number)])
    return rows


def _csv_rows(path: Path, text: str) -> list[list[str]]:
    said = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip() and not line.startswith("#")]
    split = next((each for each in (",", ";", "\t") if said and each in said[0][1]), ",")
    reader = csv.reader([line for _, line in said], delimiter=split)
    # A field in quotes may run over lines: a row is named by its last.
    try:
        table = [(said[reader.line_num - 1][0], row) for row in reader]
    except csv.Error as bad:
        raise CommissionError(
            f"{path}: line {said[reader.line_num - 1][0]}", f"is no row of a CSV file: {bad}"
        ) from None
    names = [name.strip().lower() for name in table[0][1]] if table else []
    missing = [name for name in _COLUMNS if name not in names]
    if missing:
        raise CommissionError(str(path), f"the header must hold {','.join(_COLUMNS)}", f"without {','.join(missing)}")
    at = [names.index(name) for name in _COLUMNS]
    rows = []
    for number, row in table[1:]:
        if len(row) <= max(at):
            raise CommissionError(f"{path}: line {number}", f"needs {len(names)} fields", len(row))
        picked = [row[column].strip() for column in at]
        rows.append([_plain(picked[0]), _plain(picked[1]), *picked[2:], str(number)])
    return rows


def _plain(name: str) -> str:
    """Return an id without a decimal point that a spreadsheet has added."""
    return name[:-2] if name.endswith(".0") else name


def _numbers(path: Path, rows: list[list[str]]) -> Floats:
    values = np.zeros((len(rows), 4))
    for at, row in enumerate(rows):
        for column, (name, field) in enumerate(zip(_COLUMNS[2:], row[2:6], strict=True)):
            try:
                values[at, column] = float(field) if field or name != "radius" else 0.0
            except ValueError:
                raise CommissionError(f"{path}: line {row[6]}: {name}", "must be a number", field) from None
        if not (np.abs(values[at, :3]) <= _FARTHEST).all():
            raise CommissionError(
                f"{path}: line {row[6]}", f"x, y and z must be finite, at most {_FARTHEST:g}", row[2:5]
            )
    return values


def _parents(path: Path, names: list[str], listed: list[str]) -> Ints:
    rows = {name: row for row, name in enumerate(names)}
    if len(rows) < len(names):
        twice = next(name for row, name in enumerate(names) if rows[name] != row)
        raise CommissionError(f"{path}: id", "each id must stand once", twice)
    parents = np.full(len(names), -1, dtype=np.int64)
    for row, (name, parent) in enumerate(zip(names, listed, strict=True)):
        if parent in rows:
            parents[row] = rows[parent]
        elif parent not in rows and parent.lower() not in _ROOTS and parent != "0":
            raise CommissionError(f"{path}: parent of id {name}", "must be the id of another row or -1", parent)
    return parents


def _mended(
    path: Path, names: np.ndarray[tuple[int], np.dtype[np.str_]], parents: Ints, points: Floats, radii: Floats
) -> Nodes:
    repairs: list[str] = []
    order = _parents_first(path, names, parents)
    new = np.full(len(names) + 1, -1, dtype=np.int64)
    new[order] = np.arange(len(order))
    names, parents, points, radii = names[order], new[parents[order]], points[order], radii[order]
    parents, kept = _one_root(parents, points, repairs)
    if not kept.all():
        new = np.where(kept, np.cumsum(kept) - 1, -1)
        names, points, radii = names[kept], points[kept], radii[kept]
        parents = np.where(parents[kept] >= 0, new[parents[kept]], -1)
    again = _parents_first(path, names, parents)
    new = np.full(len(names) + 1, -1, dtype=np.int64)
    new[again] = np.arange(len(again))
    names, parents, points, radii = names[again], new[parents[again]], points[again], radii[again]
    size = float(np.ptp(points, axis=0).max())
    if size <= 0.0:
        raise CommissionError(str(path), "the nodes must not all lie at one place")
    thick = np.flatnonzero(np.isfinite(radii) & (radii > size))
    if len(thick):
        rule = "must be no larger than the tree"
        raise CommissionError(f"{path}: radius of id {names[thick[0]]}", rule, f"{radii[thick[0]] / size:.3g} times it")
    return Nodes(names, parents, points, _thickened(parents, points, radii, repairs), tuple(repairs))


def _parents_first(path: Path, names: np.ndarray[tuple[int], np.dtype[np.str_]], parents: Ints) -> Ints:
    """Return the rows in an order of parents before children, that of the file where it can be kept."""
    depth = np.full(len(parents), -1, dtype=np.int64)
    children: list[list[int]] = [[] for _ in parents]
    for row, parent in enumerate(parents.tolist()):
        if parent >= 0:
            children[parent].append(row)
    order: list[int] = []
    stack = np.flatnonzero(parents < 0)[::-1].tolist()
    while stack:
        row = stack.pop()
        order.append(row)
        stack.extend(reversed(children[row]))
    if len(order) < len(parents):
        depth[order] = 0
        lost = int(np.argmax(depth < 0))
        raise CommissionError(f"{path}: parent", "rows must not go round in a circle; one that does", str(names[lost]))
    return np.array(order, dtype=np.int64)


def _one_root(
    parents: Ints, points: Floats, repairs: list[str]
) -> tuple[Ints, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Return the parents with one root, and which rows are kept: pieces near the main one are joined, far ones left
    out."""
    roots = np.flatnonzero(parents < 0)
    kept = np.ones(len(parents), dtype=bool)
    if len(roots) == 1:
        return parents, kept
    # Rows stand piece after piece, each behind its root.
    sizes = np.diff(np.append(roots, len(parents)))
    main = int(np.argmax(sizes))
    piece = np.repeat(np.arange(len(roots)), sizes)
    reach = _BRIDGE * float(np.ptp(points[piece == main], axis=0).max())
    parents, trunk = parents.copy(), np.flatnonzero(piece == main)
    loose = np.delete(np.arange(len(roots)), main)
    away, nearest = (np.asarray(each) for each in cKDTree(points[trunk]).query(points[roots[loose]]))
    near = np.asarray(away <= reach)
    parents[roots[loose[near]]] = trunk[nearest[near]]
    kept[np.isin(piece, loose[~near])] = False
    bridged, left = int(near.sum()), int((~near).sum())
    if bridged:
        repairs.append(f"{bridged} loose piece(s) joined to the nearest node of the main tree")
    if left:
        lost = int((~kept).sum())
        repairs.append(
            f"{left} piece(s) of {lost} node(s) in all left out: farther than a tenth of the tree's size from it"
        )
    return parents, kept


def _thickened(parents: Ints, points: Floats, radii: Floats, repairs: list[str]) -> Floats:
    """Return radii above zero: a missing one takes its parent's, or where all are missing a thousandth of the
    height."""
    bad = ~(np.isfinite(radii) & (radii > 0.0))
    if not bad.any():
        return radii
    if bad.all():
        repairs.append("no radius in the file: a thousandth of the height taken, thickness is not judged")
        return np.full(len(radii), 0.001 * float(np.ptp(points, axis=0).max()))
    thickened, middle = radii.copy(), float(radii[~bad].max())
    for row in np.flatnonzero(bad).tolist():
        thickened[row] = thickened[parents[row]] if parents[row] >= 0 else middle
    repairs.append(f"{int(bad.sum())} radius(es) missing, zero or negative: the parent's taken")
    return thickened
