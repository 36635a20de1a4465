"""Plain outlines of the kinds of instrument, in the square of 100 by 100 of their catalogues.

They are schematic, ours, and of no particular maker's shape: enough to tell a headstock from a
body. A kind that has no outline here is drawn without one.
"""

from __future__ import annotations

from collections.abc import Mapping

# Paths of SVG (2, section 9). Head at the top, body below, as the catalogues place positions.
_NECK = "M47 17H53L54 54H46Z"
_HEAD = "M43 4H57L55 17H45Z"
_WAISTED = (
    "M50 53C62 51 75 53 75 62C75 67 71 69 71 72C71 76 85 79 85 88C85 96 70 99 50 99"
    "C30 99 15 96 15 88C15 79 29 76 29 72C29 69 25 67 25 62C25 53 38 51 50 53Z"
)
_SLITS = "M37 64C34 68 40 74 37 79M63 64C66 68 60 74 63 79"

OUTLINES: Mapping[str, tuple[str, ...]] = {
    "solid-body-electric": (
        (
            "M44 60C42 53 36 50 30 54C20 59 17 68 22 75C14 82 15 97 34 98H66"
            "C85 97 86 82 78 75C83 68 80 59 70 54C64 50 58 53 56 60Z"
        ),
        "M47 17H53L54 62H46Z",
        _HEAD,
    ),
    "acoustic-guitar": (_WAISTED, "M43 62A7 6 0 1 0 57 62A7 6 0 1 0 43 62", _NECK, _HEAD),
    "archtop": (_WAISTED, _SLITS, _NECK, _HEAD),
    "lap-steel": (
        "M43 17H57L64 56C72 62 75 96 66 98H34C25 96 28 62 36 56Z",
        "M45 22H55L57 66H43Z",
        _HEAD,
    ),
    "mandolin": (
        "M50 48C72 50 84 66 82 80C80 94 66 99 50 99C34 99 20 94 18 80C16 66 28 50 50 48Z",
        "M43 64A7 4 0 1 0 57 64A7 4 0 1 0 43 64",
        "M47 17H53L54 50H46Z",
        _HEAD,
    ),
    "banjo": (
        "M18 74A32 25 0 1 0 82 74A32 25 0 1 0 18 74",
        "M23 74A27 21 0 1 0 77 74A27 21 0 1 0 23 74",
        "M47 17H53L54 53H46Z",
        _HEAD,
    ),
    "bowed-string": (
        (
            "M50 47C64 46 76 51 74 59C73 63 68 63 66 67C65 71 67 75 71 76C82 80 82 98 50 98"
            "C18 98 18 80 29 76C33 75 35 71 34 67C32 63 27 63 26 59C24 51 36 46 50 47Z"
        ),
        "M47 14H53L54 48H46Z",
        "M46 10A4 4 0 1 0 54 10A4 4 0 1 0 46 10",
        "M10 34V88M8 34C4 50 4 66 8 80",
    ),
    "valve-amplifier": (
        "M6 12H94V98H6Z",
        "M6 20H94V52H6Z",
        "M34 80A16 14 0 1 0 66 80A16 14 0 1 0 34 80",
        "M38 12V5H62V12",
    ),
}
