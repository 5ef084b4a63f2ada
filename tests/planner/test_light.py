"""Matches under lamps: what spectra tell, and what is said where there are none."""

from dataclasses import replace

import numpy as np
import pytest
from colour.quality.datasets import SDS_TCS

from stopgap.colorimetry import (
    RECONSTRUCTED_AT,
    plausible_reflectances,
    reflectance_to_lab,
    reflectance_to_xyz,
)
from stopgap.difference import delta_E
from stopgap.errors import InputError, Remedy
from stopgap.planner import find_stand_ins, look_under
from stopgap.swatches import (
    Bandpass,
    Finish,
    FreeColour,
    MeasurementConditions,
    Reflectance,
    Selection,
    Source,
    Swatch,
)

NM = tuple(map(float, range(400, 701, 10)))


def spectral(code, factors, **facts):
    L, a, b = map(float, reflectance_to_lab(NM, factors))
    spectrum = Reflectance(NM, tuple(map(float, factors)))
    return Swatch("Fen", code, (L, a, b), reflectance=spectrum, source=Source.MEASURED, **facts)


def metameric(amount, seed=4):
    """Two swatches of one colour under D50 (Cohen and Kappauf 1982: plus a metameric black)."""
    weights = reflectance_to_xyz(NM, np.eye(31))
    projector = weights @ np.linalg.inv(weights.T @ weights) @ weights.T
    first = 0.3 + 0.3 / (1 + np.exp(-(np.array(NM) - 560) / 20))
    wavy = np.sin(np.array(NM) / (20 + seed))
    black = wavy - projector @ wavy
    return spectral("1", first), spectral("2", first + amount * black / np.abs(black).max())


def test_a_metameric_match_is_flagged_under_lamps():
    target, candidate = metameric(0.15)
    answer = look_under(find_stand_ins(target, [candidate]), ["a", "LED-B3", "D50"])
    (match,) = answer.matches
    assert match.delta_E < 1e-6
    lamp, led, day = match.under
    assert [light.illuminant for light in match.under] == ["A", "LED-B3", "D50"]
    spectra = [swatch.reflectance.values for swatch in (target, candidate)]
    for light in match.under:
        labs = [reflectance_to_lab(NM, values, light.illuminant) for values in spectra]
        assert light.delta_E == pytest.approx(float(delta_E(*labs)), abs=1e-9)
        assert light.metamerism == pytest.approx(light.delta_E, abs=1e-4)
        assert light.interval is None
    assert lamp.parts
    assert not day.parts
    assert "Fen:2: may pass under D50 but not under every lamp" in " ".join(map(str, answer.notes))
    assert led.delta_E > 0


def test_the_same_pigment_is_not_flagged():
    target, candidate = metameric(0.0)
    (match,) = look_under(find_stand_ins(target, [candidate]), ["A", "F11"]).matches
    assert not any(light.parts for light in match.under)


def test_far_colours_are_not_said_to_part():
    target, _ = metameric(0.0)
    other = spectral("3", np.linspace(0.6, 0.1, 31))
    (match,) = look_under(find_stand_ins(target, [other]), ["A"]).matches
    assert match.grade == "different"
    assert not match.under[0].parts


@pytest.mark.parametrize("target_has", [True, False])
def test_without_a_spectrum_it_cannot_be_known(target_has):
    with_spectrum, _ = metameric(0.0)
    bare = Swatch("Fen", "9", with_spectrum.lab)
    target, candidate = (with_spectrum, bare) if target_has else (bare, with_spectrum)
    answer = look_under(find_stand_ins(target, [candidate]), ["A"])
    assert answer.matches[0].under == ()
    assert "cannot be known" in " ".join(map(str, answer.notes))
    assert Remedy.RECONSTRUCT in [note.remedy for note in answer.notes]


def test_the_likely_size_on_request():
    with_spectrum, _ = metameric(0.0)
    bare = Swatch("Fen", "9", with_spectrum.lab)
    found = find_stand_ins(FreeColour("x", with_spectrum.lab), [bare, with_spectrum])
    answer = look_under(found, ["A", "F11"], reconstruct=True)
    for match in answer.matches:
        for light in match.under:
            low, high = light.interval
            assert 0 <= low < light.delta_E < high
    assert "They are no measurement" in " ".join(map(str, answer.notes))
    assert look_under(found, ["A", "F11"], reconstruct=True) == answer


def test_fluorescent_colours_are_not_computed():
    target, candidate = metameric(0.0)
    glowing = replace(candidate, finish=Finish.FLUORESCENT)
    widened = Selection(finishes=(Finish.FLUORESCENT,))
    answer = look_under(
        find_stand_ins(target, [glowing], selection=widened), ["A"], reconstruct=True
    )
    assert answer.matches[0].under == ()
    assert "a finish that is not fluorescent" in " ".join(map(str, answer.notes))
    answer = look_under(
        find_stand_ins(glowing, [target], selection=Selection()), ["A"], reconstruct=True
    )
    assert "the target is fluorescent" in " ".join(map(str, answer.notes))


def test_a_correction_for_the_bandpass_goes_on_under_lamps():
    target, candidate = metameric(0.0)
    corrected = MeasurementConditions(bandpass=Bandpass.IMPORT)
    blurred = replace(candidate, measurement=corrected)
    (match,) = look_under(find_stand_ins(target, [blurred]), ["A"]).matches
    expected = delta_E(
        reflectance_to_lab(NM, target.reflectance.values, "A"),
        reflectance_to_lab(NM, candidate.reflectance.values, "A", correct_bandpass=True),
    )
    assert match.under[0].delta_E == pytest.approx(float(expected))


def test_a_black_that_reflects_nothing():
    black = spectral("0", np.zeros(31))
    (match,) = look_under(find_stand_ins(black, [replace(black, code="1")]), ["A"]).matches
    assert match.under[0].delta_E == 0


def test_unknown_lights_are_refused():
    target, candidate = metameric(0.0)
    with pytest.raises(InputError, match="illuminant"):
        look_under(find_stand_ins(target, [candidate]), ["candle"])


def test_beside_a_measured_reflectance_draws_are_partly_like_it():
    """They keep the colour, and half of them lie nearer to it than nearly all others do."""
    known = np.linspace(0.2, 0.7, 31)
    lab = reflectance_to_lab(RECONSTRUCTED_AT, known)
    plain = plausible_reflectances(lab, 400)
    beside = plausible_reflectances(lab, 400, beside=known)
    away = [np.sqrt(np.mean((draws - known) ** 2, axis=1)) for draws in (plain, beside)]
    assert np.quantile(away[1], 0.25) < 0.7 * np.quantile(away[0], 0.25)
    assert np.quantile(away[1], 0.95) > 0.9 * np.quantile(away[0], 0.95)
    assert delta_E(reflectance_to_lab(RECONSTRUCTED_AT, beside), lab).max() < 0.5


def test_nine_in_ten_of_the_test_colours_lie_within_what_is_said_under_a():
    """CIE 13.3's fourteen, by colour-science, each hidden beside its nearest: 12 or more of 14."""
    samples = next(iter(SDS_TCS.values())).values()
    known = [np.interp(RECONSTRUCTED_AT, one.wavelengths, one.values) for one in samples]
    labs = reflectance_to_lab(RECONSTRUCTED_AT, known)
    held = []
    for row, lab in enumerate(labs):
        near = int(np.argsort(delta_E(lab, labs))[1])
        candidate = spectral("near", known[near])
        hidden = Swatch("Fen", "hidden", tuple(map(float, lab)))
        said = look_under(find_stand_ins(hidden, [candidate]), ["A"], reconstruct=True)
        true = look_under(find_stand_ins(spectral("shown", known[row]), [candidate]), ["A"])
        low, high = said.matches[0].under[0].interval
        held.append(low <= true.matches[0].under[0].delta_E <= high)
    assert sum(held) >= 12
