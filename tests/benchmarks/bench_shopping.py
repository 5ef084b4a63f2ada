"""The demo's shopping lists: `python tests/benchmarks/bench_shopping.py [OTHER SOURCES]`.

CPU time of one list, as a multiple of laying the same blends with `blend` by the sources here. With
the folder `src` of another checkout, its lists are made in the same run by interpreters taking
turns, and the last columns set the two beside each other; both must prove every aim.
"""

import csv
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from timing import machine, table

from stopgap.library import find_target, open_library
from stopgap.library.demo import datasets, fill
from stopgap.swatches import Selection

ROUNDS = 7
QUESTIONS = {
    "no budget": {},
    "a budget of 5": {"budget": 5.0},
    "a budget of 25": {"budget": 25.0},
    "no budget, gaps that cannot be closed too": {"partial": True},
}
SOURCES = Path(__file__).parents[2] / "src"

CHILD = """
import json, sys, time
from stopgap.blends import blend
from stopgap.planner import BlendNeed, shopping_list
from stopgap.swatches import Swatch
asked = json.load(open(sys.argv[1]))
made = [Swatch(r, c, tuple(lab), price=p, owned=o) for r, c, lab, p, o in asked["swatches"]]
by_address = {one.address: one for one in made}
needs = [BlendNeed(n, by_address[a], by_address[b], step=s) for n, a, b, s in asked["needs"]]
owned, offers = ([one for one in made if one.owned is is_mine] for is_mine in (True, False))
def lists(options):
    return shopping_list(needs, owned, offers, default_price=1.0, **options)
def blends(_):
    return [blend(one.start, one.end, owned, limit=one.step) for one in needs]
spent = {}
for name, options in [*asked["questions"].items(), ("blend", {})]:
    ask = blends if name == "blend" else lists
    ask(options)
    start = time.process_time()
    answer = ask(options)
    spent[name] = time.process_time() - start
    assert name == "blend" or answer.proved, name
print(json.dumps(spent))
"""


def asked_of_the_demo(folder: Path) -> dict[str, object]:
    with open_library(folder / "library.sqlite") as library:
        fill(library)
        swatches = library.swatches()
    with (datasets() / "blends.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    ends = [[find_target(row[end], swatches).address for end in ("from", "to")] for row in rows]
    used = {address for pair in ends for address in pair}
    kept = [one for one in swatches if one.address in used or one in Selection().of(swatches)]
    return {
        "swatches": [[one.range, one.code, one.lab, one.price, one.owned] for one in kept],
        "needs": [[row["name"], *pair, float(row["step"] or 12)] for row, pair in zip(rows, ends)],
        "questions": QUESTIONS,
    }


def main(other: str | None) -> None:
    states = {"here": str(SOURCES), **({"there": other} if other else {})}
    spent = {state: {} for state in states}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "asked.json"
        path.write_text(json.dumps(asked_of_the_demo(Path(folder))))
        for _ in range(ROUNDS):
            for state, sources in states.items():
                done = subprocess.run(
                    [sys.executable, "-c", CHILD, str(path)],
                    env={**os.environ, "PYTHONPATH": sources},
                    check=True,
                    capture_output=True,
                    text=True,
                )
                for name, seconds in json.loads(done.stdout).items():
                    spent[state].setdefault(name, []).append(seconds)
    median = {
        state: {name: float(np.median(values)) for name, values in by_name.items()}
        for state, by_name in spent.items()
    }
    laid = median["here"]["blend"]
    rows = []
    for name in QUESTIONS:
        times = [median[state][name] / laid for state in states]
        ratio = [f"{times[0] / times[1]:.2f}"] if other else []
        rows.append((name, *(f"{value:.1f}" for value in times), *ratio))
    print(machine())
    heads = ["a list for the demo's blends", *(f"{state}, x blend" for state in states)]
    print(table((*heads, *(["here / there"] if other else [])), rows))


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
