"""A desk on a copy of the demo's library."""

import shutil

import pytest
from window import Window


@pytest.fixture
def own_library(demo_library, tmp_path):
    path = tmp_path / "library.sqlite"
    shutil.copy(demo_library, path)
    return path


@pytest.fixture
def window(own_library):
    return Window(own_library).enter()
