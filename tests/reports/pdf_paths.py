"""Paths of a PDF page as millimetres from its upper left corner, read from its drawing operators.

Operators after ISO 32000-2:2020, 8.5: m, l, h build a path, S, s, f, B and the like paint it; q, Q
and cm (8.4) move the coordinates about. Curves are not read.
"""

import numpy as np
from pypdf.generic import ContentStream

MM = 25.4 / 72.0
PAINT = {b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*"}


def paths_of(reader, page):
    """Arrays (n, 2) of the corners of each straight path, and whether it is filled."""
    height = float(page.mediabox.height)
    matrix, stack, corners, found = np.eye(3), [], [], []
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = map(float, operands)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
        elif operator in (b"m", b"l"):
            x, y, _ = np.array([*map(float, operands), 1.0]) @ matrix
            corners.append((x * MM, (height - y) * MM))
        elif operator == b"n":
            corners = []
        elif operator in PAINT:
            if corners:
                found.append((np.array(corners), operator not in (b"S", b"s")))
            corners = []
    return found


def extents(corners):
    """Left, top, width, height."""
    left, top = corners.min(axis=0)
    width, height = np.ptp(corners, axis=0)
    return float(left), float(top), float(width), float(height)
