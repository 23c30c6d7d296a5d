"""What a tablet sees in a picture of a camera: the office's picture, another code, or nothing."""

import subprocess
import sys
from typing import Final

import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from mobile.invitation import Invitation
from mobile.scanning import Frame, Sight, can_decode, look_at
from shared_schema.ids import TAG_ALPHABET, check_character

TEXT: Final = "http://192.168.1.5:8000#TQFGT48F6W"
SIZE: Final = (320, 240)

bodies = st.text(TAG_ALPHABET, min_size=9, max_size=9)
turns = st.sampled_from([None, *Image.Transpose])


def seen(text: str, turn: Image.Transpose | None = None, light: int = 255) -> Frame:
    """A frame with a code in the middle, turned, in some light."""
    rows = [bytes(row) for row in segno.make(text, micro=False, error="m").matrix_iter(scale=4, border=4)]
    picture = Image.frombytes("L", (len(rows[0]), len(rows)), bytes(light // 8 if dark else light for row in rows for dark in row))
    frame = Image.new("L", SIZE, light // 2)
    frame.paste(picture, ((SIZE[0] - picture.width) // 2, (SIZE[1] - picture.height) // 2))
    turned = frame if turn is None else frame.transpose(turn)
    return Frame(turned.tobytes(), turned.width, turned.height)


@given(bodies, turns, st.integers(40, 255))
def test_the_offices_picture_is_read_whichever_way_up(body: str, turn: Image.Transpose | None, light: int) -> None:
    """Turned, upside down, as in a mirror, in bright light and in poor."""
    code = body + check_character(body)
    assert look_at(seen(f"https://reef.example:8443#{code}", turn, light)) == Sight(Invitation("https://reef.example:8443", code))


@pytest.mark.parametrize(
    "text", ["http://192.168.1.5:8000", "HELLO", "WIFI:S:boat;T:WPA;P:secret;;", f"{TEXT[:-1]}X", "1234", "mailto:a@b"]
)
def test_another_code_is_told_from_the_offices(text: str) -> None:
    """An address without a code, a network, a code with a slip: none of them lets a tablet in."""
    assert look_at(seen(text)) == Sight(None, other=True)


@given(st.binary(min_size=1, max_size=4), st.integers(0, 40), st.integers(0, 40))
def test_where_there_is_no_code_nothing_is_seen(noise: bytes, width: int, height: int) -> None:
    """Nor is a frame a mistake that has no pixels, or fewer than it should."""
    whole = noise * (width * height)
    assert look_at(Frame(whole[: width * height], width, height)) == Sight()
    assert look_at(Frame(whole[1 : width * height], width, height)) == Sight()


def test_a_coloured_frame_is_read_by_its_light() -> None:
    """As Kivy's textures give it: four bytes for each pixel."""
    grey = seen(TEXT)
    pixels = Image.frombytes("L", SIZE, grey.light).convert("RGBA").tobytes()
    assert look_at(Frame.of_rgba(pixels, *SIZE)).invitation == Invitation("http://192.168.1.5:8000", "TQFGT48F6W")


def test_without_the_decoder_nothing_is_seen_and_nothing_breaks() -> None:
    """A tablet that lacks it says so, and starts."""
    assert can_decode()
    program = (
        "import sys; sys.modules['zxingcpp'] = None\n"
        "from mobile.scanning import Frame, Sight, can_decode, look_at\n"
        "print(can_decode(), look_at(Frame(bytes(100), 10, 10)) == Sight())\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "False True\n"
