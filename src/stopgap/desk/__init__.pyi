from .asking import Usual as Usual
from .running import icon_text as icon_text
from .running import open_desk as open_desk
