"""Write the words that the page for the phone has for how near a colour is: `python
make_nearness.py`.

They are those of a pencil that errs so much, in the middle of grey, where a difference is one of L*
alone. `test_pages.py` says when they are to be written again.
"""

import json
from itertools import groupby
from pathlib import Path

import stopgap
from stopgap.difference import grade, grade_words
from stopgap.planner.doubt import grade_chances
from stopgap.reports.pocket import APART, SIZES
from stopgap.swatches import FreeColour, Swatch

FILE = Path(stopgap.__file__).parent / "reports" / "templates" / "pocket_nearness.json"


def nearness():
    """The word by size and step of difference, as surely as it is earned."""
    asked = FreeColour("", (50.0, 0.0, 0.0))
    apart = [(low + high) / 2.0 for low, high in zip((0.0, *APART), APART, strict=False)]
    pencils = [
        Swatch("", "", (50.0 + each, 0.0, 0.0), uncertainty=size, shared_uncertainty=0.0)
        for size in SIZES
        for each in apart
    ]
    chances = grade_chances([asked], pencils).reshape(-1, len(apart)).tolist()
    return [
        [grade_words(grade(each), one) for each, one in zip(apart, row, strict=True)]
        for row in chances
    ]


def made():
    """A size a line: each of its words with the largest difference that still has it."""
    lines = (
        [
            [list(steps)[-1][0], word]
            for word, steps in groupby(zip(APART, words, strict=True), key=lambda step: step[1])
        ]
        for words in nearness()
    )
    return "[\n" + ",\n".join(map(json.dumps, lines)) + "\n]\n"


if __name__ == "__main__":
    FILE.write_text(made(), encoding="utf-8", newline="\n")
