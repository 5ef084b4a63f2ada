"""The commands about measurement, from the outside."""

import json

import pytest

from stopgap.cli.ask.demo import datasets
from stopgap.cli.program import run

READINGS = """code,name,L,a,b,mode,geometry,date
sheet,,95.5,0,1,M1,45/0,2026-03-01
1,Wet Slate,45.2,-1.5,-4.3,M1,45/0,2026-03-01
1,Wet Slate,45.5,-1.4,-4.1,M1,45/0,2026-03-01
1,Wet Slate,45.0,-1.6,-4.4,M1,45/0,2026-03-01
1,Wet Slate,52.0,-1.6,-4.4,M1,45/0,2026-03-01
2,Gull Wing,80.0,0.2,2.1,M0,45/0,2026-03-01
2,Gull Wing,80.3,0.3,2.0,M0,45/0,2026-03-01
"""


@pytest.fixture
def readings(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(READINGS)
    return path


def test_repeats_from_file_to_screen(stopgap_run, readings):
    arguments = ("range", "import", readings, "--name", "Fen")
    status, _, error = stopgap_run(*arguments)
    assert status == 1
    assert "If they are readings of one pencil, add --repeats." in error
    status, out, _ = stopgap_run(*arguments, "--repeats", "--bare-paper", "sheet")
    assert status == 0
    assert "1: reading 4 of 4 lies" in out
    assert "was assumed" in out
    status, out, _ = stopgap_run("range", "show", "Fen", "--measurement")
    assert "3 (1 left out)" in out
    assert "Paper: measured, lab(95.5 0.0 1.0)" in out
    assert "geometry 45/0" in out
    status, out, _ = stopgap_run("range", "check", "Fen")
    assert "measured in several ways: mode M1 (1), M0 (1)" in out
    assert "were assumed at import" in out
    _, out, _ = stopgap_run("range", "show", "Fen", "--measurement", "--json")
    first, second = json.loads(out)["swatches"]
    assert (first["readings"], first["left_out"], first["mode"]) == (3, 1, "M1")
    assert (second["date"], second["assumed"]) == ("2026-03-01", True)
    status, out, _ = stopgap_run("match", "Fen:1")
    assert "measured otherwise than the target (mode M0, not M1)" in " ".join(out.split())


@pytest.mark.parametrize("ending", ["csv", "cgats", "cxf"])
def test_a_range_goes_out_and_comes_back(stopgap_run, tmp_path, ending):
    source = datasets() / "brindlewick.csv"
    stopgap_run("range", "import", source, "--name", "One", "--mode", "M1")
    path = tmp_path / f"out.{ending}"
    assert stopgap_run("range", "export", "One", path)[0] == 0
    assert stopgap_run("range", "import", path, "--name", "Two", "--white", "D50")[0] == 0
    _, out, _ = stopgap_run("range", "show", "One", "--json")
    one = json.loads(out)["swatches"]
    _, out, _ = stopgap_run("range", "show", "Two", "--json")
    two = json.loads(out)["swatches"]
    for swatch in (*one, *two):
        swatch["swatch"].pop("range")
    assert one == two
    status, _, error = stopgap_run("range", "import", path, "--name", "Three", "--white", "D65")
    assert status == 1
    assert "contradicts the illuminant D65" in error
    assert "Leave --white out." in error


def test_other_lights(stopgap_run, demo_library):
    arguments = ("match", "Brindlewick:BW05", "--under", "A", "--under", "led-b3", "--json")
    _, out, _ = stopgap_run(*arguments, "--range", "Brindlewick", library=demo_library)
    answer = json.loads(out)
    first = answer["matches"][0]
    assert [light["illuminant"] for light in first["under"]] == ["A", "LED-B3"]
    assert first["under"][0]["interval"] is None
    assert 0 <= first["probability"] <= 1
    assert first["upper"] > first["delta_E"]
    _, out, _ = stopgap_run(*arguments, "--range", "Fennmoor", library=demo_library)
    answer = json.loads(out)
    assert answer["matches"][0]["under"] == []
    assert "cannot be known" in " ".join(answer["notes"])
    _, out, _ = stopgap_run(*arguments, "--reconstruct", library=demo_library)
    assert json.loads(out)["matches"][0]["under"][0]["interval"]
    _, out, _ = stopgap_run(*arguments[:-1], "--csv", library=demo_library)
    assert "under A: ΔE00" in out


def test_a_shift_is_shown_and_only_on_request_corrected(stopgap_run, tmp_path):
    path = tmp_path / "range.csv"
    rows = [(f"{code}", 40 + 5 * code, 3 * code, -2 * code) for code in range(6)]
    for name, (L, a) in {"One": (0, 0), "Two": (1.5, -0.5)}.items():
        wobble = [0.1, -0.1, 0.05, 0.0, -0.05, 0.1] if name == "Two" else [0] * 6
        lines = [
            f"{code},{x + L + w},{y + a - w},{z + w * w}"
            for (code, x, y, z), w in zip(rows, wobble, strict=True)
        ]
        path.write_text("\n".join(["code,L,a,b", *lines]) + "\n")
        stopgap_run("range", "import", path, "--name", name)
    pairs = [part for code in range(6) for part in ("--pair", f"{code}={code}" if code else "0")]
    status, out, _ = stopgap_run("range", "shift", "One", "two", *pairs, "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["offset"][0] == pytest.approx(1.5, abs=0.1)
    assert (answer["significant"], answer["corrected"]) == (True, False)
    _, out, _ = stopgap_run("range", "show", "One", "--json")
    assert json.loads(out)["swatches"][0]["swatch"]["lab"] == [40, 0, 0]
    _, out, _ = stopgap_run("range", "shift", "One", "Two", *pairs, "--correct")
    assert "was corrected" in out
    _, out, _ = stopgap_run("range", "check", "One")
    assert "Corrected by +1.47" in out
    assert stopgap_run("undo")[0] == 0
    _, out, _ = stopgap_run("range", "show", "One", "--json")
    assert json.loads(out)["shift"] == [0, 0, 0]
    status, _, error = stopgap_run("range", "shift", "One", "Two", *pairs[:4])
    assert status == 1
    assert "too few" in error


@pytest.mark.parametrize(
    "arguments",
    [
        ["match", "x", "--under", "candle"],
        ["match", "#808080", "--reconstruct"],
        ["match", "#808080", "--cautious", "--metric", "CMC"],
        ["range", "import", "x.csv", "--name", "x", "--mode", "M7"],
        ["range", "export", "x", "x.csv", "--format", "PDF"],
        ["range", "shift", "x", "y", "--clear", "--correct"],
    ],
    ids=" ".join,
)
def test_misuse(arguments, demo_library, capsys):
    assert run(["--library", str(demo_library), *arguments]) == 2
    assert "Traceback" not in capsys.readouterr().err
