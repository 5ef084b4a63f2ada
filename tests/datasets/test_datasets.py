"""The demo files: regenerated alike, complete and resolvable."""

import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from demo_files import DATASETS, FILES, RANGES, Floats, Row, addresses_of, read

pytestmark = pytest.mark.slow


def test_a_second_run_writes_the_same_bytes(tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-B", str(DATASETS / "make_datasets.py"), str(tmp_path)],
        check=True,
    )
    assert {path.name for path in tmp_path.iterdir()} == FILES
    assert {path.name for path in DATASETS.glob("*.csv")} == FILES
    changed = [n for n in FILES if (DATASETS / n).read_bytes() != (tmp_path / n).read_bytes()]
    assert not changed


@pytest.mark.parametrize("name", RANGES)
def test_every_pencil_is_there_once(name: str, ranges: dict[str, list[Row]]) -> None:
    rows = ranges[name]
    pattern, count = RANGES[name]
    assert [row["code"] for row in rows] == [pattern.format(i + 1) for i in range(count)]
    names = [row["name"].casefold() for row in rows]
    assert len(set(names)) == count
    assert all(names)


def test_finish_status_and_ratings(ranges: dict[str, list[Row]]) -> None:
    finishes = {name: Counter(row["finish"] for row in rows) for name, rows in ranges.items()}
    assert finishes == {
        "Fennmoor": {"plain": 113, "metallic": 4, "fluorescent": 3},
        "Brindlewick": {"plain": 69, "metallic": 2, "fluorescent": 1},
        "Quillet": {"plain": 45, "metallic": 2, "fluorescent": 1},
    }
    statuses = Counter(row["status"] for row in ranges["Fennmoor"])
    assert statuses == {"current": 114, "discontinued": 6}
    assert {row["status"] for row in ranges["Brindlewick"]} == {"current"}
    assert {row["lightfastness"] for row in ranges["Fennmoor"]} == {"I", "II", "III", "IV", "V"}
    assert {row["lightfastness"] for row in ranges["Brindlewick"]} <= set("12345678")
    unrated = [row for row in ranges["Quillet"] if not row["lightfastness"]]
    assert 10 <= len(unrated) <= 24
    assert all(
        bool(r["lightfastness"]) == bool(r["lightfastness_scale"]) for r in ranges["Quillet"]
    )
    assert all(float(row["price"]) > 0 for rows in ranges.values() for row in rows)


def test_the_files_differ_as_real_ones_do() -> None:
    quillet = (DATASETS / "quillet.csv").read_bytes()
    assert quillet.startswith(b"\xef\xbb\xbf")
    assert not (DATASETS / "fennmoor.csv").read_bytes().startswith(b"\xef\xbb\xbf")
    first = quillet.decode("utf-8-sig").splitlines()[1].split(";")
    assert all(re.fullmatch(r"-?\d+,\d\d", number) for number in first[2:5])
    assert "tin" in read("fennmoor.csv")[0]
    assert "tray" in read("brindlewick.csv")[0]


def test_the_box(pencils: dict[str, Row]) -> None:
    owned = [row["colour"] for row in read("owned.csv")]
    assert len(set(owned)) == len(owned) == 71
    assert all(len(addresses_of(target, pencils)) == 1 for target in owned)
    assert Counter(target.partition(":")[0] for target in owned) == {
        "Fennmoor": 21,
        "Brindlewick": 10,
        "Quillet": 40,
    }
    assert sum(pencils[t].get("status") == "discontinued" for t in owned) == 2
    in_file = {a for a, row in pencils.items() if row.get("owned") == "yes"}
    assert in_file == {target for target in owned if target.startswith("Fennmoor:")}


def test_the_lesson_can_be_read(pencils: dict[str, Row]) -> None:
    lesson = [row["colour"] for row in read("lesson.csv")]
    free = [t for t in lesson if re.fullmatch(r"#[0-9a-f]{6}|lab\(\d+ -?\d+ -?\d+\)", t)]
    found = [addresses_of(target, pencils) for target in lesson if target not in free]
    assert (len(lesson), len(free)) == (14, 3)
    assert all(len(addresses) == 1 for addresses in found)
    gone = [a for [a] in found if pencils[a].get("status") == "discontinued"]
    assert len(gone) == 4
    assert not set(gone) & {row["colour"] for row in read("owned.csv")}


def test_layered_samples(labs: dict[str, Floats]) -> None:
    samples, held_out = read("layered.csv"), read("layered_held_out.csv")
    assert (len(samples), len(held_out)) == (6, 20)
    pairs = [(row["first"], row["second"]) for row in [*samples, *held_out]]
    owned = {row["colour"] for row in read("owned.csv")}
    assert len(set(pairs)) == 26
    assert {address for pair in pairs for address in pair} <= owned
    for row in [*samples, *held_out]:
        assert {row["first_pressure"], row["second_pressure"]} <= {"light", "medium", "heavy"}
        assert 15.0 < float(row["L"]) < max(labs[row["first"]][0], labs[row["second"]][0]) + 8.0
