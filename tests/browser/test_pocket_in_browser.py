"""The page for the phone in a real browser: search, stand-ins, comparison, ticks that stay."""

import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import coloraide
import numpy as np
import pytest
from PIL import Image

from stopgap.blends import families
from stopgap.difference import delta_E_ciede2000
from stopgap.library import open_library
from stopgap.planner import (
    BY_HUE,
    LayerQuestion,
    ToBuy,
    estimated_conditions,
    find_stand_ins,
    precompute_stand_ins,
)
from stopgap.planner.nearness import hue_keeping_difference
from stopgap.reports.pocket import render_pocket
from stopgap.swatches import Finish, FreeColour, Selection, Status, Stock, Swatch

pytestmark = pytest.mark.slow

TABLE = np.genfromtxt(
    Path(__file__).parents[1] / "reference" / "ciede2000_sharma2005.csv",
    delimiter=",",
    names=True,
    skip_header=8,
)

FEN = [
    Swatch("Fen", "1", (50.0, -20.0, 25.0), "Kelp Green", owned=True),
    Swatch("Fen", "2", (52.0, -19.0, 24.0), "Tide Wrack"),
    Swatch("Fen", "3", (85.0, 0.0, 2.0), "Gull Wing", owned=True, status=Status.DISCONTINUED),
    Swatch("Burn", "11", (62.0, 35.0, 40.0), "Crème Brûlée"),
    Swatch("Burn", "12", (35.0, 10.0, -40.0), "Dusk", owned=True),
    Swatch("Burn", "13", (60.0, 0.0, 0.0), "Mica", finish=Finish.METALLIC),
]


@pytest.fixture
def pocket(tmp_path):
    def write(swatches, to_buy=(), layering=None, *, figures=False):
        path = tmp_path / "pocket.html"
        answers = precompute_stand_ins(swatches, layering=layering)
        filed = families(swatches)
        text = render_pocket(answers, families=filed, to_buy=to_buy, figures=figures)
        path.write_text(text, encoding="utf-8")
        return path

    return write


def turn_to(page, view):
    """Follow the link to a view, and wait until it is there: addresses change in their own time."""
    page.click(f"nav a[href='#{view}']")
    page.wait_for_selector(f"#{view}")
    page.wait_for_selector(f"nav a[href='#{view}'][aria-current=page]")


def found(page, query):
    page.fill("#query", query)
    return page.eval_on_selector_all("#results summary b", "all => all.map(one => one.textContent)")


def test_search_by_name_code_and_colour_words(visit, pocket):
    page = visit(360).open(pocket(FEN))
    assert page.inner_text("#count") == "6 pencils"
    assert found(page, "tide") == ["Tide Wrack"]
    assert found(page, "KELP gre") == ["Kelp Green"]
    assert found(page, "12") == ["Dusk"]
    assert found(page, "burn:11") == found(page, "Burn 011") == ["Crème Brûlée"]
    assert found(page, "creme brulee") == ["Crème Brûlée"]
    # 50 -20 25 and 52 -19 24 are "moderate yellow green" by ISCC-NBS, 60 0 0 "medium gray"
    assert found(page, "moderate yellow green") == ["Kelp Green", "Tide Wrack"]
    assert found(page, "medium grey") == found(page, "medium gray") == ["Mica"]
    assert found(page, "metallic") == ["Mica"]
    assert found(page, "nothing is called so") == []
    assert page.inner_text("#count") == "0 pencils"
    page.check("#mine")
    assert found(page, "fen") == ["Kelp Green", "Gull Wing"]


def test_a_word_is_found_inside_another_and_by_another_name(visit, pocket):
    names = {"1": "Taublau", "2": "Rauchblau hell", "3": "Blau", "4": "Bleu ciel"}
    pencils = [Swatch("Fen", code, (50.0, 0.0, -30.0), name) for code, name in names.items()]
    pencils.append(
        Swatch("Fen", "FM-017", (50.0, 0.0, 0.0), "Tarn", also="Altes Graublau", stock=Stock.STUB)
    )
    page = visit(360).open(pocket(pencils))
    assert found(page, "a stub") == ["Tarn"]
    assert "Fen FM-017 · – · a stub" in page.inner_text("#results")
    assert found(page, "blau") == ["Blau", "Taublau", "Rauchblau hell", "Tarn"]
    assert found(page, "fm 17") == found(page, "altes") == ["Tarn"]
    for typed in ("17", "017", "fm17", "FM017", "fen:fm-17", "fm-017"):
        assert found(page, typed) == ["Tarn"], typed


def test_a_slip_is_forgiven_where_nothing_is_called_so(visit, pocket):
    names = {"1": "Squall Line", "2": "Square Rig", "3": "Lichen Ledge", "4": "Lichen Lodge"}
    pencils = [Swatch("Fen", code, (50.0, 0.0, 0.0), name) for code, name in names.items()]
    page = visit(360).open(pocket(pencils))
    for typed in ("sqaull", "squal", "squalll", "sqall", "squakl", "sqaull lien", "sqau line"):
        assert found(page, typed) == ["Squall Line"], typed
    assert found(page, "lichen ledge") == ["Lichen Ledge"]  # what is there is no slip for another
    assert found(page, "lichen ladge") == ["Lichen Ledge", "Lichen Lodge"]  # one letter off both
    assert found(page, "lech") == ["Lichen Ledge", "Lichen Lodge"]
    assert found(page, "sqx") == found(page, "quall sq xx") == found(page, "kelp") == []


def test_a_code_comes_before_words_that_hold_it(visit, pocket):
    swatches = [
        Swatch("Fen", "11", (50.0, 0.0, 0.0), "Grey 1"),
        Swatch("Fen", "1", (60.0, 0.0, 0.0), "Pale"),
    ]
    page = visit().open(pocket(swatches))
    assert found(page, "1") == ["Pale", "Grey 1"]


def test_more_than_a_page_of_results(visit, pocket):
    swatches = [Swatch("Fen", f"F{code}", (code / 2.0, 0.0, 0.0)) for code in range(100)]
    page = visit().open(pocket(swatches))
    assert page.locator("#results > li").count() == 40
    page.focus("#more")
    page.keyboard.press("Enter")
    assert page.locator("#results > li").count() == 80
    assert "F40" in page.evaluate("document.activeElement.textContent")
    page.locator("#more").scroll_into_view_if_needed()
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    page.click("#more")  # where it stands once the rows above it are laid out
    assert page.locator("#results > li").count() == 100
    assert page.locator("#more").is_hidden()


def test_stand_ins_are_those_of_the_library_owned_first(visit, pocket, demo_library):
    with open_library(demo_library, read_only=True) as library:
        swatches = library.swatches()
    owned = Selection(owned=True).of(swatches)
    target = next(swatch for swatch in swatches if swatch.code == "FM055")
    question = LayerQuestion(estimated_conditions(), owned[:25], limit=2, always=True)
    few = [target, *owned[:25], *[s for s in swatches if not s.owned][:40]]
    answer = find_stand_ins(
        target, few, selection=Selection(owned=True), limit=3, layering=question
    )
    page = visit(360).open(pocket(few, layering=question, figures=True))
    page.fill("#query", "FM055")
    page.focus("#results summary")
    page.keyboard.press("Enter")
    page.wait_for_selector(".inside")
    # a recipe promises more than every pencil
    assert answer.layers_first
    assert page.locator(".inside h3").all_inner_texts() == [
        "Layered from yours",
        "Yours that come nearest",
        "To buy",
    ]
    rows = page.locator(".inside ul").nth(1).locator("li").all_inner_texts()
    for text, match in zip(rows, answer.matches, strict=True):
        assert match.swatch.name in text
        assert match.words in text
        assert f"{match.delta_E:.1f}" in text
        assert match.grade in text
        assert all(caution in text for caution in match.cautions)
    recipes = page.locator(".inside .recipe")
    assert answer.layers
    for place, recipe in enumerate(answer.layers):
        text = recipes.nth(place).inner_text()
        for layer, place_of in zip(recipe.stack, ("first", "then"), strict=True):
            assert f"{place_of} {layer.swatch.name}, {layer.pressure}" in text
        assert recipe.promise.grade in text
        assert recipe.promise.chance in text
        labels = (
            recipes.nth(place).locator(".patch").evaluate_all("all => all.map(o => o.ariaLabel)")
        )
        assert [label.split(",")[0] for label in labels] == ["first", "then", "result", "wanted"]


def test_pencils_stand_first_where_no_recipe_promises_more(visit, pocket, demo_library):
    with open_library(demo_library, read_only=True) as library:
        swatches = library.swatches()
    owned = Selection(owned=True).of(swatches)[24:36]
    question = LayerQuestion(estimated_conditions(), owned, limit=2, always=True)
    target = next(
        answer.swatch
        for answer in precompute_stand_ins(owned, layering=question)
        if answer.recipes and not answer.layers_first
    )
    page = visit(360).open(pocket(owned, layering=question))
    page.fill("#query", target.code)
    page.click("#results summary")
    page.wait_for_selector(".inside")
    headings = page.locator(".inside h3").all_inner_texts()
    assert headings == ["Yours that come nearest", "Layered from yours"]


def test_delta_E_of_the_page_is_the_published_one(visit, pocket):
    page = visit().open(pocket(FEN))
    for row in TABLE:
        one, two = ([float(row[f"{axis}_{place}"]) for axis in "Lab"] for place in (1, 2))
        # Sharma, Wu, Dalal (2005), Table 1, printed to four decimals
        for pair in ([one, two], [two, one]):
            difference = page.evaluate("([one, two]) => deltaE00(one, two)", pair)
            assert difference == pytest.approx(row["delta_E"], abs=1e-4)


def test_delta_E_of_the_page_is_that_of_the_library(visit, pocket):
    rng = np.random.default_rng(20260102)
    pairs = np.concatenate(
        [
            rng.uniform([0, -90, -90], [100, 90, 90], (1500, 2, 3)),
            rng.uniform([0, -2, -2], [100, 2, 2], (500, 2, 3)),
            [[[50, 0, 0], [50, 0, 0]], [[50, 0, 0], [60, 9, 0]], [[50, 9, -3], [60, 0, 0]]],
        ]
    )
    page = visit().open(pocket(FEN))
    seen = page.evaluate("pairs => pairs.map(([one, two]) => deltaE00(one, two))", pairs.tolist())
    np.testing.assert_allclose(seen, delta_E_ciede2000(pairs[:, 0], pairs[:, 1]), atol=1e-9)
    kept = "pairs => pairs.map(([one, two]) => hueKeepingDifference(one, two, data.hue))"
    expected = [hue_keeping_difference(one, two) for one, two in pairs]
    np.testing.assert_allclose(page.evaluate(kept, pairs.tolist()), expected, atol=1e-9)


def test_what_is_typed_keeps_its_hue_where_nothing_is_near(visit, pocket):
    dull = Swatch("Fen", "1", (60.0, 14.0, 2.0), "Shell Dust", owned=True)
    red = Swatch("Fen", "2", (25.0, 34.0, 26.0), "Dulse", owned=True)
    vivid, near = (60.0, 80.0, 60.0), (60.0, 14.0, 4.0)
    page = visit().open(pocket([dull, red]))
    turn_to(page, "same")
    for asked in (vivid, near):
        answer = find_stand_ins(FreeColour("", asked), [dull, red])
        page.fill("#colour", "lab({} {} {})".format(*asked))
        first = page.locator("#near li").first.inner_text()
        assert answer.matches[0].swatch.name in first
        assert ("hue" in page.inner_text("#verdict")) == (answer.ranked_by == BY_HUE)
    assert np.argmin(delta_E_ciede2000(vivid, [dull.lab, red.lab])) == 0, "ΔE00 has the grey first"


def test_typed_colours(visit, pocket):
    page = visit().open(pocket(FEN))
    for text in ("#c04a2b", "#fff", "#000000", "08f", "#123456"):
        seen = page.evaluate("text => parseColour(text)", text)
        # coloraide 8.13.1, sRGB to CIE Lab under D50
        expected = coloraide.Color("#" + text.removeprefix("#")).convert("lab").coords()
        assert seen == pytest.approx(expected, abs=1e-3)
    for text in ("rgb(192, 74, 43)", "RGB(192 74 43)", "rgb(192,74,43)", "c04a2b"):
        seen = page.evaluate("text => parseColour(text)", text)
        assert seen == pytest.approx(coloraide.Color("#c04a2b").convert("lab").coords(), abs=1e-3)
    for text in ("lab(52,5 40,2 -30)", "52,5; 40,2; −30", "52,5, 40,2, -30,0", "52.5, 40.2,-30"):
        assert page.evaluate("text => parseColour(text)", text) == pytest.approx([52.5, 40.2, -30])
    for text in ("lab(52 40 -30)", "52 40 -30", "52, 40, -30", "lab(52% 32% -24%)"):
        assert page.evaluate("text => parseColour(text)", text) == pytest.approx([52, 40, -30])
    for text in (
        "",
        "#12345",
        "lab(52 40)",
        "lab(120 0 0)",
        "52 400 0",
        "red",
        "lab(1 2 x)",
        "rgb(256 0 0)",
    ):
        assert page.evaluate("text => parseColour(text)", text) is None


def test_do_I_own_something_like_this(visit, pocket):
    visitor = visit(360)
    page = visitor.open(pocket(FEN, figures=True))
    turn_to(page, "same")
    page.fill("#colour", "lab(51 -20 25)")
    hedged = "As far as the colours are known, you own one that is"  # these were typed
    assert page.inner_text("#verdict") == f"{hedged} very close."
    rows = page.locator("#near li").all_inner_texts()
    assert len(rows) == 3  # of owned pencils only
    assert "Kelp Green" in rows[0]
    expected = float(delta_E_ciede2000([51, -20, 25], [50, -20, 25]))
    assert f"{expected:.1f}" in rows[0]
    assert "perhaps very close, less than 1 in 20" in rows[0]
    page.fill("#colour", "rgb(122, 122, 122)")
    assert "Mica" not in page.inner_text("#near")  # metallic, and not owned
    for typed in ("fen 002", "Tide Wrack"):
        page.fill("#colour", typed)
        assert page.inner_text("#verdict") == f"{hedged} close."
        assert "Kelp Green" in page.locator("#near li").first.inner_text()
    page.fill("#colour", "burn:12")
    assert page.inner_text("#verdict") == (
        "You own Dusk itself. Beside it: Gull Wing. The nearest in hue stand first."
    )
    page.fill("#colour", "#ff0000")
    assert page.inner_text("#verdict") == (
        "You own nothing like it. The nearest in hue stand first."
    )
    page.fill("#colour", "reddish")
    assert page.locator("#unread").is_visible()
    assert page.get_attribute("#colour", "aria-invalid") == "true"
    assert page.locator("#near li").count() == 0
    page.fill("#picker", "#334455")
    assert page.input_value("#colour") == "#334455"
    assert page.locator("#near li").count() == 3


def test_ticks_stay(visit, pocket):
    visitor = visit(360)
    page = visitor.open(pocket(FEN, [ToBuy(FEN[1], 2.5, "for the weed"), ToBuy(FEN[3])]))
    turn_to(page, "list")
    assert page.inner_text("#ticks").startswith("0 of 2 ticked")
    assert page.is_hidden("#unkept")
    assert "for the weed" in page.inner_text("#items")
    page.focus("#items input")
    page.keyboard.press("Space")
    assert page.inner_text("#ticks").startswith("1 of 2 ticked")
    assert page.evaluate("document.activeElement.dataset.address") == "Fen:2"
    page.reload()
    assert page.inner_text("#ticks").startswith("1 of 2 ticked")
    assert page.is_checked("#items input >> nth=0")
    assert not page.is_checked("#items input >> nth=1")


def test_the_list_is_added_to_in_the_page(visit, pocket):
    page = visit(360).open(pocket(FEN))
    page.fill("#query", "mica")
    page.click("#results summary")
    page.click("text=Put on the list")
    assert page.locator(".inside button:not(.open)").inner_text() == "Take off the list"
    page.reload()
    turn_to(page, "list")
    assert "Mica" in page.inner_text("#items")
    page.go_back()
    page.wait_for_selector("nav a[href='#find'][aria-current=page]")
    page.fill("#query", "mica")
    page.click("#results summary")
    page.click("text=Take off the list")
    turn_to(page, "list")
    assert page.locator("#empty").is_visible()


def test_what_is_owned_or_no_longer_made_is_not_put_on_the_list(visit, pocket):
    gone = Swatch("Fen", "4", (40.0, 0.0, 2.0), "Slate", status=Status.DISCONTINUED)
    page = visit(360).open(pocket([*FEN, gone]))
    for query, said in (("dusk", "You own it."), ("slate", "It is no longer made.")):
        page.fill("#query", query)
        page.click("#results summary")
        assert said in page.inner_text(".inside")
        assert page.locator(".inside button:not(.open)").count() == 0


def test_sums_headings_and_another_list_of_its_own(visit, pocket):
    priced = replace(FEN[5], price=3.25, currency="EUR")
    box = [*FEN[:5], priced]
    listed = [
        ToBuy(replace(FEN[1], currency="EUR"), 2.5, "weed"),
        ToBuy(FEN[3]),
        ToBuy(priced, 3.0),
    ]
    visitor = visit(360)
    page = visitor.open(pocket(box, listed))
    turn_to(page, "list")
    assert page.locator("#items h3").all_inner_texts() == ["Fen", "Burn"]
    assert page.inner_text("#ticks") == "0 of 3 ticked · together 5.50 EUR · 1 without a price"
    page.check("#items input >> nth=0")
    said = "1 of 3 ticked · together 5.50 EUR · still to pay 3.00 EUR · 1 without a price"
    assert page.inner_text("#ticks") == said
    visitor.open(pocket(box, listed[:2]))
    turn_to(page, "list")
    assert page.inner_text("#ticks").startswith("0 of 2 ticked")
    path = pocket(box, listed)
    for _ in range(5):  # Chromium hands what one page keeps to the next in its own time
        visitor.open(path)
        turn_to(page, "list")
        if page.inner_text("#ticks") == said:
            break
        page.wait_for_timeout(200)
    assert page.inner_text("#ticks") == said


def test_what_was_bought_is_carried_home(visit, pocket, stopgap_run, tmp_path):
    """What the page saves is what `own --from` reads."""
    (tmp_path / "fen.csv").write_text("code,L,a,b\n1,50,0,0\n", encoding="utf-8")
    assert stopgap_run("range", "import", tmp_path / "fen.csv", "--name", "Fen, the 1st")[0] == 0
    bought = Swatch("Fen, the 1st", "1", (50.0, 0.0, 0.0), "Kelp")
    page = visit(360).open(pocket([bought], [ToBuy(bought, 2.0)]))
    turn_to(page, "list")
    assert page.locator("#carry").is_hidden()
    page.check("#items input")
    assert page.input_value("#bought") == 'colour\n"Fen, the 1st:1"\n'
    with page.expect_download() as loading:
        page.click("#save")
    assert loading.value.suggested_filename == "bought.csv"
    saved = tmp_path / "bought.csv"
    loading.value.save_as(saved)
    assert stopgap_run("own", "--from", saved)[0] == 0
    with open_library(stopgap_run.library, read_only=True) as library:
        assert [swatch.owned for swatch in library.swatches()] == [True]


def test_the_wall_leads_to_a_pencil(visit, pocket):
    visitor = visit(360)
    page = visitor.open(pocket(FEN))
    turn_to(page, "wall")
    assert page.locator("#rows .point").count() == len(FEN)
    assert page.locator("#rows .owned").count() == 3
    assert page.locator("#rows .gone").all_text_contents() == ["F·3–"]
    assert visitor.overflow() <= 0
    assert visitor.violations() == []
    page.click("#rows .point[aria-label^='Burn 12']")
    page.wait_for_selector("nav a[href='#find'][aria-current=page]")
    page.wait_for_selector("#results details[open] summary:has-text('Dusk')")
    page.reload()
    page.go_back()
    page.wait_for_selector("#rows .point")


@pytest.mark.parametrize("rubbish", ["{", "[1]", "null", '"x"', "7"])
def test_rubbish_in_the_storage_is_no_harm(visit, pocket, rubbish):
    page = visit().open(pocket(FEN, [ToBuy(FEN[1])]))
    page.evaluate("text => localStorage.setItem(STORE, text)", rubbish)
    page.reload()
    assert page.locator("#items li").count() == 1


DENIED = {
    "blocked": """Object.defineProperty(window, "localStorage", {
        get() { throw new DOMException("denied", "SecurityError"); } })""",
    "full": """Storage.prototype.setItem = () => {
        throw new DOMException("full", "QuotaExceededError"); }""",
}


@pytest.mark.parametrize("denied", DENIED)
def test_where_nothing_can_be_kept_it_is_said_and_everything_else_works(visit, pocket, denied):
    visitor = visit(360)
    visitor.context.add_init_script(DENIED[denied])
    page = visitor.open(pocket(FEN, [ToBuy(FEN[1], 2.5)]))
    turn_to(page, "list")
    assert "keeps nothing for this page" in page.inner_text("#unkept")
    page.check("#items input")
    assert page.inner_text("#ticks").startswith("1 of 1 ticked")
    assert page.input_value("#bought") == "colour\nFen:2\n"
    turn_to(page, "wall")
    page.click("#rows .point[aria-label^='Burn 13']")
    page.wait_for_selector("#results details[open]")
    page.click("text=Put on the list")
    turn_to(page, "list")
    assert page.locator("#items input").count() == 2
    assert page.is_checked("#items input >> nth=0")


def test_the_names_of_views_are_not_broken_in_large_text(visit, pocket):
    page = visit(390).open(pocket(FEN))
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    lines = """all => all.map(one => {
      const range = document.createRange();
      range.selectNodeContents(one);
      return new Set([...range.getClientRects()].map(({ top }) => Math.round(top))).size;
    })"""
    assert set(page.eval_on_selector_all("nav a", lines)) == {1}


def test_everybody_can_use_it(visit, pocket):
    for width, scheme in ((320, "dark"), (1400, "light")):
        visitor = visit(width, color_scheme=scheme)
        page = visitor.open(pocket(FEN, [ToBuy(FEN[1], 2.5, "for the weed")]))
        page.fill("#query", "kelp")
        page.click("#results summary")
        page.locator(".inside").wait_for()
        assert visitor.overflow() <= 0
        assert visitor.violations() == []
        turn_to(page, "same")
        page.fill("#colour", "#556677")
        assert visitor.overflow() <= 0
        assert visitor.violations() == []
        turn_to(page, "list")
        assert visitor.overflow() <= 0
        assert visitor.violations() == []


def test_hostile_names_are_text(visit, pocket):
    names = [
        "<script>alert(1)</script>",
        "</script><script>alert(2)</script>",
        "<!--<script>",
        "\"'><img src=x onerror=alert(3)>",
        "\u202eevil",
        "\u2028line",
        "x" * 500,
        "nul\x00nul",
        "\U0001f469\u200d\U0001f3a8",
        "__proto__",
    ]
    swatches = [
        Swatch("Ra" + name[:40], name[:40], (20.0 + 5 * place, 0.0, 0.0), name, owned=True)
        for place, name in enumerate(names)
    ]
    visitor = visit(360)
    page = visitor.open(pocket(swatches, [ToBuy(swatches[0], 1.0, names[1])]))
    shown = page.eval_on_selector_all("#results summary b", "all => all.map(o => o.textContent)")
    for name in names:
        plain = name.replace("\u202e", r"\u202e").replace("\u2028", r"\u2028")
        assert plain.replace("\x00", r"\x00") in shown
    assert page.evaluate("document.scripts.length") == 2
    turn_to(page, "list")
    assert names[1] in page.inner_text("#items")
    page.check("#items input")
    page.reload()
    assert page.is_checked("#items input")
    assert visitor.overflow() <= 0


def test_no_pencil_is_owned(visit, pocket):
    page = visit().open(pocket([Swatch("Fen", "1", (50.0, 0.0, 0.0), "Slate")]))
    page.click("#results summary")
    assert "No pencil is marked as owned." in page.inner_text(".inside")
    turn_to(page, "same")
    page.fill("#colour", "#777777")
    assert page.inner_text("#verdict") == "No pencil is marked as owned."


@pytest.mark.parametrize(("width", "height", "ratio"), [(390, 844, 2.625), (844, 390, 1.25)])
def test_two_colours_fill_the_screen_edge_to_edge_and_back_leaves_them(
    visit, pocket, width, height, ratio
):
    visitor = visit(width, height, device_scale_factor=ratio)
    page = visitor.open(pocket(FEN))
    page.fill("#query", "tide wrack")
    page.click("#results summary")
    page.click(".inside .patches.open >> nth=0")
    page.wait_for_selector("#edge[open]")
    halves = [one.bounding_box() for one in page.query_selector_all("#halves .patch")]
    across = [min(half["width"], half["height"]) for half in halves]
    # 4 degrees at 35 cm are 24.4 mm; a CSS pixel of a phone is about 1/160 inch
    assert min(across) > 24.4 * 160 / 25.4
    flat = width > height  # then they lie side by side, else one above the other
    starts = [(half["y"], half["x"]) if flat else (half["x"], half["y"]) for half in halves]
    assert starts[0][0] == starts[1][0]
    # as wide as a half the ground is where the screen is 13 degrees wide
    left = halves[0]["x"] / min(across)
    assert left >= (1.5 if flat else 0.7)

    def across_the_seam():
        picture = np.asarray(Image.open(BytesIO(page.screenshot())).convert("RGB")).astype(int)
        if flat:
            picture = picture.swapaxes(0, 1)
        seam = round(starts[1][1] * ratio)
        return picture[seam - 12 : seam + 12, round((starts[0][0] + 80) * ratio)]

    column = across_the_seam()
    low, high = np.minimum(column[0], column[-1]), np.maximum(column[0], column[-1])
    assert ((column >= low) & (column <= high)).all()
    assert visitor.violations() == []
    said = re.compile(r"(?:Above|Left) (wanted|stand-in), .+; (?:below|right) (.+?), .+")
    assert said.fullmatch(page.inner_text("#sides")).groups() == ("wanted", "stand-in")
    page.click("#swap")
    assert said.fullmatch(page.inner_text("#sides")).groups() == ("stand-in", "wanted")
    assert np.abs(across_the_seam()[0] - column[-1]).max() <= 1
    page.go_back()
    page.wait_for_selector("#edge", state="hidden")
    assert page.is_visible(".inside .patches.open >> nth=0")
    page.click(".inside .patches.open >> nth=0")
    page.wait_for_selector("#edge[open]")
    page.keyboard.press("Escape")
    page.wait_for_selector("#edge", state="hidden")
