import re
from pathlib import Path

import armature
from armature.commission import Commission, read
from armature.commission.reference import EXAMPLE, reference

DOCUMENT = Path(armature.__file__).parent.parent / "docs" / "commission.md"


def test_the_document_is_current() -> None:
    assert DOCUMENT.read_text(encoding="utf-8") == reference(), (
        "run: python -m armature.commission > docs/commission.md"
    )


def test_every_key_is_documented_with_default_range_and_meaning() -> None:
    text = reference()
    rows = [line for line in text.splitlines() if line.startswith("| `")]
    for row in rows:
        cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", row)[1:-1]]
        assert all(cells), row
    for section in ("canopy", "growth", "growth.twig", "steel", "leaves", "site", "shop", "pictures"):
        assert f"### `[{section}]`" in text
    for key in ("title", "seed", "units", "pipe_exponent", "clearance", "keep_out", "insertion_angle_sd", "sinuosity"):
        assert f"| `{key}` |" in text


def test_stated_defaults_are_those_a_commission_gets() -> None:
    tree, text = read(EXAMPLE), reference()
    assert f"| `pipe_exponent` | `{tree.growth.pipe_exponent}` |" in text
    assert f"| `clearance` | `{tree.growth.clearance:g} mm` |" in text
    assert f"| `scale_loss` | `{tree.shop.scale_loss * 100:g} %` |" in text
    assert tree.leaves.count == 3 * tree.growth.twigs
    assert tree.leaves.spacing == tree.leaves.length / 3


def test_the_example_is_five_lines_and_is_read() -> None:
    assert len(EXAMPLE.splitlines()) == 5
    assert isinstance(read(EXAMPLE), Commission)
