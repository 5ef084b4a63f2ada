"""The public names of a package, found on first use, as the stub beside it lists them."""

from collections.abc import Callable
from typing import Any

import lazy_loader

Face = tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]


def attach(package: str, file: str) -> Face:
    """`__getattr__`, `__dir__` and `__all__` of a package whose `__init__.py` is `file`.

    Each import in the stub is a line `from .module import name as name`. lazy_loader would parse it
    as Python, which takes four times as long, at every start and for every package.
    """
    submodules: list[str] = []
    names: dict[str, list[str]] = {}
    with open(f"{file}i", encoding="utf-8") as stub:
        for line in stub:
            if line.startswith("from ."):
                _, module, _, name, *_ = line.split()
                (names.setdefault(module[1:], []) if module != "." else submodules).append(name)
    face: Face = lazy_loader.attach(package, submodules, names)
    return face
