"""Where a page lies, how light falls on it, what coded values mean: against what made them."""

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms
from simulate import devices

from stopgap.colorimetry import RGB_TO_D50_XYZ, linear_srgb, xyz_to_lab
from stopgap.errors import InputError
from stopgap.scanning.light import Blank, fit_light
from stopgap.scanning.marks import FoundMark, page_pose, project
from stopgap.scanning.profile import decoder
from stopgap.swatches import Mark, mark_places

A4 = (210.0, 297.0)
numbers = st.floats(-1.0, 1.0)


def found(homography, corners=(0, 1, 2, 3)):
    places = mark_places(A4)
    return [
        FoundMark(Mark("204611", 1, corner), project(homography, np.array(places[corner].corners)))
        for corner in corners
    ]


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 6.3), st.floats(7.0, 20.0), numbers, numbers)
def test_any_perspective_is_found_again(turn, density, lean_x, lean_y):
    linear = density * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    true = np.eye(3)
    true[:2, :2], true[:2, 2] = linear, (3000.0, 2500.0)
    true[2, :2] = np.array([lean_x, lean_y]) * 4e-4
    pose = page_pose(found(true), A4)
    places = np.array([[0.0, 0.0], [105.0, 100.0], [200.0, 290.0]])
    assert np.abs(pose.pixels(places) - project(true, places)).max() < 1e-3


def test_two_marks_give_a_page_on_glass():
    true = np.array([[6.0, -0.4, 50.0], [0.4, 6.0, 80.0], [0.0, 0.0, 1.0]])
    pose = page_pose(found(true, (0, 2)), A4)
    places = np.array([[10.0, 280.0], [200.0, 15.0]])
    assert np.abs(pose.pixels(places) - project(true, places)).max() < 1e-6
    tilted = true + np.array([[0, 0, 0], [0, 0, 0], [9e-4, 0, 0]])
    with pytest.raises(InputError, match="all four corners"):
        page_pose(found(tilted, (0, 2)), A4)


def test_a_bent_page_is_refused():
    marks = found(np.diag([6.0, 6.0, 1.0]))
    bent = [*marks[:3], FoundMark(marks[3].mark, marks[3].corners + np.array([0.0, 45.0]))]
    bent[1] = FoundMark(
        marks[1].mark, marks[1].corners + np.array([[9.0, 0], [0, 9], [-9, 0], [0, -9]])
    )
    with pytest.raises(InputError, match="off a flat page"):
        page_pose(bent, A4)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(-0.15, 0.15), min_size=5, max_size=5), st.integers(0, 2**32 - 1))
def test_fall_off_is_found_though_a_fifth_is_not_blank(bends, seed):
    rng = np.random.default_rng(seed)
    places = rng.uniform((5.0, 20.0), (205.0, 277.0), (60, 2))
    x, y = 2 * places[:, 0] / A4[0] - 1, 2 * places[:, 1] / A4[1] - 1
    level = np.exp(-0.5 + np.column_stack([x, y, x * x, x * y, y * y]) @ bends)
    linear = level[:, None] * [0.9, 0.8, 0.7]
    spoilt = rng.random(60) < 0.2
    linear[spoilt] *= rng.uniform(0.2, 0.8, (spoilt.sum(), 3))
    blanks = [Blank(*place, value, full=False) for place, value in zip(places, linear, strict=True)]
    light = fit_light(blanks, A4)
    clean = ~spoilt
    fitted = light.at(places[clean]) / (level[clean, None] * [0.9, 0.8, 0.7])
    assert np.abs(fitted - 1.0).max() < 0.01


def test_a_page_without_white_is_refused():
    with pytest.raises(InputError, match="too little"):
        fit_light([Blank(10.0, 10.0, np.ones(3), full=False)] * 5, A4)


codes = np.random.default_rng(1).integers(0, 256, (4000, 3)).astype(np.uint8)


def lab_of(linear):
    return xyz_to_lab(100.0 * linear @ RGB_TO_D50_XYZ.T)


def little_cms(profile):
    """Lab of the codes by littleCMS, in steps of 0.4 and 1."""
    transform = ImageCms.buildTransform(
        profile, ImageCms.createProfile("LAB"), "RGB", "LAB", ImageCms.Intent.RELATIVE_COLORIMETRIC
    )
    coded = np.asarray(ImageCms.applyTransform(Image.fromarray(codes[None]), transform))[0]
    return np.column_stack([coded[:, 0] / 2.55, coded[:, 1:].astype(np.int8)])


def close(linear, reference):
    """Where both can say it: littleCMS has no colours below zero, and eight bits of a and b."""
    inside = (np.abs(reference[:, 1:]) < 120).all(axis=1)
    inside &= (linear @ RGB_TO_D50_XYZ.T > 0.0).all(axis=1)
    assert inside.mean() > 0.5
    off = np.abs(lab_of(linear) - reference)[inside]
    assert np.percentile(off[:, 0], 99) <= 0.3
    assert np.percentile(off, 99) <= 0.8


def test_a_profile_of_three_colorants_as_little_cms_reads_it():
    """Outside reference: littleCMS 2, as Pillow carries it."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
    linear = decoder(profile.tobytes())(codes)
    close(linear, little_cms(profile))
    assert np.abs(linear - linear_srgb(codes / 255.0)).max() < 2e-3


def test_a_scanners_own_profile_as_little_cms_reads_it():
    device = devices.flatbed(np.random.default_rng(3), profiled=True)
    profile = device.profile()
    close(decoder(profile)(codes), little_cms(ImageCms.ImageCmsProfile(io.BytesIO(profile))))


def test_without_a_profile_it_is_srgb():
    assert np.abs(decoder(None)(codes) - linear_srgb(codes / 255.0)).max() < 1e-12


def test_a_table_of_colours_goes_through_little_cms(monkeypatch):
    """A profile of three colorants read as if it had tables: the two paths must agree."""
    from stopgap.scanning import profile as profiles

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    exact = profiles.decoder(profile)(codes)
    monkeypatch.setattr(profiles, "_TABLES", (b"rXYZ",))
    by_tables = profiles.decoder(profile)(codes)
    off = np.abs(lab_of(exact) - lab_of(by_tables))
    assert np.percentile(off, 95) <= 0.6
    assert abs((lab_of(exact) - lab_of(by_tables)).mean()) < 0.05
