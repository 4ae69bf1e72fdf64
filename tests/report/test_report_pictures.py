"""Title cards and plots: the size, the clear ground, words within the frame, the same bytes."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import pytest
from PIL import Image

from stepwise.report import Picture, pictures
from stepwise.run import RunView

FRAME = (1920, 1080)


@pytest.fixture(scope="module")
def made(rehearsal: RunView) -> tuple[Picture, ...]:
    return tuple(pictures(rehearsal))


def opened(picture: Picture) -> Image.Image:
    return Image.open(io.BytesIO(picture.content))


def pngs(made: tuple[Picture, ...]) -> list[Picture]:
    return [each for each in made if each.name.endswith(".png")]


def test_there_is_a_title_a_card_for_each_key_figure_and_the_plots(
    made: tuple[Picture, ...],
) -> None:
    names = [each.name for each in made]
    assert names[:2] == ["01-title.png", "01-title.svg"]
    assert "02-clean-power-8-ohm.png" in names
    assert [name for name in names if "response" in name]
    assert len(names) == len(set(names))
    assert {name.rpartition(".")[0] for name in names if name.endswith(".svg")} == {
        name.rpartition(".")[0] for name in names if name.endswith(".png")
    }


def test_a_picture_is_full_size_on_a_clear_ground(made: tuple[Picture, ...]) -> None:
    for picture in pngs(made):
        with opened(picture) as image:
            assert image.size == FRAME
            assert image.mode == "RGBA"
            corners = [image.getpixel((x, y)) for x in (0, FRAME[0] - 1) for y in (0, FRAME[1] - 1)]
            assert [corner[3] for corner in corners] == [0, 0, 0, 0]


def test_all_words_lie_within_what_every_screen_shows(
    made: tuple[Picture, ...], traps: RunView
) -> None:
    for picture in pngs((*made, *pictures(traps))):
        with opened(picture) as image:
            box = image.getchannel("A").getbbox()
        assert box is not None
        left, top, right, bottom = box
        assert left >= 0.05 * FRAME[0] - 1
        assert top >= 0.05 * FRAME[1] - 1
        assert right <= 0.95 * FRAME[0] + 1
        assert bottom <= 0.95 * FRAME[1] + 1


def test_words_stand_on_a_plate_that_is_dark_enough(made: tuple[Picture, ...]) -> None:
    title = made[0]
    with opened(title) as image:
        box = image.getchannel("A").getbbox()
        assert box is not None
        # Just inside the right end of the plate, where no word stands.
        red, green, blue, alpha = image.getpixel((box[2] - 8, (box[1] + box[3]) // 2))
    assert max(red, green, blue) < 40
    assert alpha > 200


def test_a_drawing_is_whole_and_needs_no_font(made: tuple[Picture, ...]) -> None:
    for picture in (each for each in made if each.name.endswith(".svg")):
        root = ElementTree.fromstring(picture.content)
        _, _, width, height = (float(part) for part in root.attrib["viewBox"].split())
        assert width / height == pytest.approx(FRAME[0] / FRAME[1])
        assert not list(root.iter("{http://www.w3.org/2000/svg}text"))
        assert b"<dc:date>" not in picture.content


def test_the_same_log_gives_the_same_pictures(
    rehearsal: RunView, made: tuple[Picture, ...]
) -> None:
    assert tuple(pictures(rehearsal)) == made
