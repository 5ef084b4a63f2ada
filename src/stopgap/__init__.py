"""Stand-ins, layering recipes and gaps for people who draw with coloured pencils.

Public names are resolved on first use, so that `import stopgap` costs next to nothing.

>>> import stopgap
>>> float(round(stopgap.difference.delta_E([50, 2.6772, -79.7751], [50, 0, -82.7485]), 4))
2.0425
"""

__version__ = "0.1.0"


def __getattr__(name: str) -> object:
    # nothing is loaded before the command line can tell what an interrupt has left
    from stopgap.faces import attach

    find, _, names = attach(__name__, __file__)
    return names if name == "__all__" else find(name)


def __dir__() -> list[str]:
    return [*__getattr__("__all__")]
