"""Sixty spreadsheets as people keep them, drawn by a seed and saved by LibreOffice Calc.

`python tests/library/messy/make_messy.py` writes them beside this file, with what they hold in
truth in `truth.json`: it writes text, which `soffice` (7.4 made what lies here) opens in the file's
locale, so that numbers, dates and lost zeros are Calc's, and saves as XLSX, ODS or XLS; CSV is text
as it is written. Names are invented from the shore.
"""

import colorsys
import csv
import io
import json
import random
import subprocess
import tempfile
import zipfile
from pathlib import Path

HERE = Path(__file__).parent
LOCALES = {"de": 1031, "fr": 1036, "en": 1033}
NAMES = {
    "de": [
        "Tangrot",
        "Taublau",
        "Watgrün",
        "Dünensand",
        "Möwengrau",
        "Seegras",
        "Muschelweiß",
        "Algengrün",
        "Nebelgrau",
        "Prielblau",
        "Bernstein",
        "Quallenrosa",
        "Schlickbraun",
        "Austernweiß",
        "Sturmblau",
        "Hafenrot",
        "Kiesgrau",
        "Ölzeug",
        "Räucheraal",
        "Strandflieder",
    ],
    "fr": [
        "Goémon",
        "Écume",
        "Marée",
        "Galet",
        "Crevette",
        "Varech",
        "Étoile",
        "Dune",
        "Brume",
        "Oursin",
        "Rocher",
        "Sel",
        "Vase",
        "Ardoise",
        "Nacre",
        "Écueil",
        "Embruns",
        "Grève",
        "Méduse",
        "Corail",
    ],
    "en": [
        "Kelp",
        "Wet Slate",
        "Gull Wing",
        "Tide Pool",
        "Wrack",
        "Sandbar",
        "Limpet",
        "Mussel",
        "Sea Fog",
        "Harbour",
        "Driftwood",
        "Samphire",
        "Shingle",
        "Oilskin",
        "Lantern",
        "Buoy",
        "Urchin",
        "Squall",
        "Cockle",
        "Estuary",
    ],
}
HEADINGS = {
    "de": {
        "code": ["Nr.", "Farbnummer", "Farb-Nr.", "Artikelnummer", "Nummer"],
        "name": ["Farbe", "Farbname", "Bezeichnung", "Name"],
        "owned": ["vorhanden", "Besitz", "habe ich", "Bestand"],
        "status": ["Status", "Verfügbarkeit"],
        "price": ["Preis", "Preis (€)", "Stückpreis"],
        "note": ["Bemerkung", "Notiz"],
    },
    "fr": {
        "code": ["N°", "Numéro", "Réf.", "Code couleur", "No"],
        "name": ["Couleur", "Nom", "Teinte", "Nom de la couleur"],
        "owned": ["Possédé", "Je l'ai", "en possession"],
        "status": ["État", "Disponibilité", "Statut"],
        "price": ["Prix", "Prix (€)", "Prix unitaire"],
        "note": ["Remarques", "Commentaire"],
    },
    "en": {
        "code": ["No", "#", "Colour code", "Number", "Code", "Item no."],
        "name": ["Colour", "Colour name", "Name", "Shade"],
        "owned": ["Have it?", "Owned", "Got it", "In my box"],
        "status": ["Status", "Availability"],
        "price": ["Price", "Cost", "Price ($)"],
        "note": ["Notes", "Comments"],
    },
}
WORDS = {
    "de": {"owned": [("ja", "nein"), ("x", ""), ("✓", "")], "status": ("lieferbar", "eingestellt")},
    "fr": {"owned": [("oui", "non"), ("x", ""), ("✓", "-")], "status": ("disponible", "arrêté")},
    "en": {"owned": [("yes", "no"), ("x", ""), ("✓", "✗")], "status": ("available", "retired")},
}
SECTIONS = {
    "de": ["Rottöne", "Blautöne", "Grautöne"],
    "fr": ["Rouges", "Bleus", "Gris"],
    "en": ["Reds", "Blues", "Greys"],
}
TITLES = {
    "de": "Meine Stifte, Stand Mai 2024",
    "fr": "Ma collection de crayons",
    "en": "My pencils 2024",
}
TOTALS = {"de": "Summe", "fr": "Total", "en": "Total"}
REMARKS = {
    "de": "Alle Farben selbst gemessen, ohne Gewähr.",
    "fr": "Couleurs mesurées à la maison, sans garantie.",
    "en": "Measured at home on the sketch pad, no warranty.",
}
COLOURS = ("Lab", "Lab", "Lab (D50)", "Lab in one cell", "hex", "hexa", "RGB", "rgb()", "spectrum")
COLOURS = (*COLOURS, "Lab to 1", "Lab swapped")
CODES = ("zeros", "zeros", "prefix", "plain", "dashes")
FORMATS = ("xlsx", "csv", "ods", "xlsx", "csv", "xls")
ENCODINGS = ("utf-8", "utf-8-sig", "cp1252", "mac_roman", "utf-16", "cp850")


def main() -> None:
    """Write all files and their truth."""
    draw = random.Random(14)
    truth = {}
    jobs = []
    for number in range(60):
        language = ("de", "fr", "en")[number % 3]
        form = FORMATS[number // 3 % len(FORMATS)]
        name = f"{number + 1:02d}-{language}.{form}"
        rows, held = messy(draw, language)
        if form == "csv":
            encoding = ENCODINGS[number // 3 % len(ENCODINGS)] if number % 2 else "utf-8"
            marks = "✓✗" if encoding not in ("utf-8", "utf-8-sig", "utf-16") else ""
            text = as_text(rows, ";" if language != "en" else ",")
            for mark in marks:
                text = text.replace(mark, "x" if mark == "✓" else "")
            (HERE / name).write_bytes(text.encode(encoding, errors="replace"))
        else:
            jobs.append((name, language, form, as_text(rows, "\t")))
        truth[name] = held
    save(jobs)
    text = json.dumps(truth, ensure_ascii=False, indent=None, separators=(",", ":"))
    (HERE / "truth.json").write_text(text.replace('"},"', '"},\n"') + "\n", encoding="utf-8")


def messy(draw: random.Random, language: str) -> tuple[list[list[str]], dict[str, object]]:
    """The rows of one sheet, and by code what they hold."""
    count = draw.randint(12, 20)
    colour, style = draw.choice(COLOURS), draw.choice(CODES)
    comma = language != "en"
    own = {key: draw.choice(words) for key, words in HEADINGS[language].items()}
    has = {key: draw.random() < 0.75 for key in ("owned", "status", "price", "note")}
    yes, no = draw.choice(WORDS[language]["owned"])
    current, discontinued = WORDS[language]["status"]
    sign = draw.choice(("", "€ ", "$ ", "") if language == "en" else ("", "€ ", ""))
    titles, cells_of = colour_columns(colour, draw)
    heading = [own["code"], own["name"], *titles]
    heading += [own[key] for key in ("owned", "status", "price", "note") if has[key]]
    pencils, body = {}, []
    for place in range(count):
        code = code_of(style, place)
        name = NAMES[language][place]
        rgb = colorsys.hsv_to_rgb(draw.random(), draw.uniform(0.1, 0.8), draw.uniform(0.3, 0.95))
        owned, gone = draw.random() < 0.5, draw.random() < 0.25
        price = round(draw.uniform(1.2, 4.9), 2)
        row = [code, name, *cells_of(rgb)]
        row += [yes if owned else no] if has["owned"] else []
        row += [discontinued if gone else current] if has["status"] else []
        row += [f"{sign}{price:.2f}"] if has["price"] else []
        row += (
            [draw.choice(("", "", "körnig" if language == "de" else "soft"))] if has["note"] else []
        )
        if comma:
            row = [code, name, *(decimal(cell, colour) for cell in row[2:])]
        body.append(row)
        pencils[code] = [
            name,
            [round(float(value), 2) for value in lab_of(rgb)],
            owned if has["owned"] else None,
            ("discontinued" if gone else "current") if has["status"] else None,
            price if has["price"] else None,
        ]
    colourless = []
    width = len(heading)
    if draw.random() < 0.35:
        place = draw.randrange(count)
        code = body[place][0]
        body[place][2 : 2 + len(titles)] = [""] * len(titles)
        colourless.append(code)
    if draw.random() < 0.5:
        step = -(-count // 3)
        for section, at in reversed(list(zip(SECTIONS[language], range(0, count, step)))):
            body.insert(at, [section])
    if draw.random() < 0.3:
        body.insert(draw.randrange(len(body)), [""])
    if draw.random() < 0.4:
        body.append([TOTALS[language], str(count)])
    if draw.random() < 0.4:
        body += [[""], [REMARKS[language]]]
    above = [[TITLES[language]], [""]] if draw.random() < 0.5 else []
    rows = [*above, heading, *body]
    held = {"pencils": pencils, "colourless": colourless, "colour": colour, "codes": style}
    return [[*row, *[""] * (width - len(row))] for row in rows], held


def colour_columns(colour: str, draw: random.Random):
    """Headings of a colour, and the cells of one."""
    del draw
    if colour in ("Lab", "Lab (D50)", "Lab swapped", "Lab to 1"):
        titles = ["L (D50)", "a (D50)", "b (D50)"] if colour == "Lab (D50)" else ["L*", "a*", "b*"]
        order = (1, 0, 2) if colour == "Lab swapped" else (0, 1, 2)
        factor = 0.01 if colour == "Lab to 1" else 1.0
        digits = 4 if colour == "Lab to 1" else 2

        def lab_cells(rgb):
            lab = lab_of(rgb)
            return [f"{factor * lab[place]:.{digits}f}" for place in order]

        return titles, lab_cells
    if colour == "Lab in one cell":
        return ["Lab"], lambda rgb: [" / ".join(f"{value:.1f}" for value in lab_of(rgb))]
    if colour in ("hex", "hexa"):
        sharp = "#" if colour == "hex" else ""
        return [{"hex": "Hex", "hexa": "Hexa"}[colour]], lambda rgb: [sharp + hex_of(rgb).upper()]
    if colour == "RGB":
        return ["R", "G", "B"], lambda rgb: [str(round(255 * value)) for value in rgb]
    if colour == "rgb()":
        return ["RGB"], lambda rgb: [f"rgb({', '.join(str(round(255 * v)) for v in rgb)})"]
    return (
        [f"{nm} nm" for nm in range(400, 701, 20)],
        lambda rgb: [f"{value:.4f}" for value in reflectances(rgb)],
    )


def reflectances(rgb):
    """A smooth made-up spectrum."""
    r, g, b = rgb
    return [
        0.05
        + 0.85
        * (b * max(0, 1 - i / 6) + g * max(0, 1 - abs(i - 7) / 5) + r * max(0, (i - 8) / 7))
        / 1.6
        for i in range(16)
    ]


def lab_of(rgb):
    """The colour of sRGB, by the project's own conversion."""
    from stopgap.colorimetry import hexes_to_lab

    return [float(value) for value in hexes_to_lab([f"#{hex_of(rgb)}"])[0]]


def hex_of(rgb):
    """Six digits."""
    return "".join(f"{round(255 * value):02x}" for value in rgb)


def code_of(style: str, place: int) -> str:
    """The code at a place."""
    return {
        "zeros": f"{7 * place + 3:03d}",
        "prefix": f"SH{place + 1:02d}",
        "plain": str(place + 1),
        "dashes": f"{1 + place // 5}-{8 + place % 5 * 2}",
    }[style]


def decimal(cell: str, colour: str) -> str:
    """With a decimal comma."""
    bare = cell.replace("€", "").replace("$", "").strip()
    parts = bare.split(" / ")
    if all(part.lstrip("-").replace(".", "", 1).isdigit() for part in parts):
        return cell.replace(".", ",")
    del colour
    return cell


def as_text(rows: list[list[str]], delimiter: str) -> str:
    """The rows as delimited text."""
    stream = io.StringIO()
    csv.writer(stream, delimiter=delimiter, lineterminator="\r\n").writerows(rows)
    return stream.getvalue()


def save(jobs: list[tuple[str, str, str, str]]) -> None:
    """Let Calc open texts in their locales and save them in their formats."""
    with tempfile.TemporaryDirectory() as folder:
        groups: dict[tuple[str, str], list[Path]] = {}
        for name, language, form, text in jobs:
            source = Path(folder) / language / form / f"{Path(name).stem}.csv"
            source.parent.mkdir(parents=True, exist_ok=True)
            source.write_text(text, encoding="utf-8")
            groups.setdefault((language, form), []).append(source)
        for (language, form), sources in groups.items():
            # tab, quotes, UTF-8, from row 1, no formats, locale, quoted no text, numbers detected
            options = f"CSV:9,34,76,1,,{LOCALES[language]},false,true"
            command = ["soffice", "--headless", f"--infilter={options}", "--convert-to", form]
            command += ["--outdir", str(HERE), *map(str, sources)]
            subprocess.run(command, check=True, capture_output=True)
    for file in HERE.glob("*.ods"):
        without_thumbnail(file)


def without_thumbnail(file: Path) -> None:
    """Only the parts of a workbook that hold its cells, packed as small as may be."""
    with zipfile.ZipFile(file) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, data in parts.items():
            if name in ("mimetype", "content.xml", "styles.xml", "META-INF/manifest.xml"):
                packing = zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED
                archive.writestr(zipfile.ZipInfo(name), data, packing)


if __name__ == "__main__":
    main()
