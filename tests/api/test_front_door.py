"""What `import stopgap` gives: the questions of the commands, asked with text, swatches or Lab."""

import ast
import doctest
import inspect
import json
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from types import FunctionType, ModuleType
from typing import get_args

import colour
import numpy as np
import pytest

import stopgap
from stopgap.errors import InputError, LibraryError, StopgapError, UnknownSwatchError, UsageError
from stopgap.reports import RENDERERS, answers
from stopgap.reports.manual import find_topic

pytestmark = pytest.mark.slow

API = Path(stopgap.__file__).parent / "api"
MODULES = sorted(f"stopgap.api.{path.stem}" for path in API.glob("*.py"))


@pytest.fixture(scope="module")
def library(demo_library):
    with stopgap.open_library(demo_library, read_only=True) as opened:
        yield opened


@pytest.fixture(scope="module")
def swatches(library):
    return library.swatches()


@pytest.fixture
def told(demo_library, capsys):
    """What a command answers in JSON."""
    from stopgap.cli.program import run

    def call(*words):
        capsys.readouterr()
        run(["--library", str(demo_library), *words, "--json"])
        return json.loads(capsys.readouterr().out)

    return call


LAB = "lab(55.5 -12.25 8.75)"
BLENDS = "name,from,to\ndusk,FM113,FM112\n"
SAME = {
    "match": (
        ["match", LAB, "--limit", "4"],
        lambda library, _: answers.stand_ins_report(stopgap.match(LAB, library, limit=4)),
        "matches",
    ),
    "match, to be replaced": (
        ["match", "FM017", "--replace", "--on", "tan"],
        lambda library, _: answers.stand_ins_report(
            stopgap.match("FM017", library, instead="replace", on="tan")
        ),
        "matches",
    ),
    "layer": (
        ["layer", "FM003", "FM013", "--pressure", "light"],
        lambda library, _: answers.layered_report(
            stopgap.layer("FM003 light", "FM013", swatches=library)
        ),
        "lab",
    ),
    "translate": (
        ["translate", "list.csv", "--no-layers"],
        lambda library, folder: answers.translation_report(
            stopgap.translate(folder / "list.csv", library, layers=False)
        ),
        "rows",
    ),
    "blend": (
        ["blend", "FM113", LAB, "--no-layers", "--step", "15"],
        lambda library, _: answers.blend_report(
            stopgap.blend("FM113", [55.5, -12.25, 8.75], library, layers=False, step=15)
        ),
        "steps",
    ),
    "gaps": (
        ["gaps", "blends.csv", "--no-layers"],
        lambda library, _: answers.gaps_report(
            stopgap.gaps(library, [("dusk", "FM113", "FM112")], layers=False)
        ),
        "gaps",
    ),
    "shop": (
        ["shop", "--for", "FM058", "--no-layers", "--budget", "9"],
        lambda library, _: answers.shopping_report(
            stopgap.shop(library, colours=["FM058"], layers=False, budget=9)
        ),
        "buy",
    ),
    "families": (
        ["family", "muted roses", "--range", "Fennmoor"],
        lambda library, _: answers.families_report(
            stopgap.families(library, "muted roses", ranges=["fennmoor"]), whole=True
        ),
        "families",
    ),
    "families by colour": (
        ["family", "--by-colour", "--owned", "--within", "5"],
        lambda library, _: answers.families_report(
            stopgap.families(library, by_colour=True, within=5.0, owned=True), whole=True
        ),
        "families",
    ),
    "layer, of what lays well": (
        ["layer", "FM003", "FM013", "--for-laydown"],
        lambda library, _: answers.layered_report(
            stopgap.layer("FM003", "FM013", swatches=library, for_laydown=True)
        ),
        "lab",
    ),
}


@pytest.mark.parametrize("question", SAME)
def test_an_answer_is_the_commands_own(question, library, told, tmp_path, monkeypatch):
    words, ask, field = SAME[question]
    monkeypatch.chdir(tmp_path)
    Path("list.csv").write_text("colour\nFM020\n#c04a2b\n", encoding="utf-8")
    Path("blends.csv").write_text(BLENDS, encoding="utf-8")
    report = ask(library, tmp_path)
    assert json.loads(RENDERERS["json"](report))[field] == told(*words)[field]


def test_text_a_swatch_and_lab_ask_alike(swatches):
    one = swatches[16]
    lab = f"lab({' '.join(map(repr, one.lab))})"
    for asked in (lab, list(one.lab), np.array(one.lab), stopgap.target(list(one.lab))):
        assert stopgap.target(asked).lab == one.lab
        assert stopgap.match(asked, swatches).matches[0].delta_E == 0.0
    for asked in (one.address, one):
        assert stopgap.target(asked, swatches) is one
        assert stopgap.match(asked, swatches).matches[0].swatch is not one


def test_pencils_come_as_a_library_ranges_swatches_colours_or_a_frame(library, swatches):
    asked = [52.0, 40.0, 30.0]
    ranges = library.ranges()
    sources = (library, swatches, iter(swatches), ranges, stopgap.to_frame(swatches))
    codes = [stopgap.match(asked, each).matches[0].swatch.address for each in sources]
    assert len(set(codes)) == 1
    bare = stopgap.match(asked, np.array([swatch.lab for swatch in swatches])).matches[0].swatch
    assert bare.range == "colours"
    assert stopgap.match(asked, ranges[0], layers=False).matches[0].swatch.range == "Fennmoor"


def test_where_nothing_is_owned_everything_is(swatches):
    labs = [[50.0, 0.0, 0.0], [60.0, -10.0, 5.5]]
    found = stopgap.translate([[61.0, -9.0, 5.0]], labs, layers=False)
    assert found.rows[0].given.label == "colours:2"


def test_what_nobody_knows_of_a_list_stays_in_it(library):
    found = stopgap.translate(["FM020", ("no such", "sky")], library, layers=False)
    assert [row.asked.caption for row in found.without] == ["sky"]
    with pytest.raises(InputError, match="no such"):
        stopgap.shop(library, colours=["no such"])
    with pytest.raises(UnknownSwatchError):
        stopgap.match("no such", library)


def test_a_scan_is_the_commands_own(scanned, tmp_path, capsys):
    """What the command answers and keeps of the same page, and what `stopgap.scan` does."""
    from stopgap.cli.program import run
    from stopgap.cli.remedies import note_words

    library, page = tmp_path / "library.sqlite", tmp_path / "picture 1"
    library.write_bytes(scanned.before)
    page.write_bytes(scanned.page)
    capsys.readouterr()
    words = ("scan", str(page), "--device", "flatbed", "--replace-measured", "--json")
    assert run(["--library", str(library), *words]) == 0
    told = json.loads(capsys.readouterr().out)
    assert json.loads(RENDERERS["json"](answers.scan_report(scanned.found, note_words))) == told
    assert told["stored"] == len(scanned.found.kept) == 4
    with stopgap.open_library(library, read_only=True) as opened:
        kept = [one for one in opened.swatches() if one.source == "scanned"]
    assert [(one.code, one.lab) for one in kept] == [
        (one.code, one.lab) for one in scanned.found.kept
    ]
    assert kept == [one for one in scanned.swatches if one.source == "scanned"]


def test_what_was_read_is_pencils_and_a_frame(scanned):
    """Flat colours by sRGB come back within what a flatbed is said to err by (design: 0.8, 1.5)."""
    found = scanned.found
    drawn = {one.address: one.lab for one in scanned.drawn}
    for one in found.kept:
        off = colour.delta_E(drawn[one.address], one.lab, method="CIE 2000")
        assert off < 2.0 * np.hypot(0.8, 1.5)
        assert 0.0 < one.uncertainty < one.shared_uncertainty
    nearest = stopgap.match(drawn["Quillet:Q5"], found.kept, layers=False).matches[0]
    assert nearest.swatch.code == "Q5"
    frame = stopgap.to_frame(found)
    assert frame["kept"].sum() == 4
    there = stopgap.from_frame(stopgap.to_frame(found.kept))
    assert [replace(one, measurement=two.measurement) for one, two in zip(there, found.kept)] == [
        *found.kept
    ]


def test_a_scan_that_cannot_be_kept_or_read_changes_nothing(scanned, tmp_path):
    path = tmp_path / "library.sqlite"
    path.write_bytes(scanned.before)
    with stopgap.open_library(path) as library:
        look = stopgap.scan(library, scanned.page, store=False, replace_measured=True)
        assert (look.stored, len(look.kept)) == (False, 4)
        for wrong in (5, [], [scanned.page, 5], None, b"no picture", "no such.png", [path]):
            with pytest.raises(StopgapError):
                stopgap.scan(library, wrong)
        with pytest.raises(UsageError):
            stopgap.scan(library, scanned.page, device="camera")
        with pytest.raises(UnknownSwatchError):
            stopgap.scan(library, scanned.page, anchors=["no such"])
        with pytest.raises(InputError, match="expected an open library"):
            stopgap.scan(scanned.drawn, scanned.page)
        assert not any(one.source == "scanned" for one in library.swatches())
    with stopgap.open_library(path, read_only=True) as library, pytest.raises(LibraryError):
        stopgap.scan(library, scanned.page, replace_measured=True)


WRONG = [5, object(), [1, 2], b"text", float("nan"), {"a": 1}, [[1, 2, 3]]]


@pytest.mark.parametrize("wrong", WRONG)
def test_wrong_types_are_told_as_errors_of_the_project(wrong, library):
    for ask in (
        lambda: stopgap.target(wrong),
        lambda: stopgap.match(wrong, library),
        lambda: stopgap.match("#ffffff", [*library.swatches(), wrong]),
        lambda: stopgap.match("#ffffff", library, limit=-1 if wrong == 5 else wrong),
        lambda: stopgap.layer(wrong, swatches=library),
        lambda: stopgap.blend(wrong, "FM112", library),
        lambda: stopgap.gaps(library, [wrong]),
        lambda: stopgap.shop(library, colours=[wrong]),
        lambda: stopgap.import_range(library, wrong, "New"),
        lambda: stopgap.from_frame(wrong),
    ):
        with pytest.raises(StopgapError):
            ask()


ASKED = {
    "match": lambda pencils, **which: stopgap.match("#7f9a8c", pencils, **which),
    "layer": lambda pencils, **which: stopgap.layer(*pencils[:2], **{"swatches": pencils} | which),
    "translate": lambda pencils, **which: stopgap.translate(["#7f9a8c"], pencils, **which),
    "blend": lambda pencils, **which: stopgap.blend("#403020", "#e0d8c0", pencils, **which),
    "gaps": lambda pencils, **which: stopgap.gaps(pencils, **which),
    "shop": lambda pencils, **which: stopgap.shop(pencils, colours=["#7f9a8c"], **which),
    "families": lambda pencils, **which: stopgap.families(pencils, **which),
}
ANYTHING = {"gaps": {"blends"}, "shop": {"blends", "colours"}, "layer": {"swatches"}}


@pytest.mark.parametrize("question", ASKED)
def test_no_argument_of_a_wrong_type_is_taken_or_ends_otherwise(question, swatches):
    signature = inspect.signature(getattr(stopgap, question)).parameters
    named = {name for name, one in signature.items() if one.default is not one.empty}
    (which,) = get_args(signature["which"].annotation)
    for name in sorted((named | which.__annotations__.keys()) - ANYTHING.get(question, set())):
        for wrong in (object(), {"a": 1}, b"text", [object()], float("nan"), -7):
            with pytest.raises(StopgapError):
                ASKED[question](swatches[:20], **{name: wrong})


def test_one_text_stands_for_a_list_of_one(swatches):
    one, several = (
        stopgap.match("#7f9a8c", swatches, layers=False, under=under, ranges=ranges)
        for under, ranges in (("LED-B3", "Quillet"), (["LED-B3"], ["Quillet"]))
    )
    assert one == several
    assert {found.swatch.range for found in one.matches} == {"Quillet"}


@pytest.mark.parametrize("wrong", [5, None, b"library.sqlite", ["library.sqlite"]])
def test_a_library_is_a_file(wrong):
    with pytest.raises(InputError, match="path: expected a file"):
        stopgap.open_library(wrong)


def test_an_argument_that_nobody_knows_is_refused(library):
    with pytest.raises(InputError, match="colour_of_paper: expected one of owned"):
        stopgap.match("#ffffff", library, colour_of_paper="tan")
    with pytest.raises(InputError, match="grain: expected one of smooth"):
        stopgap.match("#ffffff", library, grain="silk")
    with pytest.raises(InputError, match="finishes: expected one of plain"):
        stopgap.match("#ffffff", library, finishes=["matt"])


def test_a_range_comes_in_by_a_frame_or_a_file(tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text("code,name,L,a,b\nA1,Kelp,40,-10,20\n", encoding="utf-8")
    with stopgap.open_library(tmp_path / "library.sqlite") as library:
        assert stopgap.import_range(library, file, "File").added == ("A1",)
        frame = stopgap.to_frame(library.ranges()[0])
        assert stopgap.import_range(library, frame, "Frame").added == ("A1",)
        assert len({swatch.lab for swatch in library.swatches()}) == 1
        with pytest.raises(InputError, match="in the library already"):
            stopgap.import_range(library, frame, "Frame")


@pytest.mark.parametrize("module", MODULES)
@pytest.mark.filterwarnings("ignore")
def test_examples_run(module):
    done = doctest.testmod(import_module(module))
    assert not done.failed


def test_every_public_name_is_told_on_one_page_of_the_manual():
    page = find_topic("api", {}).text
    for name in stopgap.__all__:
        said = page.partition(f"\n## stopgap.{name}\n")[2].partition("\n## ")[0]
        assert said.strip(), name
        value = getattr(stopgap, name)
        if not isinstance(value, ModuleType):
            summary = value.__doc__.partition("\n\n")[0]
            told = " ".join(summary.split()).replace("*", r"\*")
            assert told in " ".join(said.split()), name
        if isinstance(value, FunctionType) and value.__module__.startswith("stopgap.api."):
            for heading in ("**Raises**", "**Examples**", "```pycon\n>>> import stopgap"):
                assert heading in said, (name, heading)
        else:
            for inner in getattr(value, "__all__", ()):
                assert f"- `{inner}`" in said


def test_a_script_that_is_checked_for_types_uses_every_name():
    tree = ast.parse((Path(__file__).parent / "every_name.py").read_text(encoding="utf-8"))
    used = {
        node.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == "stopgap"
    }
    assert set(stopgap.__all__) <= used
