"""What a terminal is taken to show, and the sequences that it is sent."""

import io
import os
import re

import numpy as np
import pytest
from rich.color import EIGHT_BIT_PALETTE

from stopgap.colorimetry import srgb_to_lab
from stopgap.difference import delta_E
from stopgap.reports.ansi import BOLD, DIM, backgrounds, paint, palette
from stopgap.reports.console import TRUE_COLOUR, Console, make_console


class Terminal(io.StringIO):
    def isatty(self):
        return True


XTERM = {"TERM": "xterm-256color"}
NOTHING, STYLES, MANY, ALL = (False, 0), (True, 0), (True, 256), (True, TRUE_COLOUR)


@pytest.mark.parametrize(
    ("environment", "shown"),
    [
        ({}, NOTHING),
        ({"TERM": "dumb"}, NOTHING),
        ({"TERM": "unknown", "COLORTERM": "truecolor"}, NOTHING),
        ({"TERM": "dumb", "FORCE_COLOR": "1"}, NOTHING),
        ({"TERM": "xterm"}, STYLES),
        ({"TERM": "linux"}, STYLES),
        (XTERM, MANY),
        ({"TERM": "Screen-256Color"}, MANY),
        ({"TERM": "xterm-kitty"}, MANY),
        ({"TERM": "xterm-direct"}, ALL),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, ALL),
        ({"TERM": "xterm", "COLORTERM": "24bit"}, ALL),
        ({"TERM": "xterm", "COLORTERM": "yes"}, STYLES),
        ({**XTERM, "COLORTERM": "truecolor", "NO_COLOR": "1"}, NOTHING),
        ({**XTERM, "NO_COLOR": "0"}, NOTHING),
        ({**XTERM, "NO_COLOR": ""}, MANY),
        ({**XTERM, "NO_COLOR": "1", "FORCE_COLOR": "1"}, NOTHING),
        ({"WT_SESSION": "4c0b3a"}, ALL),
        ({"ANSICON": "80x25"}, STYLES),
        ({"ConEmuANSI": "ON"}, STYLES),
        ({"ConEmuANSI": "OFF"}, NOTHING),
    ],
)
def test_what_a_terminal_shows(environment, shown):
    """no-color.org: NO_COLOR counts where it is not empty; COLORTERM and TERM as in terminfo."""
    console = make_console(Terminal(), environment=environment)
    assert (console.styled, console.colours) == shown


@pytest.mark.parametrize(
    ("environment", "shown"),
    [
        ({**XTERM, "COLORTERM": "truecolor"}, NOTHING),
        ({**XTERM, "FORCE_COLOR": ""}, NOTHING),
        ({**XTERM, "FORCE_COLOR": "1"}, MANY),
        ({"FORCE_COLOR": "1"}, STYLES),
        ({**XTERM, "FORCE_COLOR": "1", "COLORTERM": "truecolor"}, ALL),
    ],
)
def test_what_a_file_shows(environment, shown):
    """force-color.org: FORCE_COLOR counts where it is not empty, whatever it says."""
    console = make_console(io.StringIO(), environment=environment)
    assert (console.styled, console.colours) == shown


@pytest.mark.parametrize(
    ("stated", "columns", "width"),
    [
        (None, None, 80),
        (None, "100", 100),
        (60, "100", 60),
        (None, "0", 80),
        (None, "", 80),
        (None, "-5", 80),
        (None, "wide", 80),
        (None, "²", 80),
        (None, "9" * 5000, 80),
    ],
)
def test_width_without_a_terminal(stated, columns, width):
    environment = {} if columns is None else {"COLUMNS": columns}
    assert make_console(io.StringIO(), width=stated, environment=environment).width == width


def test_width_of_a_file(tmp_path):
    with (tmp_path / "page.txt").open("w") as file:
        assert make_console(file, environment={}) == Console()


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are POSIX's")
@pytest.mark.parametrize(("columns", "width"), [(57, 57), (0, 80)])
def test_width_of_a_terminal(columns, width):
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    with open(ours, "rb", buffering=0), open(theirs, "w") as file:
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        console = make_console(file, environment={"TERM": "xterm"})
    assert console == Console(width, styled=True)


def test_the_256_colours():
    # rich 15.0.0: rich.color.EIGHT_BIT_PALETTE, xterm's table
    expected = [tuple(EIGHT_BIT_PALETTE[number]) for number in range(16, 256)]
    assert np.rint(255 * palette()).astype(int).tolist() == list(map(list, expected))


def test_a_colour_of_the_palette_is_itself():
    labs = list(map(tuple, srgb_to_lab(palette()).tolist()))
    codes = backgrounds(labs, 256)
    assert [codes[lab] for lab in labs] == [f"48;5;{number}" for number in range(16, 256)]


def test_the_nearest_of_256_colours():
    generator = np.random.default_rng(5)
    labs = list(map(tuple, generator.uniform((0, -70, -70), (100, 70, 70), (40, 3)).tolist()))
    shown = srgb_to_lab(palette())
    for lab, code in backgrounds(labs, 256).items():
        one_by_one = [float(delta_E(lab, other, metric="CIE 2000")) for other in shown]
        assert code == f"48;5;{16 + one_by_one.index(min(one_by_one))}"


def test_backgrounds_in_24_bits():
    # coloraide 8.13.1: Color("lab(50 0 0)").convert("srgb") is rgb(119 119 119)
    grey = (50.0, 0.0, 0.0)
    assert backgrounds([grey, grey], TRUE_COLOUR) == {grey: "48;2;119;119;119"}
    assert backgrounds([], TRUE_COLOUR) == backgrounds([], 256) == {}


def test_sequences():
    """ECMA-48, 8.3.117: CSI, parameters, m; 0 takes back what was set. From memory."""
    line = [("a", BOLD), (" b", BOLD), (" ", ""), ("c", DIM), ("  ", "48;5;20"), ("  ", "")]
    assert paint(line, styled=True) == ("\x1b[1ma b\x1b[0m \x1b[2mc\x1b[0m\x1b[48;5;20m  \x1b[0m")
    assert paint(line, styled=False) == "a b c"
    assert not re.search(r"\x1b", paint(line, styled=False))
