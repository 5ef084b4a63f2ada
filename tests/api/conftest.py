"""A page of four pencils, coloured in and scanned once for all tests."""

from typing import NamedTuple

import pytest

import stopgap


class Scanned(NamedTuple):
    """A library's file before and its swatches after its page was scanned, and what came of it."""

    before: bytes
    page: bytes
    drawn: tuple[stopgap.Swatch, ...]
    swatches: tuple[stopgap.Swatch, ...]
    found: object


@pytest.fixture(scope="session")
def scanned(demo_library, tmp_path_factory):
    path = tmp_path_factory.mktemp("scanned") / "library.sqlite"
    path.write_bytes(demo_library.read_bytes())
    with stopgap.open_library(path) as library:
        drawn = library.swatches()
        page = stopgap.coloured_page(library, [f"Quillet:Q{code}" for code in (3, 5, 7, 8)])
        before = path.read_bytes()
        found = stopgap.scan(library, page, device="flatbed", replace_measured=True)
        return Scanned(before, page, drawn, library.swatches(), found)
