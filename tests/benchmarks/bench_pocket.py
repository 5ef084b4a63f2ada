"""One keystroke on the phone's page with 10,000 pencils: `python tests/benchmarks/bench_pocket.py`.

In the system's Chromium, headless, with a window of a phone's size: from the key to the end of the
page's own work, and to the end of the frame that shows it; of each key the least of five, since
others work on the machine. Slowed down four times stands for a phone that is as much slower.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
from timing import machine, table

sys.path.insert(0, str(Path(__file__).parents[1] / "browser"))
from conftest import ARGUMENTS, CHROMIUM
from playwright.sync_api import sync_playwright

import stopgap
from stopgap.blends import families
from stopgap.planner.stand_ins.precomputed import PrecomputedStandIns
from stopgap.reports.pocket import render_pocket
from stopgap.swatches import Swatch

PENCILS, SEED = 10_000, 20261101
TYPED = ("kelp", "fm055", "pale green", "sqaull line", "metallic", "lichen ledge", "zzzz")
"""What is typed letter by letter: names, a code, colour words, a slip, what there is not."""
KEYS = """async ([field, texts]) => {
  const input = document.getElementById(field), spans = [];
  for (const text of texts) {
    for (let end = 1; end <= text.length; end += 1) {
      const least = [Infinity, Infinity];
      for (let again = 0; again < 5; again += 1) {
        input.value = text.slice(0, end - 1);
        input.dispatchEvent(new Event("input"));
        await new Promise((then) => requestAnimationFrame(() => setTimeout(then)));
        input.value = text.slice(0, end);
        const start = performance.now();
        input.dispatchEvent(new Event("input"));
        const worked = performance.now() - start;
        await new Promise((then) => requestAnimationFrame(() => setTimeout(then)));
        [worked, performance.now() - start].forEach((each, at) => {
          least[at] = Math.min(least[at], each);
        });
      }
      spans.push(least);
    }
  }
  return spans;
}"""


def pencils() -> list[Swatch]:
    """Names of the demo's words, anew in pairs; colours all over; every third one owned."""
    rng = np.random.default_rng(SEED)
    with stopgap.demo_library() as library:
        words = sorted({word for each in library.swatches() for word in each.name.split()})
    labs = np.column_stack([rng.uniform(15, 95, PENCILS), *rng.uniform(-50, 50, (2, PENCILS))])
    return [
        Swatch(
            f"Range {place % 20}",
            f"FM{place // 20:03d}",
            tuple(lab),
            " ".join(rng.choice(words, 3)),
            owned=place % 3 == 0,
        )
        for place, lab in enumerate(labs.tolist())
    ]


def main() -> None:
    print(machine())
    swatches = pencils()
    answers = [PrecomputedStandIns(each, (), (), ()) for each in swatches]
    text = render_pocket(answers, families=families(swatches))
    rows = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        path = Path(folder) / "pocket.html"
        path.write_text(text, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(path.as_uri())
        page.wait_for_selector("#results li")
        slower = page.context.new_cdp_session(page)
        for rate in (1, 4):
            slower.send("Emulation.setCPUThrottlingRate", {"rate": rate})
            for field, typed in (("query", TYPED), ("colour", ("#c04a2b", "lab(52 40 30)"))):
                page.evaluate(f"location.hash = '{'find' if field == 'query' else 'same'}'")
                spans = np.array(page.evaluate(KEYS, [field, typed]))
                name = {"query": "a key in the search", "colour": "a key in a colour"}[field]
                name += f", slowed {rate} times" if rate > 1 else ""
                figures = [*np.median(spans, axis=0), *spans.max(axis=0)]
                rows.append((name, str(len(spans)), *(f"{figure:.1f}" for figure in figures)))
        browser.close()
    print(f"{len(swatches)} pencils, {len(text.encode()) / 1e6:.1f} MB; milliseconds")
    head = ("", "keys", "work, median", "to the frame, median", "work, worst", "frame, worst")
    print(table(head, rows))


if __name__ == "__main__":
    main()
