"""Ranges of every kind of content that a file may hold, for laws of what comes back."""

from hypothesis import strategies as st

from stopgap.swatches import (
    CONDITIONS,
    FIELDS,
    Core,
    Finish,
    LaidState,
    Lightfastness,
    LightfastnessScale,
    MeasurementConditions,
    MeasurementMode,
    Opacity,
    Pressure,
    Reason,
    Sets,
    Source,
    Status,
    Stock,
    Swatch,
)

NASTY = (
    *("=1+1", "'=1+1", "''", "'", "+5", "-5", "@here", "-", "_x0041_", "_x005F_x0041_", "_x000A_"),
    *("1,5", "1.5", "007", "7", "1e5", "NaN", "inf", "True", "yes", "#N/A", "2024-01-02", "1_000"),
    *('say "so"', '"', "a;b", "a,b;c", "a\tb", "two\nlines", "two\r\nlines", "a\\u000ab", "\\"),
    *("END_DATA", "BEGIN_DATA", "#hash", "<b>&amp;", "]]>", "kept: x", "kept 2: y", "é漢字🖍"),
    *("line\u2028break", "Farbe", "0.30000000000000004", "{}", "%s", "CGATS.17", "a  b"),
)
"""Texts that some format takes for something else."""

HEADINGS = (
    *(title for row in FIELDS.values() for title in row.titles),
    *CONDITIONS,
    *("X", "Y", "Z", "hex", "HEX", "L*", "Lightfastness scale", "nm400", "nm_410", "nm420,5"),
    *("SAMPLE_ID", "SampleID", "SAMPLE_NAME", "LAB_L", "lab_a", "XYZ_X", "SPECTRAL_NM400", "400"),
    *("SPECTRAL_NM", "SPECTRAL_PCT", "SPECTRAL_DEC", "R_700", "NUMBER_OF_SETS", "BEGIN_DATA"),
    *("END_DATA_FORMAT", "KEYWORD", "ORIGINATOR", "Tin", "tin", "TIN", "kept: Tin", "kept 2: tin"),
    *("STOPGAP_ESCAPES", "Sheet: Tag", "stopgap", "code (kept)", "A1"),
    *("Farbe", "Nom", "L (D50)", "400 nm", "Preis in EUR", "Lab", "ΔE", "Nr.", "R", "G", "B", "*"),
)
"""Headings out of every format's words."""

_words = st.text(st.characters(exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=12).map(
    str.strip
)
texts = st.one_of(st.sampled_from(NASTY), _words.filter(bool))
maybe_texts = st.one_of(st.just(""), texts)
headings = st.one_of(st.sampled_from(HEADINGS), texts)
_opponent = st.floats(-200.0, 200.0)
_ratings = st.one_of(
    st.builds(Lightfastness, st.just(LightfastnessScale.ASTM), st.integers(1, 5)),
    st.builds(Lightfastness, st.just(LightfastnessScale.BWS), st.integers(1, 8)),
    st.builds(
        Lightfastness, st.just(LightfastnessScale.OWN), st.integers(1, 3), st.sampled_from((0, 3))
    ),
)
_positive = st.floats(0.0, 1e12)
_sets = st.sampled_from(("", "Shore", "Shore = 18.5; =1+1", "Tin; Large tin = 0.1", "1; '2")).map(
    lambda told: Sets().read(told) if told else ()
)


def _conditions(mode):
    return st.builds(
        MeasurementConditions,
        illuminant=st.just("D50"),
        observer=st.just(2),
        assumed=st.just(value=False),
        mode=st.just(mode),
        geometry=st.sampled_from(("", "45/0", "45:0", "d/8", "di/8")) | texts,
        instrument=maybe_texts,
        backing=maybe_texts,
        date=maybe_texts,
        bandpass=st.none(),  # of a spectrum
    )


def _swatch(code, mode):
    return st.builds(
        Swatch,
        range=st.just("Fen"),
        code=st.just(code),
        lab=st.tuples(st.floats(0.0, 100.0), _opponent, _opponent),
        name=maybe_texts,
        status=st.sampled_from(Status),
        owned=st.booleans(),
        finish=st.sampled_from(Finish),
        core=st.none() | st.sampled_from(Core),
        lightfastness=st.none() | _ratings,
        price=st.none() | _positive | st.just(0.1 + 0.2),
        laydown=st.none() | st.integers(1, 5),
        avoid=maybe_texts.filter(lambda text: text == Reason().read(text)),
        stock=st.none() | st.sampled_from(Stock),
        opacity=st.none() | st.sampled_from(Opacity),
        source=st.just(Source.MEASURED),
        measurement=_conditions(mode),
        uncertainty=st.floats(0.0, 100.0),
        shared_uncertainty=st.floats(0.0, 100.0),
        paper=maybe_texts,
        pressure=st.sampled_from(Pressure),
        passes=st.integers(1, 99),
        state=st.sampled_from(LaidState),
        batch=maybe_texts,
        sets=_sets,
        note=maybe_texts,
        extra=st.dictionaries(headings, texts, max_size=4),
    )


@st.composite
def ranges(draw, most=4):
    """Swatches of one range, each with a code of its own."""
    codes = draw(st.lists(texts, min_size=1, max_size=most, unique_by=str.casefold))
    mode = draw(st.none() | st.sampled_from(MeasurementMode))  # a range is read in one
    return [draw(_swatch(code, mode)) for code in codes]
