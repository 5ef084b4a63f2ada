"""The standard's blocks of Munsell hue, value and chroma, where their table is at hand.

K. L. Kelly and D. B. Judd (1976), NBS Special Publication 440. The table is not part of the
project: its path is given, or stands in the environment as STOPGAP_NAME_BLOCKS. One row a block:
hue_from, hue_to, value_from, value_to, chroma_from, chroma_to, number, and the names.

Colours with a notation come from the renotation, by colour-science.
"""

import csv
import os
import re
from pathlib import Path

import colour
import numpy as np
from colour.notation.datasets.munsell import MUNSELL_COLOURS

LETTERS = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
CODES = (7, 6, 5, 4, 3, 2, 1, 10, 9, 8)  # colour-science's numbers of the letters
WHITES = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
XYZ_C, XYZ_D50 = colour.xy_to_XYZ(WHITES["C"]), colour.xy_to_XYZ(WHITES["D50"])
VALUES = (0.2, 0.4, 0.6, 0.8, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10)


def hue_number(text):
    """0 to 100 around the circle: 10RP is 0, 5R 5, 5YR 15."""
    number, letters = re.fullmatch(r"([\d.]+)([A-Z]+)", text).groups()
    return (10.0 * LETTERS.index(letters) + float(number)) % 100.0


def table_path(path=None):
    """Where the table lies, or None."""
    found = Path(path or os.environ.get("STOPGAP_NAME_BLOCKS", "") or "/nowhere")
    return found if found.is_file() else None


class Blocks:
    """The blocks, and which of them a colour lies in."""

    def __init__(self, path):
        with Path(path).open(encoding="utf-8") as file:
            rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
        ends = ("value_from", "value_to", "chroma_from", "chroma_to")
        self.hue = np.array(
            [[hue_number(row[end]) for end in ("hue_from", "hue_to")] for row in rows]
        )
        self.ends = np.array(
            [[np.inf if row[end] == "INF" else float(row[end]) for end in ends] for row in rows]
        )
        self.numbers = np.array([int(row["number"]) for row in rows])

    def number(self, hvc):
        """The category of each hue, value and chroma, (n, 3) -> (n,); each has exactly one."""
        found = []
        for part in np.array_split(np.asarray(hvc), max(1, len(hvc) // 5000)):
            h, v, c = part.T[:, :, None]
            inside = (h - self.hue[:, 0]) % 100.0 < (self.hue[:, 1] - self.hue[:, 0]) % 100.0
            inside &= (v >= self.ends[:, 0]) & (v < self.ends[:, 1])
            inside &= (c >= self.ends[:, 2]) & (c < self.ends[:, 3])
            assert (inside.sum(axis=1) == 1).all()
            found.append(self.numbers[inside.argmax(axis=1)])
        return np.concatenate(found)


def strongest():
    """The largest real chroma at value 1 to 9 and each hue step of 2.5: (9, 40)."""
    table = np.zeros((9, 40))
    for (hue, value, chroma), _ in MUNSELL_COLOURS["real"]:
        at = int(value) - 1, int(hue_number(hue) / 2.5) % 40
        table[at] = max(table[at], chroma)
    return table


def is_real(hvc, table, margin=0.0):
    """Whether a colour lies within the real chromas of the four notations around it."""
    h, v, c = np.asarray(hvc).T
    low, step = np.clip(np.floor(v).astype(int) - 1, 0, 8), np.floor(h / 2.5).astype(int)
    corners = [table[np.minimum(low + i, 8), (step + j) % 40] for i in (0, 1) for j in (0, 1)]
    return c <= np.min(corners, axis=0) + margin


def to_lab(xyY):
    """CIELAB D50 of xyY under illuminant C, Y from 0 to 1 relative to the perfect diffuser."""
    XYZ = colour.adaptation.chromatic_adaptation_VonKries(
        colour.xyY_to_XYZ(xyY), XYZ_C, XYZ_D50, transform="Bradford"
    )
    return colour.XYZ_to_Lab(XYZ, WHITES["D50"])


def drawn(rng, count, *, value=(1.0, 9.0), chroma=(0.0, 26.0)):
    """Real notations, even in hue, value and chroma, and their Lab by colour-science: slow."""
    table, kept, labs = strongest(), [], []
    while len(kept) < count:
        hvc = rng.uniform((0.0, value[0], chroma[0]), (100.0, value[1], chroma[1]))
        if not is_real(hvc[None], table)[0]:
            continue
        letter = int(np.ceil(hvc[0] / 10.0)) - 1
        number = hvc[0] - 10.0 * letter
        try:
            xyY = colour.notation.munsell.munsell_specification_to_xyY(
                np.array([number, hvc[1], hvc[2], CODES[letter]])
            )
        except (ValueError, IndexError):  # one in some thousands is not found there
            continue
        kept.append(hvc)
        labs.append(to_lab(xyY))
    return np.array(kept), np.array(labs)


class Renotation:
    """All nodes of the renotation, extrapolated ones among them, interpolated linearly in x, y."""

    def __init__(self):
        self.xy = np.full((len(VALUES), 40, 26, 2), np.nan)
        self.xy[:, :, 0] = WHITES["C"]
        for (hue, value, chroma), (x, y, _) in MUNSELL_COLOURS["all"]:
            if chroma <= 50:
                at = VALUES.index(value), int(hue_number(hue) / 2.5) % 40, int(chroma / 2)
                self.xy[at] = x, y

    def lab(self, hvc, luminance):
        """Lab of each hue, value and chroma; not a number where a node is missing."""
        h, v, c = np.asarray(hvc).T
        row = np.clip(np.searchsorted(VALUES, v, side="right") - 1, 0, len(VALUES) - 2)
        knots = np.array(VALUES)
        parts = (
            (row, (v - knots[row]) / (knots[row + 1] - knots[row])),
            (np.floor(h / 2.5).astype(int), h / 2.5 % 1.0),
            (np.floor(c / 2.0).astype(int), c / 2.0 % 1.0),
        )
        xy = np.zeros((len(h), 2))
        for corner in range(8):
            (i, p), (j, q), (k, r) = (
                (at + (corner >> bit & 1), share if corner >> bit & 1 else 1.0 - share)
                for bit, (at, share) in enumerate(parts)
            )
            weight = (p * q * r)[:, None]
            node = self.xy[i, j % 40, np.minimum(k, 25)]
            xy += np.where(weight > 0.0, weight * node, 0.0)
        return to_lab(np.column_stack([xy, luminance(v)]))
