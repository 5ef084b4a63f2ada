"""A program as somebody may write it, with every public name; the gate checks its types."""

from pathlib import Path

import stopgap


def plan(library_file: Path) -> list[str]:
    """Every question once."""
    said: list[str] = []
    with stopgap.open_library(library_file, read_only=True) as library:
        swatches: tuple[stopgap.Swatch, ...] = library.swatches()
        ranges: list[stopgap.ColourRange] = library.ranges()
        asked = stopgap.target("#7f9a8c", swatches)
        answer = stopgap.match(asked, library, limit=5, owned=True, on="tan")
        said += [match.swatch.address for match in answer.matches]
        said += [one.name for one in ranges]
        layered = stopgap.layer(swatches[0], ("#334455", "light"), swatches=library)
        said.append(stopgap.naming.iscc_nbs(layered.lab).item())
        list_ = stopgap.translate([("#c04a2b", "door"), [52.0, 40.0, 30.0]], library)
        said += [row.given.label for row in list_.rows if row.given is not None]
        chain = stopgap.blend(swatches[0], swatches[1], library, step=15.0)
        said.append(f"{chain.largest_step:.1f}")
        found = stopgap.gaps(library, [("dusk", swatches[0], swatches[1])], layers=False)
        said += [gap.words for gap in found.gaps]
        bought = stopgap.shop(library, colours=["#c04a2b"], budget=9.0, default_price=2.0)
        said += [one.swatch.address for one in bought.buy]
        said += [family.name for family in stopgap.families(library, ["blues"])]
        frame = stopgap.to_frame(swatches)
        assert stopgap.from_frame(frame) == swatches
    nearest = stopgap.neighbours.SwatchIndex([swatch.lab for swatch in swatches])
    near = stopgap.LabNeighbors(n_neighbors=3).fit([swatch.lab for swatch in swatches])
    said.append(str(near.kneighbors_graph([[52, 40, 30]]).shape))
    delta_E, _ = nearest.nearest([[52, 40, 30]], k=1)
    said.append(f"{delta_E[0, 0] - stopgap.difference.delta_E([52, 40, 30], [50, 40, 30]):.1f}")
    said += [stopgap.blends.DEFAULT_LIMIT.hex(), stopgap.planner.BY_HUE]
    said += list(stopgap.reports.RENDERERS)
    said += list(map(str, stopgap.colorimetry.lab_to_hexes([[52, 40, 30]])))
    said += list(stopgap.layering.MODELS)
    return said


def renew(library_file: Path, file: Path) -> tuple[str, ...]:
    """A range brought in, its errors told."""
    try:
        with stopgap.open_library(library_file) as library:
            page = stopgap.coloured_page(library, library.swatches()[:3])
            read = stopgap.scan(library, [page, file], device="flatbed", store=False)
            assert not read.stored
            return stopgap.import_range(library, file, "Mine", renew=True).added
    except stopgap.errors.StopgapError as error:
        return (error.sentence, stopgap.__version__)


def demo() -> int:
    """How many pencils the demo has."""
    with stopgap.demo_library() as library:
        return len(library.swatches())
