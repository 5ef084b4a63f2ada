"""Every command of the program: what somebody types, and what it may import from outside.

`lay_out` makes a folder in which each row can be run; `fill_small` makes a library just for that.
"""

import re
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click
import pandas
from coloured import coloured_page
from PIL import Image

from stopgap.cli.program import run
from stopgap.library import (
    DEMO_RANGES,
    Convention,
    Library,
    datasets,
    import_range,
    read_range,
)
from stopgap.swatches import Source

LISTS = ("layered.csv", "blends.csv")
FILES = {
    "filed.csv": "pencil,family\nFennmoor:FM012,reds\n",
    "list.csv": "colour\nFennmoor:FM020\n#c04a2b\n",
}

OUTSIDE = {
    *("PIL", "click", "colour", "dask", "defusedxml", "jinja2", "joblib", "matplotlib", "numba"),
    *("networkx", "numpy", "odf", "openpyxl", "pandas", "reportlab", "rich", "scipy", "sklearn"),
    *("python_calamine", "sqlite3", "colour_cxf", "xsdata", "fontTools", "highspy", "markdown_it"),
    *("starlette", "uvicorn", "zxingcpp", "numpy.ma"),
}
STORE = {"click", "sqlite3"}
ARRAYS = STORE | {"numpy"}
SHOWN = ARRAYS | {"rich"}
WRITTEN = ARRAYS | {"jinja2"}
DRAWN = ARRAYS | {
    "matplotlib",
    "numpy.ma",
    "PIL",
    "defusedxml",
}  # the last by older releases of PIL
PRINTED = DRAWN | {"fontTools"}  # which embeds letters
CHART = PRINTED | {"zxingcpp"}
WORKBOOK = ARRAYS | {"python_calamine"}

TWO = "Fennmoor:FM010 Brindlewick:BW01"
PAIRS = " ".join(f"--pair FM00{place}=BW0{place}" for place in range(1, 7))
ROWS: dict[str, set[str]] = {
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
    "scan page.png --device flatbed --json": ARRAYS | {"numpy.ma", "PIL", "zxingcpp", "defusedxml"},
    "calibrate layered.csv": SHOWN,
    "match Fennmoor:FM010 --json --on tan": ARRAYS,
    "match Fennmoor:FM010 --json --under F11": ARRAYS,
    "match Brindlewick:BW01 --json --under LED": ARRAYS,
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
    "family check --json": ARRAYS | {"numpy.ma"},
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
    "translate list.csv --json --keep-order": ARRAYS | {"scipy"},
    "table --from Quillet --to Fennmoor": SHOWN,
    "table --from Quillet --to Fennmoor --json": ARRAYS,
    "table --from Quillet --to Fennmoor --json --jobs 2": ARRAYS,
    "palette photo.png out.csv": SHOWN
    | {"numpy.ma", "PIL", "scipy", "joblib", "sklearn", "pandas", "defusedxml"},
    "palette photo.png out.csv --json --pencils 3": ARRAYS | {"PIL", "defusedxml"},
    "kit --size 12 --json": ARRAYS | {"highspy"},
    "holes --json": ARRAYS,
    "shop --blends blends.csv --no-layers": SHOWN | {"highspy"},
    "range import range.csv --name Mine": SHOWN,
    "range import range.csv --name Mine --white D65": SHOWN,
    "range import range.xlsx --name Mine": WORKBOOK | SHOWN,
    "range template sheet.xlsx": STORE,
    "range list": SHOWN,
    "range show Fennmoor": SHOWN,
    "range check Fennmoor": SHOWN,
    f"range shift Fennmoor Brindlewick {PAIRS}": SHOWN | {"numpy.ma", "scipy"},
    "range export Fennmoor out.csv": STORE,
    "range export Fennmoor out.xlsx": ARRAYS,
    "range export Fennmoor out.cxf": ARRAYS | {"colour_cxf", "xsdata"},
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
    "chart chart.pdf --range Quillet": CHART,
    "chart card.pdf --card Fennmoor:FM012 Brindlewick:BW02": CHART,
    "plot plot.png --kind lightness": PRINTED,
    f"plot plot.svg --kind blend --from {TWO.replace(' ', ' --to ')}": PRINTED,
    "sheet page.html --for match Fennmoor:FM010": WRITTEN,
    "sheet page.html": WRITTEN,
    "pocket page.html --no-recipes": WRITTEN,
    "guide": {"click", "numpy", "rich", "markdown_it"},
    "guide layering": {"click", "rich", "jinja2", "markdown_it"},
    "guide --html guide.html": WRITTEN | {"rich", "markdown_it"},
    "demo": SHOWN,
    "schema match": {"click"},
    "completion bash": {"click"},
    "desk --icon pencils.desktop": ARRAYS,
}
"""What is typed, and the packages of OUTSIDE that it may import."""

COLUMNS = {"code": ["A1", "A2"], "name": ["One", "Two"], "L": [50, 60], "a": [9, 8], "b": [7, 6]}


def lay_out(folder: Path, library: Path) -> None:
    """Into `folder`: the library and a copy of it, and the files that rows name."""
    for name in ("library.sqlite", "copy.sqlite"):
        shutil.copy(library, folder / name)
    place = ["--quiet", "--library", str(folder / "library.sqlite")]
    for told in (
        ("family", "move", "Fennmoor:FM012", "wines"),
        ("family", "new", "Spare"),
        ("paper", "add", "Kraft", "--colour", "tan"),
    ):
        assert run([*place, *told]) == 0, told
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    for name in LISTS:
        shutil.copy(datasets() / name, folder)
    pandas.DataFrame(COLUMNS).to_csv(folder / "range.csv", index=False)
    pandas.DataFrame(COLUMNS).to_excel(folder / "range.xlsx", index=False)
    Image.linear_gradient("L").convert("RGB").save(folder / "photo.png")
    (folder / "page.png").write_bytes(coloured_page(folder / "library.sqlite"))


def fill_small(library: Library) -> None:
    """Twelve pencils of each of the demo's ranges and those that rows name, half of them owned."""
    named = " ".join(
        (*ROWS, *FILES.values(), *((datasets() / name).read_text("utf-8") for name in LISTS))
    )
    with tempfile.TemporaryDirectory() as folder:
        for name, file in DEMO_RANGES.items():
            head, *rows = (datasets() / file).read_text("utf-8").splitlines(keepends=True)
            codes = set(re.findall(rf"{name}:(\w+)", named))
            kept = [
                row for row in rows if rows.index(row) < 12 or re.split("[,;]", row)[0] in codes
            ]
            (Path(folder) / file).write_text(head + "".join(kept), encoding="utf-8")
            convention = Convention("D50", 2, Source.MEASURED)
            import_range(library, read_range(Path(folder) / file, name, convention))
        library.decide(library.swatches()[::2], {"owned": 1}, "every other one")


def names_below(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[str]:
    """What is typed for each command of a group, those of its groups with their group's name."""
    if not isinstance(command, click.Group):
        yield " ".join(path)
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        below = command.get_command(context, name)
        assert below is not None
        yield from names_below(below, (*path, name))
