"""The bundled fonts under the names that the screens use: `ui` for words, `icons` for icons.

IBM Plex Sans has figures of one width without font features, so a ticking figure stands still,
and its Greek and Cyrillic are complete. Kivy's own widgets follow, because its default font is
replaced as well.
"""

from __future__ import annotations

from kivy.core.text import DEFAULT_FONT, LabelBase

from logbook_app.screens.theme import FONT_FILES
from logbook_app.shipped_files import font_file


def register_fonts() -> None:
    """Make `ui` and `icons` known to Kivy. Raises FileNotFoundError where they are missing."""
    regular, semi_bold, italic = (str(font_file(name)) for name in FONT_FILES["ui"])
    for name in ("ui", DEFAULT_FONT):
        LabelBase.register(name, fn_regular=regular, fn_bold=semi_bold, fn_italic=italic)
    (icons,) = FONT_FILES["icons"]
    LabelBase.register("icons", fn_regular=str(font_file(icons)))
