"""A file that is kept under its SHA-256: what is stored of it, and nothing of how it is read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ExhibitFile:
    """A file as it is kept."""

    sha256: str
    media_type: str
    size_bytes: int
    content: bytes

    @property
    def is_picture(self) -> bool:
        """Whether it is shown on pages; documents are kept and not published."""
        return self.media_type.startswith("image/")
