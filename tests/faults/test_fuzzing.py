"""A short run of what `fuzz_readers.py` does at length, and what it found."""

import io
from functools import partial

import pytest
from fuzz_readers import outcome, readers
from fuzzing import tried
from PIL import Image, TiffImagePlugin

from stopgap.errors import InputError
from stopgap.library import NameIndex
from stopgap.library.tables.formats import FORMATS
from stopgap.scanning.picture import open_images
from stopgap.swatches import Swatch


@pytest.mark.parametrize("name", readers())
def test_damaged_input_is_refused_in_a_sentence_or_read_whole(name, capfd):
    count = 6 if name == "XLS" else 60  # each XLS is read in a process of its own
    found = tried(partial(outcome, name), range(count))
    assert found["refused"] + found["read"] == count
    assert found["refused"] or name == "recipes"  # of which nobody is told
    assert capfd.readouterr() == ("", "")


def test_every_format_has_a_file_to_damage():
    assert set(FORMATS) <= set(readers())


def test_a_page_that_was_pasted_is_not_taken_apart_at_each_word():
    index = NameIndex([Swatch("Fen", str(number), (50.0, 0.0, 0.0)) for number in range(40)])
    pasted = "Fen 1-2: " * 3000
    assert not index.bearing(pasted)
    assert index.span(pasted) is None
    assert index.meant(pasted) == []


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
