"""Shows what an Ink collected, and texts as textures: the means of widgets that draw many small things at once."""

from functools import lru_cache
from typing import Any, Final

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, InstructionGroup, Mesh, PopMatrix, PushMatrix, Rectangle, RenderContext, Translate

from mobile.ink import Ink
from mobile.palette import Colour

__all__ = ["InkMesh", "ink_context", "text_texture", "write_text"]

_VERTEX_SHADER: Final = """
#ifdef GL_ES
precision highp float;
#endif
attribute vec2 vPosition;
attribute vec4 vPaint;
uniform mat4 modelview_mat;
uniform mat4 projection_mat;
varying vec4 paint;
void main (void) {
  paint = vPaint;
  gl_Position = projection_mat * modelview_mat * vec4(vPosition, 0.0, 1.0);
}
"""
_FRAGMENT_SHADER: Final = """
#ifdef GL_ES
precision highp float;
#endif
varying vec4 paint;
void main (void) {
  gl_FragColor = paint;
}
"""
_FORMAT: Final = [(b"vPosition", 2, "float"), (b"vPaint", 4, "float")]


def ink_context() -> Any:
    """A canvas group in which vertices carry their colours; both shaders are given together, or Kivy keeps its own."""
    return RenderContext(use_parent_projection=True, use_parent_modelview=True, vs=_VERTEX_SHADER, fs=_FRAGMENT_SHADER)


class InkMesh:
    """One mesh in an ink context, redrawn as a whole."""

    def __init__(self, context: Any) -> None:
        self._mesh = Mesh(fmt=_FORMAT, mode="triangles", vertices=[], indices=[])
        self._shift = Translate(0, 0)
        for instruction in (PushMatrix(), self._shift, self._mesh, PopMatrix()):
            context.add(instruction)

    def show(self, ink: Ink, x: float = 0, y: float = 0) -> None:
        """Show this and nothing else, moved by x and y."""
        self._shift.xy = x, y
        self._mesh.indices = []
        self._mesh.vertices = ink.vertices
        self._mesh.indices = ink.indices


@lru_cache(maxsize=512)
def _label(text: str, px: int, bold: bool) -> Any:
    # The label is kept, not its texture alone: it draws the texture anew when the graphics context was lost.
    label = CoreLabel(text=text, font_size=px, bold=bold)
    label.refresh()
    return label


def text_texture(text: str, px: float, *, bold: bool = True) -> Any:
    """A line of text in white, `px` high; colour it where it is drawn."""
    return _label(text, round(px), bold).texture


def write_text(group: InstructionGroup, text: str, x: float, y: float, px: float, paint: Colour, *, bold: bool = True) -> None:
    """A line of text with its middle at x, y."""
    texture = text_texture(text, px, bold=bold)
    width, height = texture.size
    group.add(Color(*paint))
    # On whole pixels, or letters blur.
    group.add(Rectangle(texture=texture, pos=(round(x - width / 2), round(y - height / 2)), size=(width, height)))
