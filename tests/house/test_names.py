"""Names of the house: what a newcomer can rely on when looking for something."""

from importlib import import_module
from pathlib import Path

import pytest

import stopgap

SOURCE = Path(stopgap.__file__).parent
PACKAGES = sorted(path.parent for path in SOURCE.rglob("__init__.py"))


def dotted(package):
    return ".".join(("stopgap", *package.relative_to(SOURCE).parts))


@pytest.mark.parametrize("package", PACKAGES, ids=dotted)
def test_no_module_bears_a_public_name_of_its_package(package):
    """Who imports the name would get the module, or the other way round, by what came first."""
    if package == SOURCE:
        return  # its public names are its packages
    names = set(getattr(import_module(dotted(package)), "__all__", ()))
    below = {path.stem for path in package.glob("*.py")} | {
        path.parent.name for path in package.glob("*/__init__.py")
    }
    assert not names & below
