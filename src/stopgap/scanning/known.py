"""Which colours on a page are known: of measured pencils, and of patches that lie there."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from stopgap.errors import InputError, Note
from stopgap.library import find_swatch
from stopgap.scanning.boxes import BoxState
from stopgap.scanning.colour import Anchor
from stopgap.scanning.growth import place_of
from stopgap.scanning.pages import MergedBox, SeenPage
from stopgap.swatches import (
    Box,
    ChartPage,
    Edition,
    Lab,
    LaidField,
    Pencil,
    Rectangle,
    Source,
    TargetPatch,
)


class KnownColour(NamedTuple):
    """The colour of a pencil that serves as an anchor.

    `same_layer` where its very box on the page was measured; else the pencil's colour is known from
    another layer.
    """

    lab: Lab
    uncertainty: float = 0.5
    same_layer: bool = False


class WithPatches(NamedTuple):
    """Charts with the patches of a colour target as boxes, less what lies beneath them.

    `known` says the colours of boxes, by page and box; `patches` are those that are a patch. By
    edition and page, `covered` counts the boxes beneath, and `missing` tells of a patch that is
    said to be a box which is not there.
    """

    editions: Mapping[str, Edition]
    known: Mapping[tuple[int, Box], KnownColour]
    patches: frozenset[Box]
    covered: Mapping[tuple[str, int], int]
    missing: Mapping[tuple[str, int], str]

    def refuse_missing(self, seen: Iterable[tuple[str, int]]) -> None:
        """Raise InputError where a patch is said to be a box that a page seen has not."""
        for place in seen:
            if place in self.missing:
                raise InputError(self.missing[place], argument="target")


def with_patches(editions: Mapping[str, Edition], target: Sequence[TargetPatch]) -> WithPatches:
    """What is to be looked for on the pages of charts where a colour target lies there too."""
    found = WithPatches({}, {}, frozenset(), {}, {})
    for number, edition in editions.items():
        pages = []
        for page in edition.pages:
            on_page = {at: patch for at, patch in enumerate(target, 1) if patch.page == page.number}
            changed, known, missing = _page_with(page, on_page)
            covered = sum(box not in changed.boxes for box in page.boxes)
            pages.append(changed)
            place = (number, page.number)
            found = WithPatches(
                found.editions,
                {**found.known, **{(page.number, box): colour for box, colour in known.items()}},
                found.patches.union(set(changed.boxes) - set(page.boxes)),
                {**found.covered, place: covered},
                {**found.missing, place: missing} if missing else found.missing,
            )
        grown = replace(edition, pages=tuple(pages))
        found = found._replace(editions={**found.editions, number: grown})
    return found


def _page_with(
    page: ChartPage, target: Mapping[int, TargetPatch]
) -> tuple[ChartPage, dict[Box, KnownColour], str]:
    """A page with patches by their number, the boxes whose colours they tell, and what is amiss."""
    if not target:
        return page, {}, ""
    places = {place_of(page, box): box for box in page.boxes}
    known, lying, missing = {}, [], ""
    for number, patch in target.items():
        colour = KnownColour(patch.lab, patch.uncertainty, same_layer=True)
        if patch.place is not None:
            box = Box(patch.place, (LaidField(patch.place),), (f"patch {number}",), anchor=True)
            lying.append(box)
            known[box] = colour
        elif patch.cell in places:
            known[places[patch.cell]] = colour
        else:
            row, column = patch.cell or (0, 0)
            missing = (
                f"page {page.number} has no box {column} in row {row}, which patch {number} of the "
                "target is said to be."
            )

    def free(place: Rectangle) -> bool:
        return not any(place.meets(box.outline) for box in lying)

    boxes = (*(box for box in page.boxes if free(box.outline)), *lying)
    return replace(page, boxes=boxes, blanks=tuple(filter(free, page.blanks))), known, missing


def colours_to_learn_from(
    pencils: Mapping[str, Pencil], editions: Mapping[str, Edition], anchors: Sequence[str]
) -> dict[str, KnownColour]:
    """Colours of anchor boxes where they were measured, and of those that `anchors` call.

    Raises
    ------
    InputError
        Where one that is called was not measured.
    UnknownSwatchError
        Where nothing bears the name.
    """
    swatches = [pencil.colour() or pencil.first for pencil in pencils.values()]
    named = {find_swatch(text, swatches).address for text in anchors}
    found = _measured_colours(pencils, named)
    typed = sorted(named - set(found))
    if typed:
        raise InputError(
            f"{', '.join(typed)}: its colour was not measured, so nothing can be learnt from it.",
            argument="anchor",
        )
    printed = {
        address
        for edition in editions.values()
        for _, box in edition.boxes()
        if box.anchor
        for address in box.pencils
    }
    return _measured_colours(pencils, printed) | found


def _measured_colours(pencils: Mapping[str, Pencil], addresses: set[str]) -> dict[str, KnownColour]:
    """The pencils among `addresses` whose colour was measured, as anchors laid by another hand."""
    found = {address: pencils[address].colour() for address in addresses if address in pencils}
    return {
        address: KnownColour(colour.lab, colour.total_uncertainty)
        for address, colour in found.items()
        if colour is not None and colour.source is Source.MEASURED
    }


def known_anchors(
    merged: Sequence[MergedBox], known: Mapping[str, KnownColour], lying: WithPatches
) -> list[Anchor]:
    """The boxes that were read and whose colour is known: as such, or as their pencil's."""
    anchors = []
    for one in merged:
        field = len(one.box.fields) - 1  # the heaviest stands last
        colour = lying.known.get((one.page, one.box))
        if colour is None and len(one.box.pencils) == 1:
            colour = known.get(one.box.pencils[0])
        if colour is not None and one.shown[field].state is BoxState.READ:
            name = " + ".join(one.box.pencils) or "a spare box"
            anchors.append(Anchor(name, tuple(one.lab[field].tolist()), *colour))
    return anchors


def notes_on_target(
    merged: Sequence[MergedBox], lying: WithPatches, seen: Sequence[SeenPage]
) -> list[Note]:
    """Which patches of a colour target could not be read, and whether it lay over boxes."""
    unread = [
        f"{one.box.pencils[0]} ({one.shown[0].state})"
        for one in merged
        if one.box in lying.patches and one.shown[0].state is not BoxState.READ
    ]
    pages = {(one.edition.number, one.page.number) for one in seen}
    covered = sum(lying.covered[place] for place in pages)
    notes = []
    if unread:
        notes.append(Note(f"Of the target nothing is learnt from {', '.join(unread)}."))
    if covered:
        notes.append(Note(f"{covered} boxes lie beneath the target and were not read."))
    return notes
