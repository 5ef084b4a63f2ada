"""Whether the demo's pencils are believable as colours on paper, and stand as the scenario says.

Colour computations are those of colour-science (0.4.7 when written), not stopgap's. The limits of
families, chroma and density are common practice, no source.
"""

import colour
import networkx
import numpy as np
import pytest
from demo_files import (
    D50,
    GRID,
    OBSERVER,
    RANGES,
    D50_xy,
    Floats,
    Row,
    addresses_of,
    between,
    delta_E,
    hue,
    integrate,
    is_current_and_plain,
    read,
    reflectances,
)

# lightness, chroma, hue angle from and to: the artist's families, white and black last
FAMILIES = {
    "lemon yellows": ((85, 96), (55, 95), (94, 106)),
    "golden yellows": ((74, 88), (60, 95), (72, 93)),
    "yellow earths": ((50, 68), (36, 55), (62, 100)),
    "oranges": ((60, 74), (60, 85), (50, 70)),
    "apricots": ((70, 88), (15, 55), (45, 72)),
    "reds": ((38, 58), (50, 75), (20, 45)),
    "roses": ((44, 70), (33, 60), (350, 10)),
    "muted roses": ((48, 74), (15, 36), (345, 25)),
    "wines": ((24, 40), (20, 40), (340, 25)),
    "purples": ((30, 55), (30, 50), (312, 340)),
    "violets": ((30, 56), (28, 50), (294, 318)),
    "deep blue-violets": ((24, 36), (30, 50), (284, 300)),
    "blues": ((38, 60), (34, 52), (245, 284)),
    "pale blues": ((70, 90), (8, 30), (235, 275)),
    "greyed blues": ((30, 66), (10, 24), (245, 275)),
    "turquoises leaning blue": ((40, 62), (30, 45), (210, 230)),
    "turquoises leaning green": ((45, 78), (25, 45), (176, 205)),
    "vivid greens": ((45, 80), (40, 62), (108, 158)),
    "greyed greens": ((36, 74), (12, 28), (112, 165)),
    "olives": ((28, 58), (18, 46), (94, 112)),
    "sands": ((64, 90), (12, 34), (70, 92)),
    "warm earths": ((36, 55), (22, 55), (40, 70)),
    "cool earths": ((26, 38), (8, 22), (45, 72)),
    "brown-greys": ((44, 62), (6, 16), (60, 82)),
    "warm greys": ((30, 86), (3, 8), (50, 95)),
    "cool greys": ((30, 86), (3, 9), (235, 275)),
    "pale pinks": ((78, 90), (8, 28), (340, 35)),
    "pale violets": ((72, 86), (10, 26), (295, 320)),
    "pale greens": ((84, 92), (8, 30), (110, 175)),
    "creams": ((82, 94), (8, 30), (66, 100)),
    "blacks": ((22, 26), (0, 4), (0, 360)),
    "whites": ((94, 97), (0, 4), (0, 360)),
}
# hue angle from and to, highest chroma of a plain pencil on paper
CHROMA = (((60, 105), 95), ((345, 60), 76), ((105, 180), 62), ((180, 345), 52))


def nearest_current(
    address: str, pencils: dict[str, Row], labs: dict[str, Floats]
) -> tuple[float, str]:
    others = [a for a, row in pencils.items() if a != address and is_current_and_plain(row)]
    apart = delta_E(labs[address], np.array([labs[a] for a in others]))
    return float(apart.min()), others[int(apart.argmin())]


@pytest.mark.parametrize(
    ("name", "least", "most", "stand_in"),
    [
        ("Hollyfoot Sandbank", 0.0, 1.0, "Lavender Groyne Root"),
        ("Old Barnacle Bed", 3.5, 5.0, "Bryozoan Mat"),
        ("Bottle Kelp Grove", 10.0, 15.0, None),
        ("Orchid Anemone Veil", 8.0, 12.0, None),
    ],
)
def test_how_far_the_missing_shades_stand(
    name: str,
    least: float,
    most: float,
    stand_in: str | None,
    pencils: dict[str, Row],
    labs: dict[str, Floats],
) -> None:
    [address] = addresses_of(f"Fennmoor:{name}", pencils)
    apart, nearest = nearest_current(address, pencils, labs)
    assert least <= apart <= most
    assert stand_in is None or pencils[nearest]["name"] == stand_in


def test_ranges_overlap_without_being_copies(
    pencils: dict[str, Row], labs: dict[str, Floats]
) -> None:
    plain = [address for address, row in pencils.items() if is_current_and_plain(row)]
    maker = np.array([address.partition(":")[0] for address in plain])
    lab = np.array([labs[address] for address in plain])
    apart = delta_E(lab[:, None], lab[None])
    other = np.where(maker[:, None] != maker[None], apart, np.inf).min(axis=1)
    same = np.where((maker[:, None] == maker[None]) & ~np.eye(len(plain), dtype=bool), apart, 99)
    assert np.count_nonzero(other < 1.0) >= 10
    assert np.count_nonzero(other < 1.0) <= 30
    assert np.count_nonzero((other >= 2.0) & (other < 5.0)) >= 60
    assert np.count_nonzero(np.minimum(other, same.min(axis=1)) > 6.0) >= 5
    assert same.min() > 2.5  # no maker sells one colour twice


@pytest.mark.parametrize("name", RANGES)
def test_no_colour_is_unreal(
    name: str, ranges: dict[str, list[Row]], labs: dict[str, Floats]
) -> None:
    """Inside the optimal colour solid; on a 10 nm grid, for at 1 nm under D50 Qhull gives up."""
    lab = np.array([labs[f"{name}:{row['code']}"] for row in ranges[name]])
    inside = colour.volume.is_within_visible_spectrum(
        colour.Lab_to_XYZ(lab, D50_xy), OBSERVER.copy().align(GRID), D50.copy().align(GRID)
    )
    assert np.all(inside)
    plain = lab[[row["finish"] == "plain" for row in ranges[name]]]
    chroma = np.hypot(plain[:, 1], plain[:, 2])
    assert 22 <= plain[:, 0].min() <= 26
    assert plain[:, 0].max() < 96.5
    for (start, end), highest in CHROMA:
        assert chroma[between(hue(plain), start, end)].max() <= highest


def test_plain_spectra_are_reflectances(ranges: dict[str, list[Row]]) -> None:
    plain = reflectances([row for row in ranges["Brindlewick"] if row["finish"] == "plain"])
    assert plain.min() > 0.0
    assert plain.max() < 1.0
    assert np.abs(np.diff(plain, n=2, axis=1)).max() < 0.12  # smooth, as pigments are


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("name", RANGES)
def test_every_family_is_present(
    name: str, family: str, ranges: dict[str, list[Row]], labs: dict[str, Floats]
) -> None:
    lightness, chroma, angles = FAMILIES[family]
    rows = [row for row in ranges[name] if is_current_and_plain(row)]
    lab = np.array([labs[f"{name}:{row['code']}"] for row in rows])
    C = np.hypot(lab[:, 1], lab[:, 2])
    within = (
        (lightness[0] <= lab[:, 0])
        & (lab[:, 0] <= lightness[1])
        & (chroma[0] <= C)
        & (chroma[1] >= C)
        & between(hue(lab), *angles)
    )
    assert within.any()


def test_pales_browns_and_greys_are_as_dense_as_in_a_real_set(
    ranges: dict[str, list[Row]], labs: dict[str, Floats]
) -> None:
    rows = [row for row in ranges["Fennmoor"] if row["finish"] == "plain"]
    lab = np.array([labs[f"Fennmoor:{row['code']}"] for row in rows])
    L, C = lab[:, 0], np.hypot(lab[:, 1], lab[:, 2])
    grey = C < 8
    pale = (L >= 70) & (C < 36) & ~grey
    brown = (L < 70) & between(hue(lab), 35, 92) & (C < 52) & ~grey
    shares = [np.count_nonzero(kind) / len(rows) for kind in (pale, brown, grey)]
    assert 0.20 <= shares[0] <= 0.32
    assert 0.10 <= shares[1] <= 0.20
    assert 0.08 <= shares[2] <= 0.15


def test_names_that_mislead(pencils: dict[str, Row], labs: dict[str, Floats]) -> None:
    """Green that is a red-orange, blue that is a yellowish brown, red that is a green."""
    for target, (start, end) in {
        "Fennmoor:Green Crab Claw": (30, 55),
        "Brindlewick:Blue Mud Shoal": (75, 95),
        "Quillet:Red Tide Line": (120, 160),
    }.items():
        [address] = addresses_of(target, pencils)
        assert between(hue(labs[address]), start, end)


def closes(start: str, end: str, through: set[str], step: float, labs: dict[str, Floats]) -> bool:
    """Whether steps of at most `step` lead from start to end, each nearer to it on the Lab line."""
    nodes = sorted(through | {start, end})
    lab = np.array([labs[node] for node in nodes])
    way = labs[end] - labs[start]
    along = dict(zip(nodes, (lab - labs[start]) @ way / (way @ way), strict=True))
    small = delta_E(lab[:, None], lab[None]) <= step
    graph = networkx.DiGraph()
    graph.add_nodes_from(nodes)
    graph.add_edges_from(
        (nodes[i], nodes[j]) for i, j in np.argwhere(small) if along[nodes[i]] < along[nodes[j]]
    )
    return networkx.has_path(graph, start, end)


def test_blends_break_in_the_box_and_close_in_the_ranges(
    pencils: dict[str, Row], labs: dict[str, Floats]
) -> None:
    blends = read("blends.csv")
    assert len(blends) == 3
    plain = {address for address, row in pencils.items() if row["finish"] == "plain"}
    known = {address for address, row in pencils.items() if is_current_and_plain(row)}
    owned = {row["colour"] for row in read("owned.csv")} & plain
    for blend in blends:
        start, end = blend["from"], blend["to"]
        assert {start, end} <= plain
        assert not closes(start, end, owned, 12.0, labs)
        assert closes(start, end, known, float(blend["step"] or 12.0), labs)


def test_paper() -> None:
    [paper] = read("paper.csv")
    lab = np.array([float(paper[axis]) for axis in "Lab"])
    np.testing.assert_allclose(
        colour.XYZ_to_Lab(integrate(reflectances([paper])), D50_xy)[0], lab, atol=0.03
    )
    np.testing.assert_allclose(lab, [96.0, 0.0, 2.0], atol=0.5)
