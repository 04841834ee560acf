"""A picture is written over only where it is proved to be the program's own."""

import io
from pathlib import Path

from PIL import Image

from armature.job.marked import write_picture


def png(colour: int) -> bytes:
    packed = io.BytesIO()
    Image.new("L", (4, 3), colour).save(packed, format="PNG")
    return packed.getvalue()


def test_a_picture_of_the_users_is_kept_and_ones_own_is_written_over(tmp_path: Path) -> None:
    place = tmp_path / "front.png"
    place.write_bytes(png(1))
    assert write_picture(place, png(2)) == "front.kept.png"
    assert (tmp_path / "front.kept.png").read_bytes() == png(1)
    assert write_picture(place, png(3)) == ""
    assert Image.open(place).getpixel((0, 0)) == 3
    assert sorted(path.name for path in tmp_path.iterdir()) == ["front.kept.png", "front.png"]


def test_a_picture_that_the_user_has_changed_is_kept(tmp_path: Path) -> None:
    place = tmp_path / "front.png"
    write_picture(place, png(2))
    drawn_on = place.read_bytes().replace(b"IDAT", b"IDAt")
    place.write_bytes(drawn_on)
    assert write_picture(place, png(3)) == "front.kept.png"
    assert (tmp_path / "front.kept.png").read_bytes() == drawn_on


def test_a_link_of_the_users_is_not_written_through(tmp_path: Path) -> None:
    (tmp_path / "photo.png").write_bytes(png(7))
    (tmp_path / "front.png").symlink_to("photo.png")
    write_picture(tmp_path / "front.png", png(2))
    assert (tmp_path / "photo.png").read_bytes() == png(7)
