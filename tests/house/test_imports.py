"""What each command may import from outside: start-up is mostly imports.

Wall milliseconds that an import costs, measured here once: rich.table 20, click 30, numpy 57,
numba 204, pandas 220, scipy.spatial 237, colour 620, sklearn.neighbors 890 (two cores, Python 3.11;
a bare interpreter 8). DEVELOPERS.md says how to measure the start-up itself.
"""

import os
import shutil
import subprocess
import sys

import click
import pandas
import pytest
from coloured import coloured_page
from PIL import Image

from stopgap.cli.ask.demo import datasets
from stopgap.cli.program import program, run

pytestmark = pytest.mark.slow

OUTSIDE = {
    *("PIL", "click", "colour", "dask", "defusedxml", "jinja2", "joblib", "matplotlib", "numba"),
    *("networkx", "numpy", "odf", "openpyxl", "pandas", "reportlab", "rich", "scipy", "sklearn"),
    *("python_calamine", "sqlite3"),
}
STORE = {"click", "sqlite3"}
ARRAYS = STORE | {"numpy"}
SHOWN = ARRAYS | {"rich"}
WRITTEN = ARRAYS | {"jinja2"}
DRAWN = ARRAYS | {"matplotlib", "PIL", "defusedxml"}  # the last by older releases of PIL
ADAPTED = ARRAYS | DRAWN | {"colour", "scipy", "pandas"}  # drawing and pandas by colour
WORKBOOK = ARRAYS | {"python_calamine"}

TWO = "Fennmoor:FM010 Brindlewick:BW01"
PAIRS = " ".join(f"--pair FM00{place}=BW0{place}" for place in range(1, 7))
TABLE = {
    "--help": {"click"},
    "--version": {"click"},
    "match --help": STORE,
    "match Fennmoor:FM010": SHOWN,
    "match Fennmoor:FM010 --json": ARRAYS,
    "match Fennmoor:FM010 --csv": ARRAYS,
    "match #c04a2b --json --metric HyAB": ARRAYS,
    "match Fennmoor:FM010 --json --layers --layer-with any": ARRAYS,
    "find dark olive": SHOWN,
    "find dark olive --json": ARRAYS,
    f"layer {TWO}": SHOWN,
    f"layer {TWO} --json": ARRAYS,
    "tones Fennmoor:FM010": SHOWN,
    "scan page.png --device flatbed --json": ARRAYS | {"PIL", "zxingcpp", "defusedxml"},
    "calibrate layered.csv": SHOWN | {"scipy"},
    "match Fennmoor:FM010 --json --on tan": ARRAYS,
    "paper add Night --colour black": STORE,
    "paper list": SHOWN,
    "paper edit Kraft --grain fine": STORE,
    "paper remove Kraft": STORE,
    "family": SHOWN,
    "family show --json": ARRAYS,
    "family wall": SHOWN,
    "family move Fennmoor:FM010 wines": ARRAYS,
    "family release Fennmoor:FM012": ARRAYS,
    "family new Own": ARRAYS,
    "family rename reds Mine": ARRAYS,
    "family join reds wines": ARRAYS,
    "family split wines Deep Fennmoor:FM012": ARRAYS,
    "family sort wines": ARRAYS,
    "family tidy --json": ARRAYS,
    "family check --json": ARRAYS,
    "family remove Spare": ARRAYS,
    "arrangement new Box": ARRAYS,
    "arrangement list --json": ARRAYS,
    "arrangement use mine": STORE,
    "arrangement copy mine Other": ARRAYS,
    "arrangement remove mine": STORE,
    "arrangement export out.csv": ARRAYS,
    "arrangement apply filed.csv": ARRAYS,
    f"blend {TWO} --step 30": SHOWN,
    f"blend {TWO} --step 30 --json": ARRAYS,
    "gaps": SHOWN,
    "gaps --json": ARRAYS,
    "translate list.csv": SHOWN | {"scipy"},
    "translate list.csv --json": ARRAYS | {"scipy"},
    "table --from Quillet --to Fennmoor": SHOWN,
    "table --from Quillet --to Fennmoor --json": ARRAYS,
    "table --from Quillet --to Fennmoor --json --jobs 2": ARRAYS,
    "palette photo.png out.csv": SHOWN
    | {"PIL", "scipy", "joblib", "sklearn", "pandas", "defusedxml"},
    "palette photo.png out.csv --json --pencils 3": ARRAYS | {"PIL", "defusedxml"},
    "kit --size 60 --json": ARRAYS | {"scipy"},
    "holes --json": ARRAYS,
    "shop --blends blends.csv --no-layers": SHOWN | {"scipy"},
    "range import range.csv --name Mine": SHOWN,
    "range import range.csv --name Mine --white D65": ADAPTED | SHOWN,
    "range import range.xlsx --name Mine": WORKBOOK | SHOWN,
    "range template sheet.xlsx": STORE,
    "range list": SHOWN,
    "range show Fennmoor": SHOWN,
    "range check Fennmoor": SHOWN,
    f"range shift Fennmoor Brindlewick {PAIRS}": SHOWN | {"scipy"},
    "range export Fennmoor out.csv": STORE,
    "range export Fennmoor out.xlsx": ARRAYS,
    "range remove Quillet": STORE,
    "swatch add Own X1 --new-range --lab 50 10 10": ARRAYS,
    "swatch edit Fennmoor FM010 --name Other": ARRAYS,
    "swatch remove Fennmoor FM011": STORE,
    "own Fennmoor:FM010": STORE,
    "disown Fennmoor:FM010": STORE,
    "settings": SHOWN,
    "settings step soft": ARRAYS,
    "undo": STORE,
    "redo": STORE,
    "library check": STORE,
    "history --json": ARRAYS,
    "backup out.sqlite": STORE,
    "restore copy.sqlite": STORE,
    "chart chart.pdf --range Quillet": DRAWN,
    "plot plot.png --kind lightness": DRAWN,
    f"plot plot.svg --kind blend --from {TWO.replace(' ', ' --to ')}": DRAWN,
    "sheet page.html --for match Fennmoor:FM010": WRITTEN,
    "pocket page.html --no-recipes": WRITTEN,
    "guide": {"click", "numpy", "rich"},
    "guide layering": {"click", "rich", "jinja2"},
    "guide --html guide.html": WRITTEN | {"rich"},
    "demo": ADAPTED | SHOWN,
    "schema match": {"click"},
    "completion bash": {"click"},
    "desk --icon pencils.desktop": ARRAYS,
}


@pytest.fixture(scope="module")
def desk(demo_library, tmp_path_factory):
    """A folder with a library, a copy of it, a range to import and layered swatches."""
    folder = tmp_path_factory.mktemp("desk")
    for name in ("library.sqlite", "copy.sqlite"):
        shutil.copy(demo_library, folder / name)
    place = ["--library", str(folder / "library.sqlite")]
    assert run([*place, "family", "move", "Fennmoor:FM012", "wines"]) == 0
    assert run([*place, "family", "new", "Spare"]) == 0
    (folder / "filed.csv").write_text("pencil,family\nFennmoor:FM012,reds\n", encoding="utf-8")
    assert run([*place, "paper", "add", "Kraft", "--colour", "tan"]) == 0
    for name in ("layered.csv", "blends.csv"):
        shutil.copy(datasets() / name, folder)
    (folder / "list.csv").write_text("colour\nFennmoor:FM020\n#c04a2b\n", encoding="utf-8")
    columns = {
        "code": ["A1", "A2"],
        "name": ["One", "Two"],
        "L": [50, 60],
        "a": [9, 8],
        "b": [7, 6],
    }
    pandas.DataFrame(columns).to_csv(folder / "range.csv", index=False)
    Image.linear_gradient("L").convert("RGB").save(folder / "photo.png")
    (folder / "page.png").write_bytes(coloured_page(folder / "library.sqlite"))
    pandas.DataFrame(columns).to_excel(folder / "range.xlsx", index=False)
    return folder


def imported(code, folder):
    """Modules of OUTSIDE that are loaded once `code` has run in a fresh interpreter."""
    code += "\nimport sys; print('LOADED', *{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=folder)
    assert done.returncode == 0, done.stderr
    return OUTSIDE & set(done.stdout.splitlines()[-1].split()[1:])


ALIKE = {}
for command, allowed in TABLE.items():
    ALIKE.setdefault(frozenset(allowed), []).append(command)

RUN_EACH = """
import os, sys
from stopgap.cli.program import run
for folder, words in commands:
    os.chdir(folder)
    assert run(words) in (0, 3), words  # 3 is an answer
    told = {name.partition(".")[0] for name in sys.modules} - allowed
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


def test_match_loads_nothing_that_only_blends_or_masked_arrays_need(desk):
    code = """
from stopgap.cli.program import run
assert run(["--library", "library.sqlite", "match", "Fennmoor:FM010", "--json"]) == 0
import sys
print("LOADED", *{"stopgap.blends", "numpy.ma"} & sys.modules.keys())"""
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
    listed = {name for name in commands for row in TABLE if f"{row} ".startswith(f"{name} ")}
    assert listed == commands


def names_below(command, path=()):
    if not isinstance(command, click.Group):
        yield " ".join(path)
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        yield from names_below(command.get_command(context, name), (*path, name))


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
