"""A short run of what `fuzz_readers.py` does at length, and what it found."""

import io
import struct
from functools import partial

import pytest
from fuzz_commands import OUTCOMES
from fuzz_readers import outcome, readers
from fuzzing import tried
from PIL import Image, TiffImagePlugin

from stopgap.errors import InputError
from stopgap.library import NameIndex
from stopgap.library.tables.formats import FORMATS
from stopgap.scanning.picture import open_images
from stopgap.scanning.profile import decoder
from stopgap.swatches import Swatch


@pytest.mark.parametrize("name", readers())
def test_damaged_input_is_refused_in_a_sentence_or_read_whole(name, capfd):
    count = 6 if name == "XLS" else 60  # each XLS is read in a process of its own
    found = tried(partial(outcome, name), range(count))
    assert found["refused"] + found["read"] == count
    assert found["refused"] or name == "recipes"  # of which nobody is told
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(("name", "count"), [("parsed", 200), ("done", 30)])
def test_any_line_is_answered_or_refused_in_a_sentence(name, count, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    for variable in ("STOPGAP_CACHE", "STOPGAP_CONFIG"):
        monkeypatch.setenv(variable, str(tmp_path))  # to be as they were afterwards
    assert tried(OUTCOMES[name], range(count)).total() == count


def test_every_format_has_a_file_to_damage():
    assert set(FORMATS) <= set(readers())


def test_a_page_that_was_pasted_is_not_taken_apart_at_each_word():
    index = NameIndex([Swatch("Fen", str(number), (50.0, 0.0, 0.0)) for number in range(40)])
    pasted = "Fen 1-2: " * 3000
    assert not index.bearing(pasted)
    assert index.span(pasted) is None
    assert index.meant(pasted) == []


@pytest.mark.filterwarnings("error")
def test_a_profile_whose_curves_lead_nowhere_is_refused():
    from PIL import ImageCms

    whole = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    at = whole.index(b"para") + 12
    (power,) = struct.unpack_from(">i", whole, at)
    assert 2 < power / 65536 < 3  # sRGB's, which with another sign divides by zero
    assert decoder(whole)
    for wrong in (-power, 2**31 - 1):
        damaged = bytearray(whole)
        struct.pack_into(">2i", damaged, at, wrong, 2 * 65536)
        with pytest.raises(InputError, match="profile inside the picture is damaged"):
            decoder(bytes(damaged))


def test_a_small_file_that_claims_many_pixels_is_not_given_the_memory(monkeypatch):
    def load(_picture):
        raise AssertionError("given")

    monkeypatch.setattr(TiffImagePlugin.TiffImageFile, "load", load)
    stream = io.BytesIO()
    Image.new("RGB", (16, 12)).save(stream, "TIFF")
    data = bytearray(stream.getvalue())
    at = data.index(TiffImagePlugin.IMAGEWIDTH.to_bytes(2, "little") + b"\x04\x00") + 8
    data[at : at + 4] = (10_000_000).to_bytes(4, "little")
    with pytest.raises(InputError, match="cut short or damaged"):
        list(open_images(io.BytesIO(bytes(data)), "page.tif"))


def test_a_tiff_whose_size_is_missing_is_refused():
    stream = io.BytesIO()
    pages = [Image.new("RGB", (4, 4)), Image.new("RGB", (4, 4))]
    pages[0].save(stream, "TIFF", save_all=True, append_images=pages[1:])
    data = bytearray(stream.getvalue())
    width = TiffImagePlugin.IMAGEWIDTH.to_bytes(2, "little")
    second = data.rindex(width + b"\x04\x00")
    data[second : second + 2] = b"\xff\x00"
    with pytest.raises(InputError, match="cut short or damaged"):
        list(open_images(io.BytesIO(bytes(data)), "page.tif"))
