"""A picture's colours: against Pillow's octree, a proved optimum, and pictures of known colours."""

import csv
import itertools
import json
from pathlib import Path

import numpy as np
import pytest
import sklearn.datasets
from PIL import Image, ImageCms
from scipy.ndimage import gaussian_filter
from scipy.optimize import Bounds, LinearConstraint, milp

from stopgap.colorimetry import lab_to_srgb, srgb_to_lab
from stopgap.difference import delta_E_ciede2000
from stopgap.errors import InputError, NothingFoundError
from stopgap.neighbours import choose_medians
from stopgap.planner import free_colours, pack_kit
from stopgap.scanning import (
    Histogram,
    colours_of_pencils,
    find_main_colours,
    read_histogram,
)
from stopgap.swatches import Swatch

pytestmark = pytest.mark.slow

PHOTOGRAPHS = Path(sklearn.datasets.__file__).parent / "images"
"""Two photographs that scikit-learn ships: flower.jpg and china.jpg, 640 by 427 pixels."""

RED, BLUE, YELLOW = (192, 64, 48), (32, 64, 144), (240, 224, 48)


def flat(folder, *colours, mode="RGB", name="flat.png", **saved):
    """A picture of stripes of equal area."""
    pixels = np.repeat(np.array(colours, dtype=np.uint8)[np.newaxis], 30, axis=0)
    Image.fromarray(np.repeat(pixels, 10, axis=1), mode).save(folder / name, **saved)
    return folder / name


def painted(folder, kind, seed):
    """A seeded picture of 80 by 100 pixels: a soft landscape, muted skin, or strokes on paper."""
    random = np.random.default_rng([5, seed])
    noise = [gaussian_filter(random.normal(size=(80, 100)), 9.0) for _ in range(8)]
    slow = np.array([one / one.std() for one in noise])
    if kind == "soft":
        weight = np.exp(3.0 * slow)
        hues = random.normal(0, 28, (8, 2))
        colours = np.column_stack([random.uniform(15, 92, 8), hues])
        lab = np.einsum("nhw,nc->hwc", weight / weight.sum(axis=0), colours)
        lab += random.normal(0, 2, lab.shape)
    elif kind == "muted":
        hue, chroma = random.uniform(0, 2 * np.pi) + 0.4 * slow[2], 15 + 6 * slow[1]
        lab = np.stack([55 + 18 * slow[0], chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1)
        lab += random.normal(0, 1.5, lab.shape)
    else:
        lab = np.full((80, 100, 3), (96.0, 0.0, 3.0))
        for _ in range(40):
            top, left = random.integers(0, 70), random.integers(0, 70)
            stroke = lab[top : top + random.integers(3, 12), left : left + random.integers(8, 60)]
            ink = np.array([random.uniform(20, 80), *random.normal(0, 35, 2)])
            load = np.clip(random.normal(0.7, 0.2, (*stroke.shape[:2], 1)), 0.0, 1.0)
            stroke += load * (ink - stroke)
    path = folder / f"{kind}{seed}.png"
    Image.fromarray(np.rint(255.0 * lab_to_srgb(lab)[0]).astype("u1")).save(path)
    return path


@pytest.mark.parametrize("count", [6, 12, 24])
def test_nearer_than_an_octree(tmp_path, count):
    """Pillow's fast octree (M. Gervautz and W. Purgathofer 1988) at an equal number of colours.

    The mean over two photographs, and over six pictures of other kinds, each.
    """
    kinds = [(kind, seed) for kind in ("soft", "muted", "strokes") for seed in (1, 2)]
    paths = [painted(tmp_path, *one) for one in kinds]
    for some in ([PHOTOGRAPHS / "flower.jpg", PHOTOGRAPHS / "china.jpg"], paths):
        shares = []
        for path in some:
            histogram = read_histogram(path)
            found = find_main_colours(histogram, count)
            with Image.open(path) as picture:
                octree = picture.quantize(count, method=Image.Quantize.FASTOCTREE).getpalette()
            colours = srgb_to_lab(np.array(octree[: 3 * count]).reshape(-1, 3) / 255.0)
            off = delta_E_ciede2000(histogram.lab[:, np.newaxis], colours).min(axis=1)
            shares.append(found.mean_delta_E / (histogram.share @ off))
        assert np.mean(shares) <= 0.9


def test_a_histogram_is_the_picture():
    """Share, mean lightness and the rest agree with all pixels, one by one."""
    path = PHOTOGRAPHS / "flower.jpg"
    histogram = read_histogram(path)
    with Image.open(path) as picture:
        lab = srgb_to_lab(np.asarray(picture) / 255.0).reshape(-1, 3)
    assert histogram.share.sum() == pytest.approx(1.0)
    # a cell is 8 levels wide, in which Lab is almost straight
    assert histogram.share @ histogram.lab == pytest.approx(lab.mean(axis=0), abs=0.1)


def test_few_colours_where_there_are_no_more(tmp_path):
    found = find_main_colours(read_histogram(flat(tmp_path, RED, BLUE)), 12)
    assert [colour.share for colour in found.colours] == pytest.approx([0.5, 0.5])
    expected = srgb_to_lab(np.array([RED, BLUE]) / 255.0)
    labs = sorted(colour.lab for colour in found.colours)
    np.testing.assert_allclose(labs, sorted(expected.tolist()), atol=1e-9)
    assert found.mean_delta_E == pytest.approx(0.0, abs=1e-9)


def test_a_small_accent_that_is_lost_is_named(tmp_path):
    pixels = np.full((100, 100, 3), RED, dtype=np.uint8)
    pixels[:, :50] = BLUE
    pixels[:3, :3] = YELLOW
    Image.fromarray(pixels).save(tmp_path / "spot.png")
    histogram = read_histogram(tmp_path / "spot.png")
    (lost,) = find_main_colours(histogram, 2).lost
    assert lost.share == pytest.approx(9e-4)
    np.testing.assert_allclose(lost.lab, srgb_to_lab(np.array(YELLOW) / 255.0), atol=1e-9)
    assert find_main_colours(histogram, 3).lost == ()


@pytest.mark.parametrize("seed", range(8))
def test_medians_against_a_proof(seed):
    """p-median as a programme (C. S. ReVelle and R. W. Swain 1970), solved by HiGHS."""
    random = np.random.default_rng(seed)
    costs, weights = random.uniform(0, 30, (14, 9)), random.uniform(0, 1, 14)
    count = 3
    rows, columns = costs.shape
    served = np.kron(np.eye(rows), np.ones(columns))
    opened = np.hstack([np.eye(rows * columns), -np.tile(np.eye(columns), (rows, 1))])
    proved = milp(
        np.concatenate([(weights[:, np.newaxis] * costs).ravel(), np.zeros(columns)]),
        integrality=np.ones(rows * columns + columns),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(np.hstack([served, np.zeros((rows, columns))]), 1, 1),
            LinearConstraint(opened, -np.inf, 0),
            LinearConstraint([[0] * (rows * columns) + [1] * columns], count, count),
        ],
    )
    chosen = choose_medians(costs, weights, count)
    found = weights @ costs[:, chosen].min(axis=1)
    every = min(
        weights @ costs[:, list(some)].min(axis=1)
        for some in itertools.combinations(range(columns), count)
    )
    assert every == pytest.approx(proved.fun)
    # one exchange at a time need not reach the best, but comes near, and none makes it better
    assert proved.fun - 1e-9 <= found <= 1.03 * proved.fun
    for place, column in itertools.product(range(count), range(columns)):
        exchanged = chosen.copy()
        exchanged[place] = column
        assert weights @ costs[:, exchanged].min(axis=1) >= found - 1e-9


def test_pencils_chosen_directly_are_nearer_than_pencils_for_the_main_colours():
    histogram = read_histogram(PHOTOGRAPHS / "china.jpg")
    random = np.random.default_rng(5)
    labs = np.column_stack([random.uniform(15, 95, 150), random.normal(0, 25, (150, 2))])
    swatches = [Swatch("Own", f"O{place}", tuple(lab)) for place, lab in enumerate(labs)]
    kit = pack_kit(free_colours(*histogram.coarse), swatches, 8, time_limit=0.0)
    chosen = colours_of_pencils(histogram, kit.pencils, 8)
    assert len(chosen.colours) == 8
    colours = np.array([colour.lab for colour in find_main_colours(histogram, 8).colours])
    translated = labs[delta_E_ciede2000(colours[:, np.newaxis], labs).argmin(axis=1)]
    off = delta_E_ciede2000(histogram.lab[:, np.newaxis], translated).min(axis=1)
    assert chosen.mean_delta_E < histogram.share @ off
    with pytest.raises(NothingFoundError, match="no pencil"):
        pack_kit(free_colours(*histogram.coarse), [], 8)


def test_what_is_transparent_is_no_part_of_it(tmp_path):
    seen, unseen = (*RED, 255), (*BLUE, 0)
    found = find_main_colours(read_histogram(flat(tmp_path, seen, unseen, mode="RGBA")), 3)
    np.testing.assert_allclose(
        [colour.lab for colour in found.colours], [srgb_to_lab(np.array(RED) / 255.0)], atol=1e-9
    )
    with pytest.raises(InputError, match="transparent all over"):
        read_histogram(flat(tmp_path, unseen, mode="RGBA"))


def test_an_embedded_profile_counts(tmp_path):
    """The profile of Lab itself, encoded in RGB by LittleCMS, which Pillow brings."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    with_it = read_histogram(flat(tmp_path, RED, name="with.png", icc_profile=profile))
    without = read_histogram(flat(tmp_path, RED))
    assert delta_E_ciede2000(with_it.lab, without.lab).max() < 0.5  # eight bits of Lab
    with pytest.raises(InputError, match="profile inside the picture is damaged"):
        read_histogram(flat(tmp_path, RED, icc_profile=b"no profile"))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"code,L,a,b\n", "expected a picture as JPEG, PNG or TIFF"),
        (b"", "expected a picture as JPEG, PNG or TIFF"),
        ("cut", "cut short or damaged"),
        ("inks", "in CMYK"),
        ("huge", "claims more pixels than any scan"),
    ],
    ids=str,
)
def test_what_is_no_picture_is_refused_in_a_sentence(stopgap_run, tmp_path, content, says):
    path = tmp_path / "picture.jpg"
    if content == "inks":
        Image.new("CMYK", (20, 20)).save(path)
    elif content == "cut":
        whole = (PHOTOGRAPHS / "flower.jpg").read_bytes()
        path.write_bytes(whole[: len(whole) // 2])
    elif content == "huge":
        Image.new("1", (20000, 20000)).save(path, format="TIFF", compression="group4")
    else:
        path.write_bytes(content)
    status, out, error = stopgap_run("palette", path, tmp_path / "out.csv")
    assert (status, out) == (1, "")
    assert says in error
    assert error.count("\n") == 1
    assert not (tmp_path / "out.csv").exists()


def test_the_list_is_one_that_other_commands_read(demo, tmp_path):
    picture = flat(tmp_path, RED, BLUE, BLUE)
    out = tmp_path / "colours.csv"
    assert demo("palette", picture, out, "--colours", "2", "--picture", tmp_path / "p.svg")[0] == 0
    rows = list(csv.DictReader(out.read_text(encoding="utf-8").splitlines()))
    assert [float(row["weight"]) for row in rows] == pytest.approx([2 / 3, 1 / 3], abs=1e-5)
    status, answer, _ = demo("translate", out, "--json")
    assert (status, len(json.loads(answer)["rows"])) == (0, 2)
    assert b"<svg" in (tmp_path / "p.svg").read_bytes()
    assert demo("palette", picture, out)[0] == 1  # never over a file
    pencils = tmp_path / "pencils.csv"
    arguments = ("palette", picture, pencils, "--pencils", "2", "--owned", "--json")
    status, answer, _ = demo(*arguments)
    assert all(colour["swatch"]["owned"] for colour in json.loads(answer)["colours"])
    assert demo("translate", pencils)[0] == 0


def test_misuse(stopgap_run, tmp_path):
    picture = flat(tmp_path, RED)
    out = tmp_path / "o.csv"
    assert stopgap_run("palette", picture, out, "--colours", "0")[0] == 2
    assert stopgap_run("palette", picture, out, "--colours", "3", "--pencils", "3")[0] == 2
    assert stopgap_run("palette", picture, tmp_path / "o.pdf")[0] == 2
    assert stopgap_run("palette", picture, out, "--pencils", "3")[0] == 1  # there is no library
    with pytest.raises(InputError, match="1 to 256"):
        find_main_colours(Histogram(np.zeros((1, 3)), np.ones(1), np.zeros((1, 1, 3))), 300)
    with pytest.raises(InputError, match="1 to 2"):
        choose_medians([[1.0, 2.0]], [1.0], 3)
