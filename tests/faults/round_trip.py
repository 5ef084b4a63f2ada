"""`python tests/faults/round_trip.py [FIRST:END] [--tally FILE] [FORMAT …]`: what comes back.

Each seed is a hundred ranges, through every format that is written or through those named; 200
seeds by default.
"""

import sys
import tempfile
from collections import Counter
from functools import partial
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as drawn_by
from hypothesis.strategies import just
from long_runs import asked, run

sys.path.insert(0, str(Path(__file__).parents[1] / "library"))

from test_round_trip import back, bits
from whole_ranges import ranges

from stopgap.swatches import WRITTEN_FORMATS, Swatch

EACH = 100


def outcome(form: str, folder: Path, seed: int) -> Counter[str]:
    """A hundred ranges; the least that does not come back is shown with its traceback."""
    many = settings(
        max_examples=EACH,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    many(drawn_by(seed)(given(just(form), just(folder), ranges())(_comes_back)))()
    return Counter({"came back to the last bit": EACH})


def _comes_back(form: str, folder: Path, swatches: list[Swatch]) -> None:
    assert [*map(bits, back(swatches, form, folder))] == [*map(bits, swatches)]


if __name__ == "__main__":
    to_try = asked(__doc__, 200)
    with tempfile.TemporaryDirectory() as name:
        faults = [
            run(f"{form} there and back", to_try, partial(outcome, form, Path(name)))
            for form in to_try.words or WRITTEN_FORMATS
        ]
    sys.exit(any(faults))
