"""What each command may import from outside: start-up is mostly imports.

Wall milliseconds that an import costs, measured here once: rich.table 20, click 30, numpy 57,
numba 204, pandas 220, scipy.spatial 237, colour 620, sklearn.neighbors 890 (two cores, Python 3.11;
a bare interpreter 8). DEVELOPERS.md says how to measure the start-up itself.
"""

import os
import shutil
import subprocess
import sys

import pytest
from every_command import OUTSIDE, ROWS, lay_out, names_below

from stopgap.cli.program import program

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def desk(demo_library, tmp_path_factory):
    """A folder with a library, a copy of it, a range to import and layered swatches."""
    folder = tmp_path_factory.mktemp("desk")
    lay_out(folder, demo_library)
    return folder


def imported(code, folder):
    """Modules of OUTSIDE that are loaded once `code` has run in a fresh interpreter."""
    code += "\nimport sys; print('LOADED', *sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=folder)
    assert done.returncode == 0, done.stderr
    return OUTSIDE & set(done.stdout.splitlines()[-1].split()[1:])


ALIKE = {}
for command, allowed in ROWS.items():
    ALIKE.setdefault(frozenset(allowed), []).append(command)

RUN_EACH = """
import os, sys
from stopgap.cli.program import run
for folder, words in commands:
    os.chdir(folder)
    assert run(words) in (0, 3), words  # 3 is an answer
    told = sys.modules.keys() - allowed
    assert not told & outside, (words, told & outside)
"""
"""The first that imports more is named: what is loaded stays loaded."""


@pytest.mark.parametrize("allowed", ALIKE, ids=lambda allowed: ",".join(sorted(allowed)))
def test_a_command_imports_no_more_than_its_row_says(allowed, desk, tmp_path):
    """Commands that may import the same run in one fresh interpreter, each in its own folder."""
    commands = []
    for place, command in enumerate(ALIKE[allowed]):
        folder = shutil.copytree(desk, tmp_path / str(place))
        library = [] if command == "demo" else ["--library", "library.sqlite"]
        commands.append((str(folder), [*library, *command.split()]))
    code = f"{commands = }\nallowed = {set(allowed)}\noutside = {OUTSIDE}\n{RUN_EACH}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_match_loads_nothing_that_only_blends_need(desk):
    code = """
from stopgap.cli.program import run
assert run(["--library", "library.sqlite", "match", "Fennmoor:FM010", "--json"]) == 0
import sys
print("LOADED", *{"stopgap.blends"} & sys.modules.keys())"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=desk)
    assert done.stdout.splitlines()[-1] == "LOADED", done.stderr


def test_a_command_multiplies_by_one_thread(desk):
    """Threads of OpenBLAS spin until the next product, as much time again for nothing."""
    code = """
import os, threadpoolctl
from stopgap.cli import main
def leave(status, exit=os._exit):
    print("THREADS", *(one["num_threads"] for one in threadpoolctl.threadpool_info()), flush=True)
    exit(status)
os._exit = leave
main(["--library", "library.sqlite", "match", "Fennmoor:FM010", "--json"])"""
    bare = {name: said for name, said in os.environ.items() if "_NUM_THREADS" not in name}
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, capture_output=True, text=True, cwd=desk, env=bare)
    assert done.stdout.splitlines()[-1] == "THREADS 1", done.stderr


def test_every_command_has_a_row():
    commands = set(names_below(program))
    listed = {name for name in commands for row in ROWS if f"{row} ".startswith(f"{name} ")}
    assert listed == commands


def test_the_index_imports_nothing_before_it_pays(tmp_path):
    code = """
import numpy as np
from stopgap.neighbours import SwatchIndex
lab = np.random.default_rng(1).uniform(0, 100, (5000, 3))
for size in (1, 240, 5000):
    index = SwatchIndex(lab[:size])
    for _ in range(30):
        index.nearest([50, 0, 0], 5)
    index.nearest(lab, 3)
index.prepare(compiled=False)
"""
    assert imported(code, tmp_path) == {"numpy"}
