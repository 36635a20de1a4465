"""What all tests share."""

from __future__ import annotations

from hypothesis import settings

# A deadline would be a clock: whether a test passes may not hang on how busy the machine is.
settings.register_profile("without-a-clock", deadline=None)
settings.load_profile("without-a-clock")
