"""README, the guide and every help: what they print runs in the order printed, in one folder."""

import os
import re
import shlex
from functools import cache
from html.parser import HTMLParser
from io import StringIO
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from test_help import COMMANDS, examples
from valid_html import faults_of

from stopgap.cli.program import run
from stopgap.cli.remedies import WORDS
from stopgap.errors import Remedy
from stopgap.reports.manual import TOPICS, find_topic, manual, messages
from stopgap.reports.render.console import make_console
from stopgap.reports.render.manual import render_manual, render_topics

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
INSTALLED = {"python3 -m venv", ".venv/bin/pip", "pipx install", "uv tool", "eval ", ". .venv/bin"}
"""How lines begin that install, or set up a shell: no command of stopgap."""


@cache
def guide():
    """The manual as the command line shows it; made where it is first wanted."""
    return manual(WORDS)


def printed(text):
    """What is printed to be done, in order: ("save", name, content) and ("run", line, said)."""
    tokens = MarkdownIt("commonmark").parse(text)
    named = ""
    for token in tokens:
        if token.type == "inline":
            named = re.findall(r"`([\w-]+\.csv)`:$", token.content) or named
        if token.type == "fence" and token.info == "csv":
            yield "save", named[0], token.content
        if token.type == "fence" and token.info in ("sh", "console"):
            lines = token.content.replace("\\\n", " ").splitlines()
            for place, line in enumerate(lines):
                if token.info == "sh" or line.startswith("$ "):
                    said = lines[place + 1 : place + 2]
                    answered = token.info == "console" and said and not said[0].startswith("$ ")
                    yield "run", line.removeprefix("$ "), said[0] if answered else ""


MADE = {".html", ".pdf", ".png", ".svg"}
"""What commands write and none reads."""


def readable():
    """All that a command can read here."""
    files = (path for path in sorted(Path.cwd().iterdir()) if path.suffix not in MADE)
    library = os.environ["STOPGAP_LIBRARY"]
    return library, *((path.name, path.read_bytes()) for path in files if path.is_file())


def do(line, said, monkeypatch, capsys, answers):
    """Do one line as a shell would; what it prints begins as it is said to.

    `answers` holds what changed nothing: where such a line comes again and there is nothing new to
    read, it is not asked again.
    """
    name, *arguments = shlex.split(line)
    if name == "cd":
        monkeypatch.chdir(arguments[0])
    elif name == "export":
        monkeypatch.setenv(*arguments[0].split("=", 1))
    else:
        assert name == "stopgap", line
        before = readable()
        answer = answers.get((line, before))
        if answer is None:
            capsys.readouterr()
            answer = run(arguments), *capsys.readouterr()
            if readable() == before:
                answers[line, before] = answer
        status, out, err = answer
        if said.startswith("stopgap: "):
            assert status != 0
            assert " ".join(err.split()).startswith(said.removesuffix(" …"))
        else:
            assert status in (0, 3), (line, err)  # 3: a need stays open
            assert said.removesuffix(" …") in out


def test_all_that_is_printed_runs_in_the_order_printed(tmp_path, monkeypatch, capsys):
    """README first, which begins with nothing at all, then each topic, then each help."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("STOPGAP_LIBRARY", str(tmp_path / "nothing-yet.sqlite"))
    answers = {}
    texts = {"README": README} | {topic.name: topic.text for topic in guide()}
    for name, text in texts.items():
        done = 0
        for what, line, said in printed(text):
            if what == "save":
                Path(line).write_text(said, encoding="utf-8")
            elif not any(line.startswith(each) for each in INSTALLED):
                do(line, said, monkeypatch, capsys, answers)
                done += 1
        assert done or name in ("api", "cautions", "changes", "messages")
    for command in COMMANDS.values():
        for line in examples(command):
            do(line, "", monkeypatch, capsys, answers)


def test_readme_is_a_front_page():
    assert len(README.splitlines()) <= 150
    assert "\n".join(README.splitlines()).count("$ stopgap") >= 4
    for topic in TOPICS:
        assert f"`{topic}`" in README, topic


@pytest.mark.parametrize("name", TOPICS)
def test_what_speaks_of_commands_is_marked(name):
    topic = find_topic(name, WORDS)
    if name == "messages":
        return  # in the words of whoever shows them
    for passage in topic.passages:
        if not passage.at_terminal:
            assert not re.search(r"`stopgap |\$ stopgap|(?<![\w-])--\w", passage.text)
    assert len(topic.about) <= 100


@pytest.mark.parametrize("name", TOPICS)
def test_a_topic_is_shown_at_80_columns_and_in_a_pipe(name, capsys):
    assert run(["guide", name]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith(find_topic(name, WORDS).title)
    assert "\x1b" not in shown
    assert max(map(len, shown.splitlines())) <= 80


def test_colour_is_left_out_where_it_is_not_wanted():
    for environment, coloured in (({}, False), ({"NO_COLOR": "1"}, False)):
        console = make_console(StringIO(), width=80, environment=environment)
        assert ("\x1b[3" in render_topics(guide()[:3], console)) is coloured


def test_what_there_is_and_what_there_is_not(capsys):
    assert run(["guide"]) == 0
    shown = capsys.readouterr().out
    assert [name for name in TOPICS if f"\n{name} " in shown] == list(TOPICS)
    assert run(["guide", "paper"]) == 2
    assert "Did you mean 'papers' or" in capsys.readouterr().err


class Page(HTMLParser):
    """Tags, ids, links to them, and text of a page."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.ids, self.links, self.said = [], set(), set(), ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.ids |= {value for name, value in attrs if name == "id"}
        self.links |= {value for name, value in attrs if name == "href"}

    def handle_data(self, data):
        self.said += data


def test_the_page_holds_every_topic_and_loads_nothing(tmp_path, capsys):
    path = tmp_path / "guide.html"
    assert run(["guide", "--html", str(path)]) == 0
    assert faults_of(path.read_text(encoding="utf-8")) == []
    page = Page(path.read_text(encoding="utf-8"))
    assert set(TOPICS) <= page.ids
    assert page.links == {f"#{name}" for name in TOPICS}
    assert not {tag for tag, _ in page.tags} & {"script", "link", "iframe", "form"}
    pictures = [had for tag, had in page.tags if tag == "img"]
    assert pictures
    assert all(had["src"].startswith("data:image/") and had["alt"] for had in pictures)
    assert "$ stopgap demo --keep" in page.said
    assert run(["guide", "--html", str(path)]) == 1
    capsys.readouterr()


def test_a_page_can_leave_the_terminal_out():
    topics = [topic for topic in guide() if topic.name != "messages"]
    page = Page(render_manual(topics, terminal=False))
    assert "$ stopgap" not in page.said
    assert "At the terminal" not in page.said
    assert "python" not in page.ids  # which speaks of nothing else
    assert {"start", "ranges", "papers", "cautions"} <= page.ids


def test_every_remedy_stands_in_the_table_of_messages():
    found = list(messages())
    # the words of the last stand alone below an answer
    assert {key for message in found for key in message.remedies} == set(Remedy) - {
        Remedy.ONE_FAMILY
    }
    table = find_topic("messages", WORDS).text
    assert len(found) > 200
    for guessed in (
        "… that head a section became the column section.",
        "… have no code and do not land.",
        "… of column … … a decimal comma.",
        "The text was read as …, in which its letters make most sense.",
    ):
        assert f"| {guessed} | Add --yes to take it so" in table
    assert "| Only the sheet … was read, and … something. | Save each that you want" in table
    assert "| … exists already. | Add --overwrite to replace it. |" in table
    for words in WORDS.values():
        if words != WORDS[Remedy.ONE_FAMILY]:
            assert re.sub(r"\{\w+\}", "…", words).replace("#", "\\#") in table


PROVOKED = (
    "backup blends.csv",
    "gaps photo.jpg",
    "range remove Nothing",
    "range import quillet.csv --name Quillet",
    "paper remove Kraft",
    "match '#fff' --within 0.001 --range Quillet",
    "own",
    "blend Fennmoor:FM001 Fennmoor:FM001",
    "chart chart.txt",
)


def test_a_message_that_somebody_sees_is_in_the_table(desk, capsys):
    """One of each kind of error, as it is said to who runs into it."""
    said = find_topic("messages", WORDS).text.replace("\\", "")
    rows = re.findall(r"^\| (.+?)\.? \| .*\|$", said, re.M)
    patterns = [re.escape(row).replace("…", ".*?") for row in rows if len(row) > 12]
    for line in PROVOKED:
        capsys.readouterr()
        assert run(shlex.split(line)) != 0
        message = capsys.readouterr().err.removeprefix("stopgap: ")
        assert any(re.match(each, message) for each in patterns), message
