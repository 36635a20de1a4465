"""Masks: regions of a picture that are painted over in what is published."""

from __future__ import annotations

import re
from typing import Annotated, Self

from pydantic import BeforeValidator, model_validator

from ledger.lines import Model, fault

# How far the sum of two shares, each typed with six decimals, may be off by the way it is added.
_ROUNDING = 1e-9


def _check_share(value: object) -> object:
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 1:
        return float(value)
    if isinstance(value, str) and re.fullmatch(r"(0(\.[0-9]{1,6})?|1(\.0{1,6})?)", value):
        return float(value)
    raise fault(repr(value), "a share of the picture from 0 to 1, such as 0.25")


PictureShare = Annotated[float, BeforeValidator(_check_share)]


class Mask(Model):
    """A region that is painted over in what is published; the kept file has it still.

    Its edges are shares of the width and the height of the picture as it is seen upright.
    """

    left: PictureShare
    top: PictureShare
    width: PictureShare
    height: PictureShare

    @model_validator(mode="after")
    def _is_within_the_picture(self) -> Self:
        if not (self.width and self.height):
            raise fault("a region without width or height", "both of them above 0")
        if max(self.left + self.width, self.top + self.height) > 1 + _ROUNDING:
            found = "a region that leaves the picture"
            raise fault(found, "left + width, and top + height, of at most 1")
        return self
