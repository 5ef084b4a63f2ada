"""The illustrator's box, lesson list, blends and layered samples; pencils as `Range:Name`."""

from pencils import QUILLET

Pair = tuple[str, str, str, str]
"""First pencil, second pencil, pressure of the first, pressure of the second."""

_ODD_SINGLES = """
Fennmoor:Sandeel Gleam
Fennmoor:Gorse Headland
Fennmoor:Cockle Tongue
Fennmoor:Red Gurnard
Fennmoor:Crust Algae
Fennmoor:Dulse Frond
Fennmoor:Jellyfish Bell
Fennmoor:Dredged Fairway
Fennmoor:Herring Back
Fennmoor:Foghorn Note
Fennmoor:Peacock Worm Tube
Fennmoor:Lettuceweed Lip
Fennmoor:Marram Blade
Fennmoor:Bladderwrack Bead
Fennmoor:Limpet Shell
Fennmoor:Rusted Anchor
Fennmoor:Otter Holt
Fennmoor:Hag Stone
Fennmoor:Mackerel Back
Fennmoor:Tarred Rope
Fennmoor:Gull Breast
Brindlewick:Boiled Claw
Brindlewick:Maerl Twig
Brindlewick:Tyrian Whelk Dye
Brindlewick:Gannet Eye Ring
Brindlewick:Sounding Lead Line
Brindlewick:Wrasse Nest Weed
Brindlewick:Thongweed Strap
Brindlewick:Sandstone Stack Foot
Brindlewick:Lugworm Cast
Brindlewick:Tin Mackerel Spoon
"""

_NOT_OWNED_OF_QUILLET = """
Rose Petal Foliose
Tellin Hinge
Ferry Bow Wave
Paddling Blue
Tång Strap
Gigartina Tuft
Storm Cone Hoist
Glow Plankton
"""


def _owned() -> tuple[str, ...]:
    names = [entry.split(" | ")[0] for entry in QUILLET.strip().splitlines()]
    missing = _NOT_OWNED_OF_QUILLET.strip().splitlines()
    quillet = [f"Quillet:{name}" for name in names if name not in missing]
    return (*_ODD_SINGLES.strip().splitlines(), *quillet)


OWNED = _owned()

LESSON: tuple[tuple[str, str, str, bool], ...] = (
    ("Fennmoor:Hollyfoot Sandbank", "shadow on the sandbank, far side", "2", False),
    ("Fennmoor:Old Barnacle Bed", "barnacles in shade", "2", False),
    ("Fennmoor:Bottle Kelp Grove", "floor of the pool", "3", True),
    ("Fennmoor:Orchid Anemone Veil", "anemone, closed", "2", False),
    ("Fennmoor:Wet Slate", "wet rock, first layer", "3", False),
    ("Brindlewick:Reef Shelf Pool", "water over the shelf", "3", True),
    ("Quillet:Storm Cone Hoist", "squall behind the headland", "", False),
    ("Fennmoor:Gorse Headland", "lichen, lit", "1", False),
    ("#c8a46e", "dry sand, foreground", "2", False),
    ("lab(52 40 30)", "beadlet anemone, wet", "2", False),
    ("#31505a", 'the "black" under the ledge', "", False),
    ("Brindlewick:Iron Ringbolt", "mooring ring", "1", False),
    ("Fennmoor:Samphire Stem Joint", "glasswort", "1", True),
    ("Fennmoor:Slipway, Low Tide", "path", "1", True),
)
"""What is asked for, label, weight, and whether it is asked for by name instead of by code."""

BLENDS: tuple[tuple[str, str, str, str], ...] = (
    ("weed, tip to holdfast", "Fennmoor:Sandeel Gleam", "Fennmoor:Holdfast Root", "12"),
    ("anemone", "Fennmoor:Pink Tellin", "Fennmoor:Dulse Frond", ""),
    ("pool, rim to deep", "Fennmoor:Ice Foreshore", "Fennmoor:Night Ferry Wake", "10"),
)

NOTES = {
    "Fennmoor:Green Crab Claw": "named after the crab, not after the colour",
    "Fennmoor:Gull Breast": "for lifting the last layer; leaves a bloom",
    "Fennmoor:Tarred Rope": "smears under the hand",
    "Fennmoor:Old Barnacle Bed": "last seen in the old tin of 72",
    "Fennmoor:Dye Marker Slick": "fades within weeks in a window",
    "Quillet:Red Tide Line": "darker once wetted",
    "Quillet:Anchor Hour": "stains; wet only once",
}

LAYERED: tuple[Pair, ...] = (
    ("Fennmoor:Gorse Headland", "Fennmoor:Red Gurnard", "heavy", "medium"),
    ("Quillet:Sea Cucumber Lemon", "Quillet:Blue Rayed Line", "heavy", "light"),
    ("Fennmoor:Peacock Worm Tube", "Brindlewick:Wrasse Nest Weed", "heavy", "heavy"),
    ("Brindlewick:Boiled Claw", "Fennmoor:Lettuceweed Lip", "medium", "medium"),
    ("Fennmoor:Dredged Fairway", "Quillet:Custard Sponge", "medium", "heavy"),
    ("Quillet:Rust Bollard", "Brindlewick:Gannet Eye Ring", "light", "medium"),
)

HELD_OUT: tuple[Pair, ...] = (
    ("Fennmoor:Sandeel Gleam", "Fennmoor:Herring Back", "heavy", "medium"),
    ("Fennmoor:Sandeel Gleam", "Brindlewick:Tyrian Whelk Dye", "medium", "light"),
    ("Fennmoor:Limpet Shell", "Fennmoor:Dulse Frond", "heavy", "medium"),
    ("Fennmoor:Marram Blade", "Fennmoor:Otter Holt", "medium", "medium"),
    ("Fennmoor:Crust Algae", "Fennmoor:Gorse Headland", "medium", "heavy"),
    ("Fennmoor:Mackerel Back", "Fennmoor:Rusted Anchor", "light", "heavy"),
    ("Fennmoor:Jellyfish Bell", "Brindlewick:Sounding Lead Line", "heavy", "light"),
    ("Fennmoor:Hag Stone", "Quillet:Teal Anchor Buoy", "heavy", "medium"),
    ("Fennmoor:Peacock Worm Tube", "Fennmoor:Bladderwrack Bead", "heavy", "heavy"),
    ("Brindlewick:Maerl Twig", "Brindlewick:Boiled Claw", "medium", "medium"),
    ("Brindlewick:Sandstone Stack Foot", "Quillet:Codfish Weed", "heavy", "medium"),
    ("Brindlewick:Thongweed Strap", "Quillet:Rockpool Glaze", "medium", "medium"),
    ("Brindlewick:Lugworm Cast", "Quillet:Strawberry Worm", "heavy", "light"),
    ("Brindlewick:Wrasse Nest Weed", "Quillet:Sprout Glasswort", "light", "heavy"),
    ("Quillet:Crab Pot Buoy", "Quillet:Grotto Weed", "heavy", "medium"),
    ("Quillet:Sea Slug Cerata", "Quillet:Peach Cockle Lip", "medium", "medium"),
    ("Quillet:Spindrift Streak", "Quillet:Anchor Hour", "heavy", "light"),
    ("Quillet:Brackish Pond", "Fennmoor:Red Gurnard", "medium", "light"),
    ("Quillet:Orange Sheath Tunicate", "Brindlewick:Sounding Lead Line", "medium", "medium"),
    ("Quillet:Lilac Tidepool Film", "Fennmoor:Lettuceweed Lip", "heavy", "heavy"),
)
