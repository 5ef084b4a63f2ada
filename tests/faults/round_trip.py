"""`python tests/faults/round_trip.py [N]`: N ranges, 20,000 by default, through every format."""

import sys
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.strategies import just

sys.path.insert(0, str(Path(__file__).parents[1] / "library"))

from test_round_trip import back, bits
from whole_ranges import ranges

from stopgap.swatches import WRITTEN_FORMATS, Swatch


def main(count: int) -> None:
    """Say how many came back; the first that does not is shown with its traceback."""
    run = settings(
        max_examples=count,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    with tempfile.TemporaryDirectory() as folder:
        for form in WRITTEN_FORMATS:
            run(given(just(form), just(Path(folder)), ranges())(_comes_back))()
            print(f"{form}: {count} ranges came back to the last bit", flush=True)


def _comes_back(form: str, folder: Path, swatches: list[Swatch]) -> None:
    assert [*map(bits, back(swatches, form, folder))] == [*map(bits, swatches)]


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
