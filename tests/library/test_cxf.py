"""CxF/X: the sample of another project, what is refused for safety, and exports read back."""

from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from stopgap.colorimetry import reflectance_to_lab
from stopgap.errors import InputError, ProblemsInFile, Remedy
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.exporting import export_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.tables.formats.cxf import read_cxf
from stopgap.library.tables.formats.signs import is_xml
from stopgap.swatches import (
    Bandpass,
    Finish,
    MeasurementConditions,
    MeasurementMode,
    Source,
    Swatch,
)

CORE = "http://colorexchangeformat.com/CxF3-core"


def read(tmp_path, data, convention=None, **options):
    path = tmp_path / "range.bin"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return read_range(path, "Fen", convention or Convention(source=Source.MEASURED), **options)


def swatches_of(draft):
    return [swatch for swatch, _ in draft.swatches]


@pytest.fixture(scope="module")
def sample():
    """144 objects with Lab and reflectance: colour-cxf 0.1.1, among its tests."""
    folder = files("colour_cxf") / "tests" / "resources"
    if not folder.is_dir():
        pytest.skip("this colour-cxf comes without its tests")
    return (folder / "sample.cxf").read_bytes()


def test_the_sample_reads_whole_and_its_lab_agrees_with_its_spectra(tmp_path, sample):
    draft = read(tmp_path, sample)
    swatches = swatches_of(draft)
    assert len(swatches) == 144
    assert all(swatch.measurement.geometry == "45/0" for swatch in swatches)
    # The file's own Lab, declared for D50 and 2 degrees. It was made with other tables of weights;
    # measured here: mean 0.077, largest 0.119 in ΔE*ab.
    table = read_cxf(sample, "sample")
    place = [table.header.cells.index(axis) for axis in "Lab"]
    stated = np.array([[float(row.cells[index]) for index in place] for row in table.rows])
    delta_E = np.linalg.norm(stated - [swatch.lab for swatch in swatches], axis=1)
    assert delta_E.max() < 0.15
    assert table.rows[0].cells[table.header.cells.index("illuminant")] == "D50"
    assert table.rows[0].cells[table.header.cells.index("observer")] == "2"


@pytest.mark.parametrize("form", ["CSV", "CGATS", "CxF"])
def test_the_sample_goes_through_every_format(tmp_path, sample, form):
    swatches = swatches_of(read(tmp_path, sample))
    assert swatches_of(read(tmp_path, export_range(swatches, form))) == swatches


MEASURED = MeasurementConditions(
    "D50",
    2,
    mode=MeasurementMode.M1,
    geometry="45/0",
    instrument="bench",
    backing="white",
    date="2026-02-03",
)


@pytest.mark.parametrize("form", ["CSV", "CGATS", "CxF"])
def test_everything_known_of_a_pencil_comes_back(tmp_path, form):
    given = [
        Swatch("Fen", "1", (50.1, -2.25, 1 / 3), "Käpp", owned=True, note="a;b"),
        Swatch("Fen", "-5", (99.0, 0.0, 0.0), finish=Finish.METALLIC, extra={"Tin no": "=1+1"}),
    ]
    swatches = [replace(one, source=Source.MEASURED, measurement=MEASURED) for one in given]
    assert swatches_of(read(tmp_path, export_range(swatches, form))) == swatches


def document(objects, specification="", declaration="", spectrum_step=10):
    return f"""<?xml version="1.0" encoding="UTF-8"?>{declaration}
<cc:CxF xmlns:cc="{CORE}"><cc:Resources>
<cc:ObjectCollection>{objects}</cc:ObjectCollection>
<cc:ColorSpecificationCollection><cc:ColorSpecification Id="s1">
<cc:TristimulusSpec><cc:Illuminant>D65</cc:Illuminant><cc:Observer>2_Degree</cc:Observer>
<cc:Method>E308_Table5</cc:Method></cc:TristimulusSpec>
<cc:MeasurementSpec><cc:MeasurementType>Spectrum_Reflectance</cc:MeasurementType>
<cc:GeometryChoice><cc:SphereGeometry>Specular_Excluded</cc:SphereGeometry></cc:GeometryChoice>
<cc:WavelengthRange StartWL="400" Increment="{spectrum_step}"/>
<cc:BandpassCorrected>true</cc:BandpassCorrected>
<cc:Device><cc:Model>bench</cc:Model><cc:DeviceIllumination>M2_UVExcluded</cc:DeviceIllumination>
</cc:Device></cc:MeasurementSpec></cc:ColorSpecification>{specification}
</cc:ColorSpecificationCollection></cc:Resources></cc:CxF>"""


def thing(values, name="1", kind="Standard"):
    return (
        f'<cc:Object ObjectType="{kind}" Name="{name}" Id="i{name}"><cc:CreationDate>'
        f"2026-02-03T00:00:00Z</cc:CreationDate><cc:ColorValues>{values}</cc:ColorValues>"
        "</cc:Object>"
    )


def lab(L, a, b, specification="s1"):
    return (
        f'<cc:ColorCIELab ColorSpecification="{specification}"><cc:L>{L}</cc:L><cc:A>{a}</cc:A>'
        f"<cc:B>{b}</cc:B></cc:ColorCIELab>"
    )


def spectrum(values, specification="s1"):
    numbers = " ".join(map(str, values))
    return (
        f'<cc:ReflectanceSpectrum ColorSpecification="{specification}">{numbers}'
        "</cc:ReflectanceSpectrum>"
    )


GREY = [0.4] * 31


def test_conditions_and_white_come_from_the_specification(tmp_path):
    (swatch,) = swatches_of(read(tmp_path, document(thing(lab(50, 10, 0)))))
    measured = swatch.measurement
    assert (measured.illuminant, measured.observer, measured.assumed) == ("D65", 2, False)
    assert (measured.mode, measured.geometry) == (MeasurementMode.M2, "de/8")
    assert measured.instrument == "bench"
    assert swatch.lab != (50.0, 10.0, 0.0)  # adapted from D65
    with pytest.raises(InputError, match="states the illuminant D65, which contradicts"):
        read(tmp_path, document(thing(lab(50, 10, 0))), Convention("D50"))


def test_a_bandpass_corrected_by_the_instrument_is_not_corrected_again(tmp_path):
    text = document(thing(spectrum(GREY)))
    assert swatches_of(read(tmp_path, text))[0].measurement.bandpass is Bandpass.INSTRUMENT
    with pytest.raises(InputError, match="corrected for the bandpass already"):
        read(tmp_path, text, Convention(correct_bandpass=True))


def test_lab_that_is_not_of_its_spectrum_is_said(tmp_path):
    # Lab for D65 beside a reflectance: right as it stands, wrong once the file calls it D50
    factors = [0.1] * 16 + [0.6] * 15
    L, a, b = reflectance_to_lab(range(400, 701, 10), factors, "D65")
    right = document(thing(spectrum(factors) + lab(L, a, b)))
    assert "lie" not in " ".join(map(str, read(tmp_path, right).notes))
    wrong = read(tmp_path, right.replace(">D65<", ">A<"))
    assert "ΔE*ab from its spectra on average" in " ".join(map(str, wrong.notes))


def test_a_substrate_is_the_paper_and_no_pencil(tmp_path):
    objects = thing(spectrum(GREY)) + thing(spectrum([0.9] * 31), "sheet", "Substrate")
    draft = read(tmp_path, document(objects))
    assert [swatch.code for swatch in swatches_of(draft)] == ["1"]
    assert draft.paper.measured
    assert draft.paper.lab[0] == pytest.approx(95.997, abs=1e-3)  # L* of Y = 90: 116·0.9^(1/3)-16


def test_several_readings_of_an_object_are_repeats(tmp_path):
    text = document(thing(spectrum(GREY) + spectrum([0.42] * 31)))
    with pytest.raises(ProblemsInFile, match="which row 1 has already"):
        read(tmp_path, text)
    (swatch,) = swatches_of(read(tmp_path, text, repeats=True))
    assert swatch.readings.count == 2
    assert swatch.reflectance.values[0] == pytest.approx(0.41)


def test_several_modes_of_an_object_need_a_choice(tmp_path):
    other = (
        document("")
        .partition("<cc:ColorSpecification ")[2]
        .partition("</cc:ColorSpecification>")[0]
    )
    other = "<cc:ColorSpecification " + other.replace('"s1"', '"s2"').replace(
        "M2_UVExcluded", "M0_Incandescent"
    )
    values = spectrum(GREY) + spectrum([0.45] * 31, "s2")
    text = document(thing(values), other + "</cc:ColorSpecification>")
    with pytest.raises(InputError, match=r"measured as M2 and as M0\.") as refused:
        read(tmp_path, text)
    assert (refused.value.remedy, refused.value.details["modes"]) == (Remedy.ONE_MODE, "M0 or M2")
    (swatch,) = swatches_of(read(tmp_path, text, Convention(mode=MeasurementMode.M0)))
    assert swatch.reflectance.values[0] == 0.45


BOMB = (
    '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">'
    '<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>'
)
OUTSIDE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>'
REMOTE = '<!DOCTYPE x SYSTEM "http://localhost:9/x.dtd">'


@pytest.mark.parametrize("declaration", [BOMB, OUTSIDE, REMOTE], ids=["bomb", "file", "remote"])
def test_entities_and_document_types_are_refused(tmp_path, declaration):
    name = "&c;" if declaration is BOMB else "&a;" if declaration is OUTSIDE else "1"
    with pytest.raises(InputError, match="declares a document type or entities"):
        read(tmp_path, document(thing(lab(50, 0, 0), name), declaration=declaration))
    wide = document(thing(lab(50, 0, 0), name), declaration=declaration)
    with pytest.raises(InputError, match="declares a document type or entities"):
        read(tmp_path, wide.replace("UTF-8", "UTF-16").encode("utf-16"))


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (document(thing(lab(50, 0, 0)))[:-60], "damaged or truncated"),
        ("<svg xmlns='http://www.w3.org/2000/svg'/>", "the XML is not CxF 3"),
        (document(thing(lab(50, "x", 0))), "not valid CxF 3"),
        (document(thing(lab(50, 0, 0)) + "<cc:Nonsense/>"), "not valid CxF 3"),
        (document(thing(lab(50, 0, 0, "s9"))), "ColorSpecification 's9' is not defined"),
        (document(thing("")), "none of the 1 objects has"),
        (document(thing(spectrum(GREY)), spectrum_step=0), "an increment of 1 nm or more"),
        (document(thing(spectrum(GREY)), spectrum_step=-10), "an increment of 1 nm or more"),
        (document(thing(spectrum(GREY[:20]))), "row 1: wavelengths: expected at least 400 to 680"),
        (document(thing(spectrum([40.0] * 31))), "looks like per cent"),
        (document(thing(spectrum([-0.05, *GREY[1:]]))), "column nm400: found '-0.05'"),
        (document(thing(spectrum([1.2, *GREY[1:]]))), "more only with the finish fluorescent"),
        (document(thing(lab(50, 0, 0)) * 2), "which row 1 has already"),
    ],
)
def test_what_is_not_as_it_should_be(tmp_path, text, sentence):
    with pytest.raises(InputError, match=sentence):
        read(tmp_path, text)


def test_control_characters_do_not_spoil_the_file(tmp_path):
    swatch = Swatch("Fen", "1\x01", (50.0, 0.0, 0.0), "bell\x07")
    (back,) = swatches_of(read(tmp_path, export_range([swatch], "CxF")))
    assert (back.code, back.name) == (r"1\u0001", r"bell\u0007")


def test_any_xml_is_known_for_what_it_is():
    assert is_xml(b"\xef\xbb\xbf <?xml version='1.0'?>")
    assert is_xml("<?xml version='1.0'?>".encode("utf-16"))
    assert not is_xml(b"code,L,a,b\n1,50,0,<0\n")
