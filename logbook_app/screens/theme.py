"""The look of a nautical chart on paper: roles, not colours, and one scale of type and space.

Widgets ask for a role (`ink`, `quiet`, `accent`) and follow when the night theme turns the paper
into ink. Contrast is at least 7:1 for figures and 4.5:1 for quiet text on paper and on card in
both themes; a test computes it. State is said in words and marked in shape, never by hue alone.

No Kivy here, so that plain functions and tests can use it.
"""

from __future__ import annotations

from dataclasses import dataclass

Colour = tuple[float, float, float, float]


def colour(hex_code: str, alpha: float = 1.0) -> Colour:
    """Return `#RRGGBB` as four fractions."""
    red, green, blue = (int(hex_code[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue, alpha


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours by role.

    paper     ground of every room         card      ground of what stands on it
    rail      ground of the rail or bar    hairline  borders and grid
    ink       figures, text, profile line  quiet     labels and second lines
    blue      chart blue: lines, bars      accent    chart magenta: "look here", nothing else
    on_ink    text on a filled ink button  land      ground below the profile
    water     tints from shallow to deep, one for each depth band
    """

    name: str
    paper: Colour
    card: Colour
    rail: Colour
    hairline: Colour
    ink: Colour
    quiet: Colour
    blue: Colour
    accent: Colour
    on_ink: Colour
    land: Colour
    water: tuple[Colour, ...]


DAY = Theme(
    name="day",
    paper=colour("#F7F2E4"),
    card=colour("#FFFDF6"),
    rail=colour("#EEE4CD"),
    hairline=colour("#D8CDAE"),
    ink=colour("#13212C"),
    quiet=colour("#5A5644"),
    blue=colour("#1C5877"),
    accent=colour("#8F1460"),
    on_ink=colour("#FFFDF6"),
    land=colour("#F3E8C6"),
    water=tuple(colour(c) for c in ("#E9F1F0", "#D8E9EE", "#C3DFEA", "#AFD3E3", "#9ECADC", "#8FC0D6")),
)

NIGHT = Theme(
    name="night",
    paper=colour("#0C151C"),
    card=colour("#13202A"),
    rail=colour("#101B23"),
    hairline=colour("#33434D"),
    ink=colour("#F1EBD8"),
    quiet=colour("#B3AC94"),
    blue=colour("#86BEDB"),
    accent=colour("#F29AD2"),
    on_ink=colour("#0C151C"),
    land=colour("#2B2718"),
    water=tuple(colour(c) for c in ("#21404D", "#1D3A49", "#193444", "#152E3F", "#122838", "#0E2231")),
)

THEMES = {theme.name: theme for theme in (DAY, NIGHT)}

# Type in sp: it follows the text size of the system.
TYPE_SP = {"title": 26, "heading": 20, "figure": 40, "value": 22, "body": 16, "label": 14, "small": 13}

# Space in dp. Targets are at least TARGET_DP high and wide, with GAP_DP between them.
TARGET_DP = 48
ROW_DP = 56
GAP_DP = 8
CARD_PAD_DP = 18
RAIL_FROM_DP = 840
RAIL_WIDTH_DP = 104
BAR_HEIGHT_DP = 64

FONT_FILES = {
    "ui": ("IBMPlexSans-Regular.ttf", "IBMPlexSans-SemiBold.ttf", "IBMPlexSans-Italic.ttf"),
    "icons": ("MaterialDesignIcons-subset.ttf",),
}


def contrast(first: Colour, second: Colour) -> float:
    """Return the contrast ratio of two opaque colours, 1 to 21.

    Source: W3C, Web Content Accessibility Guidelines 2.2, definition of contrast ratio.
    """
    lighter, darker = sorted((_luminance(first), _luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(shade: Colour) -> float:
    channels = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shade[:3]]
    return 0.2126 * channels[0] + 0.7152 * channels[1] + 0.0722 * channels[2]
