"""What the tests of the planner have in common."""

import pytest

from stopgap.planner.shopping import buying


@pytest.fixture(scope="session", autouse=True)
def patience():
    """What a shopping list may take in any case is enough on however busy a machine."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(buying, "_AT_LEAST", 600.0)
        yield
