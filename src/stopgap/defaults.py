"""What is taken where nobody says otherwise, once: functions, options and their help read it here.

Nothing but the standard library may be needed to read it, since `--help` does.
"""

from typing import Final

from stopgap.difference.grades import DEFAULT_METRIC, GRADES

METRIC = DEFAULT_METRIC
"""The colour difference that ranks; a key of METRICS."""
STEP = 12.0
"""Largest step [ΔE00] of a blend that still melts: this project's choice; paper and hand decide."""
STEPS = {"soft": 7.0, "usual": STEP, "bold": 16.0}
"""Largest steps by what a blend is for: soft skin and skies, the usual, bold strokes to be seen
from afar; this project's choice."""
PATH: Final = "auto"
"""How a blend runs between its ends; a `blends.PathKind`."""
PREFER: Final = "enough"
"""What a blend without gaps should be like; a `blends.Prefer`."""
TOLERANCE = GRADES["close"]
"""Largest ΔE of what may stand in for a listed colour: the end of the grade `close`."""
LIGHTER = 5.0
"""How much lighter [L*] a colour of a family may be than one before it: this project's choice."""
STAND_INS = 5
"""How many stand-ins are shown."""
PENCILS_BELOW = 2
"""How many pencils are shown below recipes that promise more than any pencil."""
TONES = 5
"""In how many tones a colour goes from light to shadow."""
MAIN_COLOURS = 12
"""How many colours a picture is reduced to at most."""
HOLES = 8
"""How many holes of the map are numbered."""
POCKET_STAND_INS = 3
"""How many stand-ins of either kind go with each pencil on the page for the phone."""
POCKET_RECIPES = 2
"""How many recipes go with each pencil on the page for the phone."""
LAMPS = {"A": "Bulb", "LED-B3": "LED"}
"""Lamps under which two colours edge to edge can be looked at: CIE illuminants, and their words."""
POCKET_TITLE = "My pencils"
"""What stands at the top of the page for the phone."""
PRICE = 1.0
"""What a pencil without a price is taken to cost, in the user's unit."""
FOR_SALE = ("ASTM II", "BWS 6")
"""The least rating of lightfastness on each scale for work that is sold; this project's choice."""
TIME_LIMIT = 60.0
"""How long a proof may take [s]."""
JOBS = -1
"""How many work on large sets at once: a thread a core."""
CHART_PAPER = "A4"
"""Size of the paper of charts."""
ADAPTATION: Final = "Bradford"
"""How another white is brought to D50; an `AdaptationMethod`."""
