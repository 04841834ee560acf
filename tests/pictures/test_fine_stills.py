"""Fine stills take minutes: a draft run leaves those of the same piece, and takes the place of any others."""

from pathlib import Path

from armature.commission import changed
from armature.make import make
from armature.pictures import still_names
from tests.pictures.scenes import small

BARE = ("mending", "plates", "strength", "shop", "papers", "mesh")


def test_a_draft_run_leaves_fine_stills_of_the_same_piece_alone(tmp_path: Path) -> None:
    asked = changed(small()[0], {"pictures.turntable": 0, "pictures.width": 64, "pictures.height": 64})
    job = tmp_path / "job"

    def stills() -> dict[str, bytes]:
        return {name: (job / "view" / name).read_bytes() for name in still_names()}

    make(asked, job, BARE, fine=True)
    fine = stills()
    said = make(asked, job, BARE).warnings
    assert any("fine stills" in line for line in said)
    assert stills() == fine
    # Once the user has touched one, none is known to be fine.
    (job / "view" / "front.png").write_bytes(fine["side.png"])
    make(asked, job, BARE)
    drafts = stills()
    assert all(drafts[name] != fine[name] for name in still_names())
    assert (job / "earlier" / "1" / "view" / "front.png").read_bytes() == fine["side.png"]
