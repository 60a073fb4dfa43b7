"""The fonts of printed documents, and which characters they hold."""

from __future__ import annotations

from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent / "fonts"

SCRIPTS = (
    "Arabic", "Ethiopic", "Hebrew", "Devanagari", "Bengali", "Tamil", "Telugu", "Gujarati", "Gurmukhi", "Kannada",
    "Malayalam", "Oriya", "Sinhala", "Khmer", "Lao", "Thai", "Myanmar", "NKo", "Tifinagh", "Vai", "Adlam", "Osmanya",
    "Armenian", "Georgian",
)  # fmt: skip
"""Scripts beside Latin, Greek and Cyrillic, as in the names of their files."""

FAMILIES = ("Noto Sans", *(f"Noto Sans {script}" for script in SCRIPTS))
"""Families in the order in which they are asked for a letter."""

UNSEEN = frozenset(
    {0x00AD, 0x034F, 0x061C, 0x180E, 0xFEFF, *range(0x200B, 0x2010), *range(0x2060, 0x2065), *range(0x2066, 0x206A)}
) | frozenset(range(0xFE00, 0xFE10))
"""Characters that shape others or hold them together and are never drawn themselves (Unicode, Default_Ignorable)."""


@cache
def covered(script: str) -> frozenset[int]:
    """Return the code points that a script's font holds; the empty name is that of Latin, Greek and Cyrillic."""
    from fontTools.ttLib import TTFont

    with TTFont(FOLDER / f"NotoSans{script}-Regular.ttf", lazy=True) as font:
        return frozenset(font.getBestCmap())


def has_glyph(character: str) -> bool:
    """Whether a font holds the character, or it needs no glyph."""
    point = ord(character)
    return point in UNSEEN or point in covered("") or any(point in covered(script) for script in SCRIPTS)


@cache
def advances(bold: bool = False) -> dict[int, float]:
    """Return the width of each Latin, Greek and Cyrillic letter over the size of type, by code point."""
    from fontTools.ttLib import TTFont

    with TTFont(FOLDER / f"NotoSans-{'Bold' if bold else 'Regular'}.ttf", lazy=True) as font:
        widths, units = font["hmtx"].metrics, font["head"].unitsPerEm
        return {point: widths[name][0] / units for point, name in font.getBestCmap().items()}
