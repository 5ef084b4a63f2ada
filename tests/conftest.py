"""Fixtures that several rooms' tests share."""

import gc
import os
import shutil

import pytest

# Tests run side by side, a process a core; set before numpy is imported, and for commands.
for library in ("OPENBLAS", "OMP", "MKL"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")

# What whoever runs the tests keeps for good is not what they are about.
os.environ["STOPGAP_CONFIG"] = os.devnull


def pytest_collection_finish():
    """Garbage is looked for after 20,000 new objects, not 700: it took a twelfth of the time."""
    gc.set_threshold(20_000, 10, 10)


@pytest.fixture(scope="session", autouse=True)
def recipes_folder(tmp_path_factory):
    """Commands keep recipes here, not in the user's cache folder."""
    os.environ["STOPGAP_CACHE"] = str(tmp_path_factory.mktemp("cache"))


@pytest.fixture(scope="session")
def demo_library(tmp_path_factory):
    """The path of a library with the demo's ranges; tests must not change it."""
    from stopgap.library import fill, open_library

    path = tmp_path_factory.mktemp("demo") / "library.sqlite"
    with open_library(path) as library:
        fill(library)
    return path


@pytest.fixture(scope="session")
def kept_demo(tmp_path_factory):
    """The folder that the demo leaves where it is kept; tests must not change it."""
    from stopgap.cli.program import run

    folder = tmp_path_factory.mktemp("kept") / "demo"
    assert run(["--quiet", "demo", "--keep", str(folder)]) == 0
    return folder


@pytest.fixture
def desk(kept_demo, tmp_path, monkeypatch):
    """A copy of the demo that was kept, where a test may change it; commands run in it."""
    folder = tmp_path / "desk"
    shutil.copytree(kept_demo, folder)
    monkeypatch.chdir(folder)
    monkeypatch.setenv("STOPGAP_LIBRARY", "library.sqlite")
    return folder


@pytest.fixture
def stopgap_run(tmp_path, capsys):
    """Run a command on a library of its own: arguments -> (status, standard output, error)."""
    from stopgap.cli.program import run

    def call(*arguments, library=tmp_path / "library.sqlite"):
        capsys.readouterr()
        status = run(["--library", str(library), *map(str, arguments)])
        captured = capsys.readouterr()
        return status, captured.out, captured.err

    call.library = tmp_path / "library.sqlite"
    return call


@pytest.fixture
def demo(stopgap_run, demo_library):
    """The runner on a copy of the demo's library."""
    shutil.copy(demo_library, stopgap_run.library)
    return stopgap_run
