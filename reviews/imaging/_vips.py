"""The only `import pyvips`: all of its loaders are shut, then the few we allow are opened."""

from __future__ import annotations

import pyvips

# Every loader the library has or will have is shut first, so a newer wheel cannot bring in a format nobody judged.
pyvips.operation_block_set("VipsForeignLoad", True)
ALLOWED = {
    "JPEG": "VipsForeignLoadJpeg",
    "PNG": "VipsForeignLoadPng",
    "TIFF": "VipsForeignLoadTiff",
    "WebP": "VipsForeignLoadWebp",
    "AVIF": "VipsForeignLoadHeif",
}
for _loader in ALLOWED.values():
    pyvips.operation_block_set(_loader, False)
# Nothing is opened twice in a child's life; a cache would only keep memory.
pyvips.cache_set_max(0)

Image = pyvips.Image
Region = pyvips.Region
Error = pyvips.Error
GValue = pyvips.GValue

__all__ = ["ALLOWED", "Error", "GValue", "Image", "Region"]
