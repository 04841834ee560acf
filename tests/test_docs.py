"""What README and the tutorial tell to type runs as it stands."""

import re
import shlex
from pathlib import Path

import pytest

import armature
from armature.cli import run
from armature.commission import read
from armature.grow import grow

ROOT = Path(armature.__file__).parent.parent
TUTORIAL = ROOT / "docs" / "first-hour.md"


def commands(page: Path) -> list[list[str]]:
    blocks = re.findall(r"```sh\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("armature ")]
    return [shlex.split(line)[1:] for line in lines]


def test_the_first_hour_runs_from_an_empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    typed = commands(TUTORIAL)
    assert len(typed) >= 6
    for command in typed:
        assert run(command) == 0, command
    for name in (
        "summary.md",
        "view/sheet.png",
        "look.md",
        "strength.md",
        "bars.csv",
        "shop/packet.pdf",
        "mesh/tree.glb",
    ):
        assert (tmp_path / "alder-job" / name).stat().st_size > 0, name


def test_the_five_lines_of_the_tutorial_grow() -> None:
    text = re.search(r"```toml\n(.*?)```", TUTORIAL.read_text(encoding="utf-8"), re.DOTALL)
    assert text
    tree = grow(read(text[1]))
    assert (tree.ranks == 4).sum() == 90


@pytest.mark.parametrize(
    "page", ["README.md", "DEVELOPERS.md", *(f"docs/{p.name}" for p in (ROOT / "docs").glob("*.md"))]
)
def test_links_between_papers_lead_somewhere(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        if "://" not in target:
            assert ((ROOT / page).parent / target).exists(), target


def test_every_preset_has_its_picture() -> None:
    for preset in (ROOT / "presets").glob("*.toml"):
        assert (ROOT / "renders" / f"{preset.stem}.png").is_file()
