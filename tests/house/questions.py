"""The questions whose answers as JSON are compared and are checked against their schemas."""

import itertools
import struct
import zlib
from pathlib import Path
from typing import NamedTuple

DATA = Path(__file__).parents[2] / "datasets"
LESSON, BLENDS, OWNED = (str(DATA / name) for name in ("lesson.csv", "blends.csv", "owned.csv"))

DISCONTINUED = ("FM020", "FM031", "FM055", "FM079")
FREE = ("#c04a2b", "#7f9a8c", "#ffffff", "#000000", "lab(52 40 30)", "lab(60 0 0)")
PAIRS = tuple(word for place in range(1, 7) for word in ("--pair", f"FM00{place}=BW0{place}"))

FILES = {
    "own.csv": "code,name,L,a,b,price,note\n1,Grey Gull,60,0,1,2.5,\n"
    "2,Tide Wrack,42,-12,18,,soft\n",
    "newer.csv": "code,name,L,a,b\n1,Grey Gull,61,0,1\n3,Foam,95,0,2\n",
    "doubtful.csv": "code,name,L,a,b\n1,Red Kelp,60,-40,1\n2,Blue Gull,60,-40,1\n3,Void,10,90,90\n",
    "repeats.csv": "code,L,a,b,mode,instrument\n1,60,0,1,M1,X\n1,60.4,0.1,1,M1,X\n"
    "1,59.8,0,1.2,M1,X\n2,40,10,1,M0,Y\n",
    "list.csv": "colour,label,weight\nFennmoor:FM020,one,\nnobody knows this,two,2\n"
    "#c04a2b,three,0.5\n",
    "unnamed.csv": "colour\n#c04a2b\n",
    "two.csv": "name,from,to,step\nfree,lab(80 0 40),lab(30 20 -30),9\n"
    "wide,Fennmoor:FM113,#203040,20\n",
    "on_tan.csv": "name,from,to,paper\nfree,lab(60 0 30),lab(30 20 -10),tan\n"
    "wide,Fennmoor:FM113,#203040,\n",
    "easy.csv": "name,from,to,step\nnear,Quillet:Q30,Quillet:Q31,60\n",
}
"""Small files that questions name, written into the folder that they are asked in."""


def _picture() -> bytes:
    """A PNG (ISO/IEC 15948) of 40 by 20 pixels: red with a blue side and a spot of yellow."""
    red, blue, yellow = b"\xc0\x40\x30", b"\x20\x40\x90", b"\xf0\xe0\x30"
    plain = b"\0" + 30 * red + 10 * blue
    spotted = b"\0" + 29 * red + yellow + 10 * blue
    size = struct.pack(">IIBBBBB", 40, 20, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", size), (b"IDAT", zlib.compress(19 * plain + spotted)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )


PICTURE = _picture()
"""`picture.png`, in the same folder."""


class Question(NamedTuple):
    """A command line, or several spellings of it of which the first that is understood counts.

    `prepare` are commands that come before it; such a question has a library of its own.
    """

    spellings: tuple[tuple[str, ...], ...]
    prepare: tuple[tuple[str, ...], ...] = ()


def asked(*words: str, prepare: tuple[tuple[str, ...], ...] = ()) -> Question:
    """A question; a word `a|b` stands for several spellings, an empty one for no word."""
    choices = ((word,) if "|" not in word else tuple(word.split("|")) for word in words)
    spellings = (tuple(filter(None, spelling)) for spelling in itertools.product(*choices))
    return Question(tuple(spellings), prepare)


NO_LAYERS = "--no-layers|--no-layering|"
ANY = "--any|"
SINGLE = ("swatch", "add", "Single", "S1", "--hex", "#a5603c", "--owned", "--new-range")
REPEATS = ("range", "import", "repeats.csv", "--name", "Measured", "--repeats")
MINE = ("range", "import", "own.csv", "--name", "Mine")
KRAFT = (("paper", "add", "Kraft", "--colour", "tan", "--grain", "rough", "--default"),)

FORMS = {
    "match": asked("match", "Fennmoor:FM055"),
    "match_owned": asked("match", "Fennmoor:FM017", "--owned", "--limit", "3"),
    "match_free_layers": asked("match", "#7f9a8c", "--layers", "--layer-with", "any"),
    "match_rough": asked(
        "match", "lab(52 40 30)", "--grain|--paper", "rough", "--paper-colour", "#f0e8d8"
    ),
    "match_over": asked(
        "match",
        "lab(45 20 20)",
        "--over",
        "Fennmoor:FM003 medium",
        "--over",
        "Fennmoor:FM013 light",
    ),
    "match_on": asked("match", "Fennmoor:FM055", "--on", "tan", "--owned"),
    "match_lamps": asked("match", "Brindlewick:BW05", "--under", "A", "--under", "LED-B3"),
    "match_lamps_reconstructed": asked(
        "match", "Fennmoor:FM017", "--under", "A", "--reconstruct", "--limit", "2"
    ),
    "match_metric": asked("match", "#c04a2b", "--metric", "HyAB", "--no-layers"),
    "match_cautious": asked("match", "Fennmoor:FM017", "--cautious", "--include-discontinued"),
    "match_finish": asked("match", "Fennmoor:FM017", "--finish", "metallic", "--no-layers"),
    "match_lightfast": asked("match", "Fennmoor:FM017", "--min-lightfastness", "ASTM I"),
    "match_within": asked("match", "Quillet:Q12", "--within", "15", "--range", "Fennmoor"),
    "match_conditions": asked(
        "match",
        "Measured:1",
        prepare=(REPEATS,),
    ),
    "find_colour": asked("find", "dark", "green"),
    "find_inside": asked("find", "kelp", "--range", "Fennmoor", "--on", "tan"),
    "layer_alone_on": asked("layer", "Fennmoor:FM003", "--on", "Kraft", prepare=KRAFT),
    "layer": asked("layer", "Fennmoor:FM003", "Fennmoor:FM013"),
    "layer_three": asked(
        "layer",
        "Fennmoor:FM003",
        "Quillet:Q15",
        "Brindlewick:BW37",
        "--pressure",
        "light",
        "--pressure",
        "medium",
        "--grain|--paper",
        "fine|smooth",
    ),
    "layer_learnt": asked(
        "layer",
        "Fennmoor:FM053",
        "Brindlewick:BW37",
        prepare=(("calibrate", str(DATA / "layered.csv")),),
    ),
    "papers": asked(
        "paper",
        "list",
        prepare=(
            *KRAFT,
            ("paper", "edit", "Kraft", "--name", "Kraft 120 g"),
            ("paper", "add", "Mine", "--colour", "lab(96.2 -0.1 2.1)"),
            ("calibrate", str(DATA / "layered.csv"), "--on", "Mine"),
        ),
    ),
    "papers_none": asked("paper", "list"),
    "history": asked("history", prepare=(("disown", "Fennmoor:FM003"), ("undo",))),
    "calibrate_on": asked(
        "calibrate",
        str(DATA / "layered.csv"),
        "--on",
        "Mine",
        prepare=(("paper", "add", "Mine", "--colour", "lab(96.2 -0.1 2.1)"),),
    ),
    "calibrate": asked(
        "calibrate",
        str(DATA / "layered.csv"),
        "--paper-colour",
        "lab(96.2 -0.1 2.1)",
        prepare=((),),
    ),
    "family": asked("family"),
    "family_one": asked("family", "muted roses"),
    "family_show": asked("family", "show", "wines", "--range", "Fennmoor"),
    "family_moved": asked(
        "family",
        "show",
        "wines",
        prepare=(
            ("family", "move", "Fennmoor:FM024", "wines", "--after", "Fennmoor:FM015"),
            ("family", "move", "Fennmoor:FM012", "wines"),
        ),
    ),
    "family_wall": asked("family", "wall"),
    "family_check": asked("family", "check", "--owned"),
    "family_tidy": asked("family", "tidy", "wines"),
    "arrangement_list": asked(
        "arrangement", "list", prepare=(("arrangement", "new", "Box", "--from", "proposal"),)
    ),
    "family_waiting": asked("family", prepare=(("arrangement", "new", "Lesson"),)),
    "blend": asked("blend", "Fennmoor:FM113", "Fennmoor:FM112", ANY, NO_LAYERS),
    "blend_owned": asked("blend", "Fennmoor:FM001", "Fennmoor:FM070", "--owned", NO_LAYERS),
    "blend_free": asked(
        "blend",
        "lab(80 0 40)",
        "lab(30 20 -30)",
        "--via",
        "lab(60 30 0)",
        "--step",
        "9",
        "--prefer",
        "enough",
        ANY,
        NO_LAYERS,
    ),
    "blend_fewest": asked(
        "blend",
        "Fennmoor:FM001",
        "#203040",
        "--prefer",
        "fewest",
        "--max-pencils",
        "5",
        ANY,
        NO_LAYERS,
    ),
    "blend_smoothest": asked(
        "blend",
        "Fennmoor:FM001",
        "#203040",
        "--prefer",
        "smoothest",
        ANY,
        NO_LAYERS,
    ),
    "blend_by_lightness": asked(
        "blend", "Quillet:Q1", "Quillet:Q30", "--by-lightness", "--range", "Quillet", ANY, NO_LAYERS
    ),
    "blend_layers": asked("blend", "Fennmoor:FM001", "Fennmoor:FM070", "--owned", "--layers|"),
    "gaps": asked("gaps", BLENDS),
    "gaps_no_layers": asked("gaps", BLENDS, "--no-layers"),
    "gaps_any": asked("gaps", "two.csv", "--any", "--step", "8"),
    "gaps_on": asked("gaps", "on_tan.csv", NO_LAYERS),
    "gaps_none": asked("gaps", "easy.csv"),
    "gaps_families": asked("gaps"),
    "scan": asked("scan", "page.png", "--device", "flatbed", "--dry-run"),
    "palette": asked("palette", "picture.png", "colours.csv", "--colours", "2", "--overwrite"),
    "palette_pencils": asked(
        "palette",
        "picture.png",
        "pencils.csv",
        *("--pencils", "3", "--owned", "--overwrite", "--on", "tan"),
    ),
    "kit": asked("kit", "--size", "24"),
    "kit_list": asked("kit", "--size", "5", "--list", LESSON, "--keep", "FM001"),
    "kit_photo": asked("kit", "--size", "2", "--photo", "picture.png", "--least", "largest"),
    "shop_compared": asked("shop", "--for", "Fennmoor:FM031", NO_LAYERS, "--compare"),
    "holes": asked("holes", "--no-layers"),
    "tones": asked("tones", "Fennmoor:FM017", "--shadow", "cool"),
    "tones_dull": asked("tones", "#c04a2b", "--dull", "--steps", "4", "--on", "tan"),
    "translate": asked("translate", LESSON, NO_LAYERS),
    "translate_repeat": asked("translate", LESSON, "--repeat", NO_LAYERS),
    "translate_order": asked("translate", LESSON, "--keep-order", "--range", "Quillet", NO_LAYERS),
    "translate_layers": asked("translate", LESSON, "--layers"),
    "translate_layers_repeat": asked("translate", LESSON, "--layers", "--repeat"),
    "translate_any": asked("translate", LESSON, "--any", NO_LAYERS),
    "translate_unknown": asked("translate", "list.csv"),
    "translate_short": asked(
        "translate",
        LESSON,
        "--range",
        "Single",
        prepare=(SINGLE,),
    ),
    "translate_class": asked(
        "translate", "list.csv", "--box", "Quillet", "--box", OWNED, "--layers"
    ),
    "table": asked("table", "--from", "Quillet", "--to", "Fennmoor", "--to", "Brindlewick"),
    "table_shift": asked(
        "table", "--from", "Quillet", "--to", "Fennmoor", "--remove-shift", "--metric", "CIE 1976"
    ),
    "table_of_one": asked(
        "table",
        "--from",
        "Quillet",
        "--to",
        "Single",
        prepare=(SINGLE,),
    ),
    "settings": asked("settings"),
    "shop_blends": asked("shop", "--blends", BLENDS, NO_LAYERS),
    "shop_blends_layers": asked("shop", "--blends", BLENDS),
    "shop_list": asked("shop", "--list", LESSON, "--tolerance", "5", NO_LAYERS),
    "shop_both": asked("shop", "--blends", BLENDS, "--list", LESSON, "--budget", "20"),
    "shop_for": asked("shop", "--for", "Fennmoor:FM055", "--for", "Fennmoor:FM031"),
    "shop_restock": asked(
        "shop",
        "--restock",
        "--list",
        LESSON,
        prepare=(
            ("swatch", "edit", "Fennmoor", "FM003", "--stock", "empty"),
            ("swatch", "edit", "Quillet", "Q2", "--stock", "stub"),
        ),
    ),
    "shop_nothing": asked("shop", "--blends", "easy.csv", NO_LAYERS),
    "shop_broke": asked("shop", "--blends", BLENDS, NO_LAYERS, "--budget", "0"),
    "shop_impossible": asked(
        "shop", "--for", "lab(5 60 -60)", NO_LAYERS, "--tolerance", "0.1", "--range", "Quillet"
    ),
    "shop_choosy": asked(
        "shop",
        "--blends",
        BLENDS,
        NO_LAYERS,
        "--partial",
        "--range",
        "Fennmoor",
        "--range",
        "Brindlewick",
        "--exclude",
        "Fennmoor:FM050",
        "--min-lightfastness",
        "ASTM III",
        "--step",
        "11",
        "--default-price",
        "3",
    ),
    "range_import": asked(*MINE, prepare=((),)),
    "range_import_replace": asked(
        "range",
        "import",
        "newer.csv",
        "--name",
        "Mine",
        "--replace",
        prepare=(MINE, ("own", "Mine:2"), ("swatch", "edit", "Mine", "1", "--price", "9.5")),
    ),
    "range_import_doubtful": asked(
        "range", "import", "doubtful.csv", "--name", "Odd", "--white", "D65", prepare=((),)
    ),
    "range_import_repeats": asked(*REPEATS, prepare=((),)),
    "range_import_several": asked("range", "import", "own.csv", "newer.csv", prepare=((),)),
    "range_list": asked("range", "list"),
    "range_list_empty": asked(
        "range",
        "list",
        prepare=tuple(("range", "remove", name) for name in ("Fennmoor", "Brindlewick", "Quillet")),
    ),
    "range_show": asked("range", "show", "Quillet"),
    "range_show_on": asked("range", "show", "Quillet", prepare=KRAFT),
    "range_show_extra": asked("range", "show", "Fennmoor"),
    "range_show_spectra": asked("range", "show", "Brindlewick"),
    "range_show_edited": asked(
        "range",
        "show",
        "Mine",
        prepare=(
            MINE,
            (
                "swatch",
                "edit",
                "Mine",
                "1",
                "--hex",
                "#a5603c",
                "--laydown",
                "4",
                "--lightfastness",
                "BWS 6",
                "--core",
                "wax",
                "--note",
                "own note",
            ),
        ),
    ),
    "range_show_typed": asked("range", "show", "Single", prepare=(SINGLE,)),
    "range_list_typed": asked("range", "list", prepare=(SINGLE,)),
    "range_show_repeats": asked(
        "range",
        "show",
        "Measured",
        prepare=(REPEATS,),
    ),
    "range_measurement": asked("range", "show", "Brindlewick", "--measurement"),
    "range_measurement_repeats": asked(
        "range",
        "show",
        "Measured",
        "--measurement",
        prepare=(REPEATS,),
    ),
    "range_check": asked("range", "check", "Fennmoor"),
    "range_check_doubtful": asked(
        "range",
        "check",
        "Odd",
        prepare=(("range", "import", "doubtful.csv", "--name", "Odd"),),
    ),
    "range_check_repeats": asked(
        "range",
        "check",
        "Measured",
        prepare=(REPEATS,),
    ),
    "range_shift": asked("range", "shift", "Fennmoor", "Brindlewick", *PAIRS),
    "range_shift_corrected": asked(
        "range", "shift", "Fennmoor", "Brindlewick", *PAIRS, "--correct", prepare=((),)
    ),
    "range_show_corrected": asked(
        "range",
        "show",
        "Fennmoor",
        prepare=(("range", "shift", "Fennmoor", "Brindlewick", *PAIRS, "--correct"),),
    ),
}
"""Every command that answers in JSON, in the forms that change what the answer holds."""


def many() -> dict[str, Question]:
    """The questions whose answers are numbers above all: many targets, blends, stacks, lists."""
    targets = [
        *(f"Fennmoor:FM{place:03}" for place in range(2, 121, 7)),
        *(f"Brindlewick:BW{place:02}" for place in range(1, 73, 8)),
        *(f"Quillet:Q{place}" for place in range(2, 49, 8)),
        *(f"Fennmoor:{code}" for code in DISCONTINUED),
        *FREE,
    ]
    questions = {}
    for place, target in enumerate(targets):
        forms = ((), ("--owned",), ("--layers",), ("--no-layers", "--cautious"))
        questions[f"many_match_{place:02}"] = asked("match", target, *forms[place % len(forms)])
    ends = [f"Fennmoor:FM{place:03}" for place in range(1, 71, 3)]
    for place, (start, end) in enumerate(zip(ends, reversed(ends), strict=True)):
        questions[f"many_blend_{place:02}"] = asked("blend", start, end, ANY, NO_LAYERS)
        questions[f"many_blend_owned_{place:02}"] = asked(
            "blend", start, end, "--owned", "--prefer", "enough", NO_LAYERS
        )
    owned = [f"Quillet:Q{place}" for place in (1, 7, 15, 21, 30, 36, 45)]
    for place, (first, second) in enumerate(itertools.pairwise(owned)):
        pressure = ("light", "medium", "heavy")[place % 3]
        questions[f"many_layer_{place}"] = asked(
            "layer", first, second, "--pressure", "heavy", "--pressure", pressure
        )
    for name in ("CIE 1976", "CIE 1994", "CMC", "HyAB"):
        questions[f"many_metric_{name.replace(' ', '_')}"] = asked(
            "match", "Fennmoor:FM017", "--metric", name
        )
    for budget in ("2", "5", "10"):
        questions[f"many_shop_{budget}"] = asked(
            "shop", "--blends", BLENDS, "--list", LESSON, NO_LAYERS, "--budget", budget
        )
    return questions
