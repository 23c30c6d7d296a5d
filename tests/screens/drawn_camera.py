"""A camera that sees what a test draws, made like Kivy's own, and the pictures that it is shown."""

import re
from collections.abc import Callable
from typing import Any, Final

import segno
from kivy.clock import Clock
from kivy.core.camera import CameraBase
from kivy.graphics.texture import Texture
from PIL import Image, ImageDraw, ImageFilter

from mobile.widgets.camera import Camera, CameraSource, Lack

__all__ = ["SIZE", "DrawnSource", "blurred", "code_picture", "desk", "of_svg", "on_a_desk"]

SIZE: Final = (640, 480)


class DrawnCamera(CameraBase):
    """Shows the source's picture at each frame, as a provider of Kivy's does."""

    def __init__(self, source: "DrawnSource") -> None:
        self._source = source
        self._texture: Any = None
        super().__init__(resolution=SIZE)

    def init_camera(self) -> None:
        """Begin."""
        self._updating = Clock.schedule_interval(self._update, 0)

    def stop(self) -> None:
        """Pause."""
        super().stop()
        self._updating.cancel()

    def unload(self) -> None:
        """Let the device go."""
        self._source.held -= 1

    def _update(self, _when: float) -> None:
        picture = self._source.picture
        if picture is None:
            return
        if self._texture is None:
            self._texture = Texture.create(SIZE, colorfmt="rgb")
            self._texture.flip_vertical()
        self._buffer = picture.convert("RGB").tobytes()
        self._copy_to_gpu()


class DrawnSource(CameraSource):
    """Where such a camera comes from. `held` counts the cameras that were not given back; `given` is what the user allows."""

    def __init__(self, lack: Lack = "") -> None:
        self.lack, self.held, self.given, self.broken = lack, 0, True, False
        self.picture: Image.Image | None = desk()
        self.asked: Callable[[bool], None] | None = None
        self.waits = False

    def lacks(self) -> Lack:
        """As the test says."""
        return self.lack

    def ask(self, then: Callable[[bool], None]) -> None:
        """At once, or when the test answers."""
        self.asked = then
        if not self.waits:
            then(self.given)

    def open(self) -> Camera:
        """A drawn one; where it is broken, what Kivy's provider raises where OpenCV finds no camera."""
        if self.broken:
            nothing: Any = None
            nothing.shape  # noqa: B018  # AttributeError
        self.held += 1
        camera: Camera = DrawnCamera(self)
        return camera


def desk() -> Image.Image:
    """A desk with things on it, and no code."""
    picture = Image.new("RGB", SIZE, (150, 140, 120))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((60, 60, 300, 400), (235, 235, 230))
    for line in range(12):
        draw.line((80, 90 + line * 24, 270 - line % 3 * 30, 90 + line * 24), (60, 60, 60), 3)
    draw.ellipse((420, 150, 560, 290), (90, 60, 40))
    return picture


def code_picture(text: str) -> Image.Image:
    """A code, black on white."""
    rows = [bytes(row) for row in segno.make(text, micro=False, error="m").matrix_iter(scale=8, border=4)]
    picture = Image.frombytes("L", (len(rows[0]), len(rows)), bytes(0 if dark else 255 for row in rows for dark in row))
    return picture.convert("RGB")


def of_svg(html: str) -> Image.Image:
    """The code that stands in a page as an SVG: lines of one module's width, drawn to the right."""
    found = re.search(r'<svg[^>]*width="(\d+)"[^>]*>.*?<path transform="scale\((\d+)\)"[^>]* d="([^"]+)"', html, re.DOTALL)
    assert found is not None, html
    side, scale = int(found[1]), int(found[2])
    picture = Image.new("RGB", (side, side), (255, 255, 255))
    draw = ImageDraw.Draw(picture)
    x = y = 0.0
    for step, numbers in re.findall(r"([Mmh])([-\d. ]+)", found[3]):
        along, *down = (float(number) for number in re.findall(r"-?[\d.]+", numbers))
        if step == "h":
            draw.rectangle((x * scale, (y - 0.5) * scale, (x + along) * scale - 1, (y + 0.5) * scale - 1), (0, 0, 0))
            x += along
        else:
            x, y = (along, down[0]) if step == "M" else (x + along, y + down[0])
    return picture


def on_a_desk(code: Image.Image, turned: float = 12) -> Image.Image:
    """As a hand-held tablet sees a code: smaller, turned a little, on a desk."""
    card = code.resize((230, 230)).convert("RGBA").rotate(turned, expand=True, fillcolor=(0, 0, 0, 0))
    picture = desk()
    picture.paste(card, (180, 90), card)
    return picture


def blurred(picture: Image.Image) -> Image.Image:
    """Out of focus."""
    return picture.filter(ImageFilter.GaussianBlur(9))
