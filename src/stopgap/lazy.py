"""Public names of a package found in its modules on first use (PEP 562), so that nobody waits for
what is not asked for.
"""

import sys
from collections.abc import Callable, Collection, Mapping
from importlib import import_module
from typing import Any


def on_first_use(
    package: str, names: Mapping[str, str], modules: Collection[str] = ()
) -> Callable[[str], Any]:
    """A `__getattr__` for `package`: `names`, parted by spaces, are listed for each module.

    No name may be that of a module of the package, which would be found in its place, but those of
    `modules`, which are meant.
    """
    module_of = {name: module for module, listed in names.items() for name in listed.split()}

    def find(name: str) -> Any:
        if name not in module_of:
            if name in modules:
                return import_module(f"{package}.{name}")
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(f"{package}.{module_of[name]}"), name)
        setattr(sys.modules[package], name, value)
        return value

    return find
