"""What one person keeps for good: obeyed by commands and pages, by no function, and told."""

import json
import tomllib

import pytest

from stopgap import defaults
from stopgap.cli.settings import SETTINGS, with_setting


@pytest.fixture
def config(tmp_path, monkeypatch):
    """The file of settings, which is not there yet."""
    path = tmp_path / "kept" / "config.toml"
    monkeypatch.setenv("STOPGAP_CONFIG", str(path))
    return path


def test_a_setting_is_kept_told_and_forgotten(stopgap_run, config):
    status, out, _ = stopgap_run("settings", "lamps", "a", "LED-B3")
    assert (status, str(config) in out) == (0, True)
    assert tomllib.loads(config.read_text(encoding="utf-8")) == {"lamps": ["A", "LED-B3"]}
    assert stopgap_run("settings", "step", "Soft")[0] == 0
    told = {
        one["name"]: (one["value"], one["from"])
        for one in json.loads(stopgap_run("settings", "--json")[1])["settings"]
    }
    assert list(told) == list(SETTINGS)
    assert told["lamps"] == (["A", "LED-B3"], "settings")
    assert told["step"] == ("soft", "settings")
    assert told["paper"] == (None, "default")
    assert told["library"] == (str(stopgap_run.library), "--library")
    config.write_text("# mine\n" + config.read_text(encoding="utf-8"), encoding="utf-8")
    assert stopgap_run("settings", "lamps", "--forget")[0] == 0
    assert config.read_text(encoding="utf-8") == '# mine\nstep = "soft"\n'


def test_what_is_left_of_the_settings_may_be_a_list(stopgap_run, config):
    stopgap_run("settings", "step", "soft")
    stopgap_run("settings", "lamps", "A", "LED-B3")
    status, _, error = stopgap_run("settings", "step", "--forget")
    assert (status, error) == (0, "")
    assert tomllib.loads(config.read_text(encoding="utf-8")) == {"lamps": ["A", "LED-B3"]}


def test_commands_and_pages_obey_and_an_option_counts_more(demo, config, tmp_path):
    def blend(*more):
        _, out, _ = demo("blend", "Quillet:Q1", "Quillet:Q30", "--no-layers", "--json", *more)
        return json.loads(out)

    usual, soft = blend(), blend("--step", "7")
    assert usual != soft
    demo("settings", "step", "soft")
    demo("settings", "paper", "tan")
    kept = blend()
    assert kept["paper"]["name"] == "tan"
    assert kept == blend("--step", "7", "--on", "tan")
    assert blend("--step", str(defaults.STEP), "--on", "white")["paper"]["name"] == "white"
    page = tmp_path / "page.html"
    assert demo("sheet", page, "--for", "match", "Fennmoor:FM017", "--no-layers")[0] == 0
    assert "on tan" in page.read_text(encoding="utf-8")
    assert "[default: soft]" in " ".join(demo("blend", "--help")[1].split())
    # a picture's colours are what they are, whatever paper is kept
    assert demo("palette", tmp_path / "none.jpg", tmp_path / "out.csv")[0] == 1


def test_which_library_and_where_it_is_said(config, tmp_path, monkeypatch, capsys):
    from stopgap.cli.program import run

    monkeypatch.delenv("STOPGAP_LIBRARY", raising=False)
    monkeypatch.chdir(tmp_path)
    assert run(["settings", "library", "own.sqlite"]) == 0
    assert run(["swatch", "add", "Own", "1", "--lab", "50", "1", "1", "--new-range"]) == 0
    assert (tmp_path / "own.sqlite").is_file()
    monkeypatch.setenv("STOPGAP_LIBRARY", "other.sqlite")
    capsys.readouterr()
    assert run(["settings", "library", "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["settings"]
    assert (told["value"], told["from"]) == ("other.sqlite", "STOPGAP_LIBRARY")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("step", "often"), "soft, usual, bold or a number"),
        (("step", "0"), "above 0"),
        (("lamps", "sun"), "sun"),
        (("layer-with", "mine"), "owned or any"),
        (("currency", "2.50"), "such as EUR"),
        (("paper", "nowhere"), "No paper is called 'nowhere'"),
        (("papers", "tan"), "Did you mean 'paper'"),
        (("--forget",), "name the setting"),
    ],
)
def test_what_cannot_be_kept_changes_nothing(stopgap_run, config, words, says):
    status, _, error = stopgap_run("settings", *words)
    assert status in (1, 2)
    assert says in error
    assert not config.exists()


@pytest.mark.parametrize(
    ("text", "command", "says"),
    [
        ("step = [", "match", "no TOML"),
        ("step = 'often'\n", "blend", "step: expected soft, usual, bold or a number"),
        ("layer-with = 3\n", "match", "layer-with: "),
        ("papr = 'tan'\n", "settings", "Did you mean 'paper'"),
    ],
)
def test_a_file_that_is_wrong_is_named(stopgap_run, config, text, command, says):
    config.parent.mkdir()
    config.write_text(text, encoding="utf-8")
    words = {"match": ("Quillet:Q1",), "blend": ("Quillet:Q1", "Quillet:Q2"), "settings": ()}
    status, _, error = stopgap_run(command, *words[command])
    assert (status, str(config) in error, says in error) == (1, True, True)
    assert stopgap_run("settings", "currency", "EUR")[0] == 1
    assert config.read_text(encoding="utf-8") == text


def test_other_lines_stay():
    text = "# step = 3\n\n[own]\n"
    assert with_setting("step = 12\n# why\n", "step", 7.0) == "# why\nstep = 7.0\n"
    assert with_setting(text, "lamps", None) == text


def test_shopping_tells_prices_in_the_currency_that_is_kept(demo, config):
    demo("settings", "currency", "EUR")
    _, out, _ = demo("shop", "--for", "Fennmoor:FM055", "--no-layers", "--json")
    assert json.loads(out)["currency"] == "EUR"
