"""The desk: the whole job on a page of this machine, without a terminal.

A room is a question's form and its answer: `rooms` has a file for each. It opens the library, calls
the one function that answers, and hands the report to `reports`, as a command does. `doors` says
who may come in, `pages` what lies at which address, `running` how it starts and ends.
"""

from stopgap.faces import attach

__getattr__, __dir__, __all__ = attach(__name__, __file__)
