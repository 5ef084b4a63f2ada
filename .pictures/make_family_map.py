"""The limits of the families as a picture: `python .pictures/make_family_map.py [FILE.png]`.

Slices of the a*, b* plane at six lightnesses, and two of the greys enlarged: every colour painted
as itself as far as a screen can show it, the limits between families as lines, and the families'
names where they lie.
"""

import sys
from pathlib import Path

import matplotlib
import numpy as np

from stopgap.blends.family_table import COLOUR_FAMILIES, family_fits
from stopgap.colorimetry import lab_to_srgb, within_optimal_solid

WHOLE, GREYS = 62, 15  # how far a* and b* reach
SLICES = ((90, WHOLE), (78, WHOLE), (64, WHOLE), (64, GREYS))
SLICES += ((50, WHOLE), (36, WHOLE), (24, WHOLE), (40, GREYS))
FINENESS = 301


def main(path: Path) -> None:
    """Draw the slices into `path`."""
    matplotlib.use("Agg")
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(2, 4, figsize=(16, 8.4), layout="constrained")
    for place, (lightness, reach) in zip(axes.flat, SLICES, strict=True):
        axis = np.linspace(-reach, reach, FINENESS)
        a, b = np.meshgrid(axis, axis)
        lab = np.stack([np.full_like(a, lightness), a, b], axis=-1)
        filed = family_fits(lab).argmax(axis=-1)
        real = within_optimal_solid(lab.reshape(-1, 3)).reshape(a.shape)
        rgb = np.clip(lab_to_srgb(lab)[0].reshape(*a.shape, 3), 0.0, 1.0)
        rgb[~real] = 0.93
        place.imshow(rgb, origin="lower", extent=(-reach, reach, -reach, reach))
        ink = "black" if lightness > 55 else "white"
        for family in np.unique(filed[real]):
            inside = (filed == family) & real
            place.contour(axis, axis, inside, levels=[0.5], colors=ink, linewidths=0.8)
            if inside.mean() > 0.006:
                _name(place, COLOUR_FAMILIES[family], a[inside], b[inside], ink)
        place.set_title(f"L* = {lightness}")
        place.set_xlabel("a*")
        place.set_ylabel("b*")
    figure.savefig(path, dpi=62, metadata={"Software": ""})


def _name(place: object, name: str, a: np.ndarray, b: np.ndarray, ink: str) -> None:
    """Write a name at the point of its family that lies deepest inside the middle of it."""
    nearest = np.argmin((a - np.median(a)) ** 2 + (b - np.median(b)) ** 2)
    words = name.replace("turquoises leaning", "turquoises\nleaning").replace("-", "-\n")
    place.text(a[nearest], b[nearest], words, color=ink, fontsize=6.5, ha="center", va="center")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("families.png"))
