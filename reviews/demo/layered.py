"""One file with layers, as illustrators send them: flats, light and line, under the finished picture."""

from pathlib import Path

from PIL import Image
from psd_tools import PSDImage

from reviews.demo import looks
from reviews.demo.marks import Scene


def write_psd(scene: Scene, wide: int, seed: str, path: Path) -> None:
    """Write the colour of a scene as a Photoshop-format document whose merged picture is the finished one."""
    picture = Image.fromarray(looks.colour(scene, wide, seed))
    PSDImage.frompil(picture).save(path)
