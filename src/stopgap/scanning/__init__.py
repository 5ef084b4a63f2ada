"""Paper and pictures read back: charts coloured in, and the colours of a photograph."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
