"""A short run of what `fuzz_tables.py` does at length."""

import pytest
from fuzz_tables import batch, seeds

from stopgap.library.tables.formats import FORMATS


@pytest.mark.parametrize("form", FORMATS)
def test_damaged_files_are_refused_in_a_sentence_or_read_whole(form, tmp_path):
    count = 15 if form == "XLS" else 150  # each XLS is read in a process of its own
    found = batch(form, 0, count, tmp_path)
    assert found["refused"] + found["read"] == count
    assert found["refused"]


def test_every_format_has_a_file_to_damage():
    assert set(seeds()) == set(FORMATS)
