"""The camera of the machine, where it has one: asked for, opened, looked through, and given back."""

import sys
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from typing import Any, Final, Literal, Protocol, TypeAlias

from kivy.clock import mainthread
from kivy.uix.image import Image
from kivy.utils import platform

from mobile.scanning import Frame, can_decode

__all__ = ["Camera", "CameraSource", "Lack", "Viewfinder"]

Lack: TypeAlias = Literal["", "camera", "decoder"]
"""What is missing for scanning."""

_RESOLUTION: Final = (640, 480)
_PROVIDERS: Final = {"android": "jnius", "macosx": "pyobjus"}
_OTHER_PROVIDERS: Final = ("picamera", "gi", "cv2")


class Camera(Protocol):
    """What Kivy's cameras have in common, as far as it is used here."""

    texture: Any
    """The latest frame; None before the first."""

    def stop(self) -> None:
        """Take no more frames."""
        ...


class CameraSource:
    """Gives the machine's camera through Kivy's provider for it, which is loaded when it is first asked for."""

    def lacks(self) -> Lack:
        """What is missing. A provider without a camera behind it shows only when it is opened."""
        names = (_PROVIDERS[platform],) if platform in _PROVIDERS else _OTHER_PROVIDERS
        # Loading Kivy's cameras where none can be there would leave a critical message in the log.
        if not any(map(_is_there, names)):
            return "camera"
        return "" if can_decode() else "decoder"

    def ask(self, then: Callable[[bool], None]) -> None:
        """Ask for leave to use it where the platform wants that; `then` is told in the thread of the screen."""
        if platform != "android":
            then(True)
            return
        permissions = import_module("android.permissions")
        wanted = permissions.Permission.CAMERA
        if permissions.check_permission(wanted):
            then(True)
            return
        told = mainthread(then)
        permissions.request_permissions([wanted], lambda _names, given: told(bool(given) and all(given)))

    def open(self) -> Camera:
        """The camera, taking frames. Whatever its provider raises comes through: each has errors of its own."""
        provider = import_module("kivy.core.camera").Camera
        if provider is None:
            raise OSError("none of Kivy's camera providers can be used here")
        camera: Camera = provider(resolution=_RESOLUTION)
        return camera

    def free(self, camera: Camera) -> None:
        """Give it back. Kivy's `stop` only pauses: each provider lets its device go by a way of its own."""
        camera.stop()
        for way in ("_release_camera", "unload", "_device.release", "_camera.close"):
            found: Any = camera
            for name in way.split("."):
                found = getattr(found, name, None)
            if callable(found):
                found()
                return


def _is_there(module: str) -> bool:
    """Whether a module can be loaded, without loading it."""
    try:
        return find_spec(module) is not None
    except (ImportError, ValueError):  # whoever looks for modules here refuses it, or it was put in place by hand
        return module in sys.modules


class Viewfinder(Image):
    """Shows what a camera sees."""

    def show(self, camera: Camera | None) -> None:
        """Show its latest frame; with None, nothing."""
        self.texture = None if camera is None else camera.texture
        self.canvas.ask_update()

    def frame(self) -> Frame | None:
        """What is shown, to be looked at; None before the first frame."""
        if self.texture is None:
            return None
        return Frame.of_rgba(self.texture.pixels, *(int(side) for side in self.texture.size))
