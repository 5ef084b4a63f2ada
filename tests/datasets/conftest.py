"""The three ranges, read once for all tests of the demo data."""

import pytest
from demo_files import RANGES, Floats, Row, range_lab, read_range


@pytest.fixture(scope="session")
def ranges() -> dict[str, list[Row]]:
    return {name: read_range(name) for name in RANGES}


@pytest.fixture(scope="session")
def labs(ranges: dict[str, list[Row]]) -> dict[str, Floats]:
    """Lab by `RANGE:CODE`."""
    return {
        f"{name}:{row['code']}": lab
        for name, rows in ranges.items()
        for row, lab in zip(rows, range_lab(name, rows), strict=True)
    }


@pytest.fixture(scope="session")
def pencils(ranges: dict[str, list[Row]]) -> dict[str, Row]:
    """Rows by `RANGE:CODE`."""
    return {f"{name}:{row['code']}": row for name, rows in ranges.items() for row in rows}
