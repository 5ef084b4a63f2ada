from .blocks import Report as Report
from .render import RENDERERS as RENDERERS
