"""One page of a TIFF: its header, its colours, and its channels beyond these, whichever way its samples are stored.

Runs inside the confined child only.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from reviews.imaging._vips import Image
from reviews.imaging.files import signed, spot_plates, tiff_damage, tiff_lab, tiff_storage, tiff_tags, tiff_unusual
from reviews.imaging.results import SpotPlate

_N_COLOURS = {"cmyk": 4}


@dataclass(frozen=True)
class TiffPage:
    """A page (from 0) of a file; what has to be rewritten of it on the way goes into the scratch folder.

    A strict reading raises for damage that the picture library passes over, see `tiff_damage`.
    """

    path: Path
    page: int
    scratch: Path
    is_strict: bool = False

    def header(self) -> Any:
        """Give an image like `colours` whose pixels are not to be read: they may be others, or have a sign still."""
        return self._coloured(self._told())

    def colours(self) -> Any:
        """Give the colours, and the transparency where the file says that a channel is that, as a sequential image."""
        if self.is_strict and self._storage is not None:
            tiff_damage.raise_for_damaged_jpeg(self.path, self.page, self._storage)
        return self._coloured(self._samples())

    def plate(self, channel: int) -> Any:
        """Give one of the channels beyond the colours as a sequential grey image; 0 is the first of them."""
        image = self._samples()
        return image.extract_band(n_colours(image) + channel).copy(interpretation="b-w")

    @cached_property
    def plates(self) -> tuple[SpotPlate, ...]:
        """The channels beyond the colours and the transparency, by the names that the file gives them."""
        image = self._told()
        n_extra = image.bands - n_colours(image)
        if n_extra <= 0:
            return ()
        return spot_plates.plates_in_tiff(self.path, self.page, n_colours(image), n_extra, self._clear)

    @property
    def bits(self) -> int | None:
        """Bits of a channel, where the header does not tell them."""
        return self._lab.bits if self._lab else self._unusual.bits if self._unusual else None

    @property
    def n_further(self) -> int:
        """How many pages the header tells of that are not the file's."""
        return tiff_unusual.n_further(self._unusual) if self._unusual else 0

    @cached_property
    def _lab(self) -> tiff_lab.LabPage | None:
        return tiff_lab.find(self.path, self.page)

    @cached_property
    def _storage(self) -> tiff_storage.Storage | None:
        return tiff_storage.storage_at(self.path, self.page)

    @property
    def _fail_on(self) -> str:
        """What of a decoder's complaints is raised: of a tile that cannot be decoded the library only warns."""
        is_tiled = self._storage is not None and self._storage.tile is not None
        return "warning" if self.is_strict and is_tiled else "error"

    @cached_property
    def _unusual(self) -> tiff_storage.Storage | None:
        """How the samples are stored, where that is read here; None where the picture library reads them, or nobody."""
        storage = self._storage
        if storage is None or storage.reading is None:
            return None
        try:
            tiff_unusual.relabelled(self.path, self._relabelled, self.page, storage)
        except (struct.error, ValueError, OverflowError):
            return None
        return storage

    @property
    def _relabelled(self) -> Path:
        return self.scratch / "relabelled.tif"

    @cached_property
    def _clear(self) -> int | None:
        return tiff_tags.clear_channel(self.path, self.page)

    @cached_property
    def _is_below_nought(self) -> bool:
        return signed.goes_below_nought(self._stored())

    def _samples(self) -> Any:
        image = self._stored()
        return signed.without_sign(image, is_below=self._is_below_nought) if signed.is_signed(image) else image

    def _told(self) -> Any:
        """Give an image that is right in all but its pixels."""
        return tiff_unusual.header(self._relabelled, self.page) if self._unusual else self._stored()

    def _stored(self) -> Any:
        """Give every channel as it is stored, as a sequential image."""
        if self._unusual:
            return tiff_unusual.samples(self.path, self._relabelled, self.page, self._unusual, self._fail_on)
        if self._lab is None:
            return _load(self.path, self.page, self._fail_on)
        let_through = self.scratch / "lab.tif"
        tiff_lab.let_through(self.path, self._lab, let_through)
        return tiff_lab.decoded(_load(let_through, self.page, self._fail_on), self._lab)

    def _coloured(self, image: Any) -> Any:
        n = n_colours(image)
        if image.bands <= n:
            return image
        colours = image.extract_band(0, n=n).copy(interpretation=image.interpretation)
        if self._clear is None or n + self._clear >= image.bands:
            return colours
        return colours.bandjoin(image[n + self._clear]).copy(interpretation=image.interpretation)


def n_colours(image: Any) -> int:
    """Say how many of an image's channels are its colours."""
    return _N_COLOURS.get(image.interpretation, 1 if image.bands < 3 else 3)


def _load(path: Path, page: int, fail_on: str) -> Any:
    return Image.tiffload(str(path), access="sequential", fail_on=fail_on, page=page)
