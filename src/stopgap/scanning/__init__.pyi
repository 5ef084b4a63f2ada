from .layout import BoxSection as BoxSection
from .layout import lay_out_edition as lay_out_edition
