"""`python tests/faults/fuzz_readers.py [FIRST:END] [--tally FILE] [READER …]`: damaged input.

A seed is 250 inputs of every reader or of those named; 200 seeds by default. Each is refused in a
sentence or read: no other exception, nothing on standard output or standard error, no crash, below
500 MB, and a file that was only cut off never reads as less.
"""

import io
import json
import os
import random
import resource
import subprocess
import sys
import zipfile
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import cache, partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np
from fuzzing import WORDS, batch, changed, folder_in_memory, given, tried
from long_runs import asked, run

from stopgap.cli.session import Session
from stopgap.cli.settings import checked_settings
from stopgap.colorimetry import parse_colour
from stopgap.errors import StopgapError
from stopgap.library import (
    STANDARD,
    Convention,
    NameIndex,
    apply_filing,
    export_range,
    find_layer,
    find_several,
    find_target,
    find_targets,
    known_rows,
    mapping_in,
    propose_range,
    read_blends,
    read_filing,
    read_layered,
    read_list,
    read_patches,
    read_range,
    read_table,
    search_pencils,
    spread,
)
from stopgap.library.tables.formats import FORMATS, calamine_rows, gate
from stopgap.planner import RecipeCache
from stopgap.planner.recipes import cache as kept
from stopgap.scanning.picture import open_images, picture_of
from stopgap.swatches import Arrangement, Pressure, Swatch

_LIBRARY = Path(__file__).parents[1] / "library"
_ROWS = 7  # of a messy file in CSV; more cost time and tell nothing
_MEMORY_OF_XLS = 48 * 2**20  # bytes; the process of its own has more to be filled in vain
_CUT_SHOWS = ("XLSX", "ODS", "XLS", "CGATS", "CxF")  # in CSV nothing says where it ends
_PENCILS = [
    Swatch("Fen", "007", (45.2, -1.5, 0.1 + 0.2), name="Kelp", note="=1+1", price=2.5),
    Swatch("Fen", "8", (60.0, 0.0, -0.25), name="Möwe ✓", extra={"Tin": "upper"}),
    Swatch("Tide pool", "A-12", (52.0, 40.0, 30.0), name="Dark olive", extra={"also": "Kelp 9"}),
]


class Reader(NamedTuple):
    """What it begins with, how that is damaged, and what reads it; refused where that raises."""

    whole: Sequence[bytes]
    read: Callable[[bytes], object]
    words: Sequence[bytes] = WORDS


def outcome(name: str, number: int) -> str:
    """What becomes of one damaged input."""
    reader = readers()[name]
    rng = random.Random(f"{name} {number}")
    place = rng.randrange(len(reader.whole))
    data, cut = damaged(reader.whole[place], rng, reader.words)
    try:
        found = reader.read(data)
    except StopgapError as error:
        assert str(error).endswith((".", ")", "?")), f"no sentence: {error}"  # noqa: PT017
        return "refused"
    if cut and name in _CUT_SHOWS:
        assert found == _as_read(name, place), "less than the whole file"
    return "read"


@cache
def _as_read(name: str, place: int) -> object:
    reader = readers()[name]
    return reader.read(reader.whole[place])


def damaged(whole: bytes, rng: random.Random, words: Sequence[bytes]) -> tuple[bytes, bool]:
    """Input damaged somewhere, and whether it was only cut off."""
    if rng.random() < 0.1:
        return whole[: rng.randrange(len(whole))], True
    if whole.startswith(b"PK") and rng.random() < 0.9:
        return _damaged_part(whole, rng), False
    return changed(whole, rng, words), False


def _damaged_part(whole: bytes, rng: random.Random) -> bytes:
    parts = dict(_parts(whole))
    for _ in range(rng.randint(1, 2)):
        name = rng.choice([name for name in parts if parts[name]])
        parts[name] = changed(parts[name], rng)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return stream.getvalue()


@cache
def _parts(whole: bytes) -> tuple[tuple[str, bytes], ...]:
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        return tuple((name, archive.read(name)) for name in archive.namelist())


def _range(data: bytes) -> object:
    """A file of pencils, as it is looked at and as it is imported; its table."""
    given(data)
    table = read_table(STANDARD)
    with suppress(StopgapError):
        given(data)
        assert propose_range(STANDARD, "Fen", Convention()).draft.swatches
    given(data)
    read_range(STANDARD, "Fen", Convention())
    return table.header, table.rows


def _file(read: Callable[[Path], object], data: bytes) -> None:
    given(data)
    read(STANDARD)


def _list(path: Path) -> None:
    known_rows(spread(read_list(path), _index()), _index())


def _blends(path: Path) -> None:
    find_targets(read_blends(path), _index())


def _filing(path: Path) -> None:
    apply_filing(Arrangement("Mine"), read_filing(path, _PENCILS))


@cache
def _index() -> NameIndex:
    return NameIndex(_PENCILS)


def _words_typed(data: bytes) -> None:
    """A colour, a pencil, several or one laid so, or words to search for, as somebody types it."""
    text = data.decode("utf-8", "surrogateescape")
    refusals: list[StopgapError] = []
    for read in (find_several, find_layer, find_target):
        try:
            read(text, _index())
        except StopgapError as error:
            refusals.append(error)
    search_pencils(text, _PENCILS)
    parse_colour(text, bare=True)
    if refusals:
        raise refusals[-1]


@cache
def _folder() -> Path:
    return folder_in_memory()


def _settings(data: bytes) -> None:
    path = _folder() / f"{os.getpid()}.toml"
    path.write_bytes(data)
    current = Session()
    current.settings_path = path
    checked_settings(current)


_MADE_FROM = np.arange(4.0)
_ARRAYS = {"lab": np.arange(6.0).reshape(2, 3), "pair": np.array([[0, 1]], dtype=np.int32)}


def _recipes(data: bytes) -> None:
    """Kept recipes, half of them with a length and check sum that fit."""
    cache_there = RecipeCache(_folder() / f"{os.getpid()}")
    if len(data) % 2:
        _, _, rest = data.partition(b"\n")
        data = kept._first_line(len(rest), kept.crc32(rest, cache_there._start())) + rest
    cache_there.write(_MADE_FROM, {})
    cache_there._file(_MADE_FROM).write_bytes(data)
    cache_there.read(_MADE_FROM)


def _pictures(data: bytes) -> None:
    for opened in open_images(io.BytesIO(data), "page.png"):
        picture = picture_of(opened, "page.png")
        picture.decode(picture.values.reshape(-1, 3)[:4])


def _drawn() -> list[bytes]:
    """Small pictures of every format, one with a profile, one of two pages."""
    from PIL import Image, ImageCms

    pages = [Image.new("RGB", (16, 12), colour) for colour in ("tan", "navy")]
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    found = []
    for form, more in (
        ("PNG", {"icc_profile": profile}),
        ("JPEG", {"icc_profile": profile}),
        ("TIFF", {"save_all": True, "append_images": pages[1:]}),
    ):
        stream = io.BytesIO()
        pages[0].save(stream, form, **more)
        found.append(stream.getvalue())
    return found


def _ods() -> bytes:
    sys.path.insert(0, str(_LIBRARY))
    from workbook_parts import ods, ods_number, ods_row, ods_text

    heads = [ods_text(f"<text:p>{title}</text:p>") for title in ("code", "L", "a", "b", "note")]
    row = (ods_text("<text:p>007</text:p>"), *map(ods_number, (50, 1, -2.5)))
    note = ods_text('<text:p>a<text:s text:c="2"/>b<text:tab/></text:p>')
    return ods(
        ods_row(*heads) + ods_row(*row, note) + ods_row("<table:table-cell/>", repeated="1048000")
    )


_MESSY = {
    "CSV": ("31-de.csv", "23-fr.csv", "60-en.csv"),
    "XLSX": ("03-en.xlsx",),
    "ODS": ("09-en.ods",),
    "XLS": ("36-en.xls",),
}
_TYPED = (
    *("Fen:007", "fen 7", "Kelp", "Möwe ✓", "#c04a2b", "c04a2b", "#abc", "lab(52% 40 30)"),
    *("rgb(192, 74, 43)", "52,5 40 30", "dark olive", "Fen:001-010", "Tide pool:A-12 medium", "8"),
)
_CODED = [text.encode() for text in _TYPED]


@cache
def readers() -> dict[str, Reader]:
    """Every reader of what others may have made, by name."""
    own = {
        form: (row.write and export_range(_PENCILS[:2], form)) or _ods()
        for form, row in FORMATS.items()
    }
    own["XLS"] = (_LIBRARY / "data" / "pencils.xls").read_bytes()
    messy = {
        form: [(_LIBRARY / "messy" / name).read_bytes() for name in names]
        for form, names in _MESSY.items()
    }
    messy["CSV"] = [b"\n".join(whole.split(b"\n")[:_ROWS]) for whole in messy["CSV"]]
    ranges = {form: (whole, *messy.get(form, ())) for form, whole in own.items()}
    lists = b"colour,label,weight\nFen:007,sky,2\n#c04a2b,rust,\nlab(52 40 30),,0.5\n"
    blends = b"name,from,to,step,via\nsky,Fen:007,#c04a2b,12,Fen:8; Kelp\nsea,8,7,soft,\n"
    layered = (
        b"first,second,first_pressure,second_pressure,L,a,b,over\n"
        b"Fen:007,Fen:8,heavy,medium,40,1,2,#ffffff\nKelp,,light,,70,0,0,\n"
    )
    filing = (
        b"pencil,family,place,section,family_note,yours\n"
        b"Fen:007,browns,1,warm,mine,yes\nFen:8,greys,2,,,no\nFen:8,browns,also,,,\n"
    )
    patches = b"page,across,down,size,L,a,b,uncertainty\n1,20,30,8,50,1,2,0.4\n1,40,30,8,60,0,0,\n"
    mapping = b"column,means\nFarbe,name\nNr.,code\nC,leave out\nR400,nm400\n"
    settings = (
        b'paper = "Kraft"\nstep = "soft"\nlamps = ["A", "LED-B3"]\nfor-sale = "yes"\n'
        b'layer-with = "any"\ncurrency = "EUR"\nlibrary = "/tmp/x.sqlite"\n'
    )
    start = kept._packed({kept._MADE_FROM: _MADE_FROM, **_ARRAYS}, 0)
    layers = partial(read_layered, swatches=_PENCILS, pressures=tuple(Pressure))
    return {
        **{form: Reader(whole, _range) for form, whole in ranges.items()},
        "lists": Reader([lists, own["CGATS"]], partial(_file, _list)),
        "blends": Reader([blends], partial(_file, _blends)),
        "layered": Reader([layered], partial(_file, layers)),
        "filing": Reader([filing], partial(_file, _filing)),
        "patches": Reader([patches], partial(_file, read_patches)),
        "mapping": Reader(
            [mapping], partial(_file, lambda path: mapping_in(read_table(path), "m"))
        ),
        "typed": Reader(_CODED, _words_typed, (*WORDS, *_CODED)),
        "settings": Reader([settings], _settings),
        "recipes": Reader([b"".join(start)], _recipes),
        "pictures": Reader(_drawn(), _pictures),
    }


def in_a_fork(_command: object, *, input: bytes, **_more: Any) -> SimpleNamespace:  # noqa: A002
    """What the process with limits makes of an XLS, without a Python that is started for it."""
    there, here = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, [calamine_rows.MOST_SECONDS] * 2)
        found = in_this_process(_command, input=input)
        with os.fdopen(here, "wb") as stream:
            stream.write(found.stdout)
        os._exit(found.returncode)
    os.close(here)
    with os.fdopen(there, "rb") as stream:
        output = stream.read()
    return SimpleNamespace(returncode=os.waitpid(child, 0)[1], stdout=output)


def in_this_process(
    _command: object,
    *,
    input: bytes,  # noqa: A002
    **_more: Any,
) -> SimpleNamespace:
    """The same within this process, which it may end."""
    memory = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (memory + _MEMORY_OF_XLS, most))
    error, nothing = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 2)  # as nobody sees what it says of a panic
    try:
        found = json.dumps(calamine_rows.sheet_rows(input, None, gate.MOST_CELLS)).encode()
    except calamine_rows.Unreadable:
        return SimpleNamespace(returncode=3, stdout=b"")
    finally:
        os.dup2(error, 2)
        os.close(error)
        os.close(nothing)
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
    return SimpleNamespace(returncode=0, stdout=found)


def _with(process: Callable[..., SimpleNamespace], name: str) -> Callable[[int], str]:
    """Outcomes where XLS is read in another process than usual."""

    def found(number: int) -> str:
        subprocess.run = process  # type: ignore[assignment]
        return outcome(name, number)

    return found


def main() -> int:
    """Every reader, or those that are named; how many batches were faults."""
    to_try = asked(__doc__, 200)
    os.environ["RUST_BACKTRACE"] = "0"
    faults = 0
    for name in to_try.words or readers():
        tried(_with(in_a_fork, name), range(20))  # so that what is made once is there for each fork
        alone = _with(in_a_fork, name) if name == "XLS" else None
        within = partial(batch, _with(in_this_process, name), alone=alone)
        faults += run(f"damaged {name}", to_try, within)
    return faults


if __name__ == "__main__":
    sys.exit(main() > 0)
