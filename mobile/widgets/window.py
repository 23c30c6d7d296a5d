"""The tablet's window: how it opens, the still that it shows until there is a page, and what is to be seen on it."""

import os
from typing import Any

import kivy
from kivy.base import EventLoop
from kivy.config import Config
from kivy.utils import platform

from mobile.still import Still

__all__ = ["glass_of", "open_window", "prepare_window", "read_window", "show_still"]


def prepare_window(width: int = 1280, height: int = 800) -> None:
    """Tell Kivy how its window is to be. It listens only until the window opens, which is when the app starts."""
    # The window may have its focus to thank a click for that came while the still was shown: it counts all the same.
    os.environ.setdefault("SDL_MOUSE_FOCUS_CLICKTHROUGH", "1")
    Config.set("input", "mouse", "mouse,disable_multitouch")
    Config.set("kivy", "exit_on_escape", "0")
    Config.set("graphics", "multisamples", "0")
    Config.set("graphics", "width", str(width))
    Config.set("graphics", "height", str(height))


def open_window() -> Any:
    """The window; it opens with the first call."""
    from kivy.core.window import Window  # noqa: PLC0415  # opens it

    return Window


def glass_of(window: Any) -> str:
    """What a picture on a window depends on, besides its size in pixels."""
    from kivy.metrics import Metrics  # noqa: PLC0415  # asks the open window

    return f"{kivy.__version__} {window.rotation} {Metrics.dpi} {Metrics.density} {Metrics.fontscale}"


def show_still(window: Any, still: Still) -> None:
    """Show a still, until the next frame is drawn. Touches that come meanwhile wait for the app."""
    from kivy.graphics import Color, InstructionGroup, Rectangle  # noqa: PLC0415  # they need the open window
    from kivy.graphics.texture import Texture  # noqa: PLC0415

    size = still.width, still.height
    texture = Texture.create(size=size, colorfmt="rgba")
    texture.blit_buffer(still.pixels, colorfmt="rgba", bufferfmt="ubyte")
    shown = InstructionGroup()
    shown.add(Color(1, 1, 1, 1))
    shown.add(Rectangle(texture=texture, pos=(0, 0), size=size))
    window.canvas.add(shown)
    if platform == "android":
        EventLoop.remove_android_splash()  # or it would lie over the still until the app runs
    for _ in range(3):  # a platform may keep the first ones to itself
        window.dispatch("on_draw")
        window.dispatch("on_flip")
    window.canvas.remove(shown)


def read_window(window: Any) -> bytes:
    """What was drawn last, as a still has it."""
    from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels  # noqa: PLC0415  # needs the open window

    width, height = window.size
    return bytes(glReadPixels(0, 0, round(width), round(height), GL_RGBA, GL_UNSIGNED_BYTE))
