"""`python tests/faults/round_trip.py [N [SEED [FORMAT …]]]`: ranges through every format, or those.

N is 20,000 by default. They are drawn by the seed, 0 by default, so that a run can be repeated, and
gone on with by the formats that are left.
"""

import sys
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.strategies import just

sys.path.insert(0, str(Path(__file__).parents[1] / "library"))

from test_round_trip import back, bits
from whole_ranges import ranges

from stopgap.swatches import WRITTEN_FORMATS, Swatch


def main(count: int, number: int, forms: list[str]) -> None:
    """Say how many came back; the first that does not is shown with its traceback."""
    run = settings(
        max_examples=count,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    with tempfile.TemporaryDirectory() as folder:
        for form in forms or WRITTEN_FORMATS:
            run(seed(number)(given(just(form), just(Path(folder)), ranges())(_comes_back)))()
            print(f"{form}: {count} ranges of seed {number} came back to the last bit", flush=True)


def _comes_back(form: str, folder: Path, swatches: list[Swatch]) -> None:
    assert [*map(bits, back(swatches, form, folder))] == [*map(bits, swatches)]


if __name__ == "__main__":
    asked = sys.argv[1:]
    main(int(asked[0]) if asked else 20_000, int(asked[1]) if asked[1:] else 0, asked[2:])
