"""Portraits of the rooms: what is on the window, as PNG files."""

from __future__ import annotations

from pathlib import Path


def write_picture(path: Path) -> Path:
    """Draw the window once more and write what is on it to a PNG; return its path."""
    from kivy.core.image import Image
    from kivy.core.window import Window
    from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels
    from kivy.graphics.texture import Texture

    width, height = Window.size
    Window.canvas.ask_update()
    Window.dispatch("on_draw")  # the back buffer is read before it is shown
    pixels = glReadPixels(0, 0, width, height, GL_RGBA, GL_UNSIGNED_BYTE)
    Window.dispatch("on_flip")
    texture = Texture.create(size=(width, height), colorfmt="rgba")
    texture.blit_buffer(pixels, colorfmt="rgba", bufferfmt="ubyte")
    Image(texture).save(str(path), flipped=True)
    return path
