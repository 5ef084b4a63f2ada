/* ---- the wall: all pencils, a row a family; a touch leads to the pencil ---- */
function wallChip(swatch, apart) {
  const label = [`${swatch.range} ${swatch.code}`, swatch.name, swatch.rating, swatch.words, ...marks(swatch)];
  const point = make("button", { class: "point", "aria-label": label.filter(Boolean).join(", ") });
  paint(point, swatch);
  point.addEventListener("click", () => {
    find("query").value = swatch.address;
    find("mine").checked = false;
    searchAnew();
    location.hash = "find";
    const first = find("results").querySelector("details");
    if (first) first.open = true;
  });
  const kinds = [swatch.owned && "owned", swatch.discontinued && "gone", apart && "apart"];
  const code = make("span", { class: "code", "aria-hidden": "true" }, swatch.marked);
  const rated = make("span", { class: "code rated", "aria-hidden": "true" }, swatch.short);
  return make("li", { class: kinds.filter(Boolean).join(" ") }, point, code, rated);
}
function showWall() {
  const rows = data.wall.map(([name, places]) => {
    const chips = places.map((place, at) => {
      const apart = swatches[place].finish && !swatches[places[at - 1]]?.finish && at > 0;
      return wallChip(swatches[place], apart);
    });
    const row = make("div", { class: "wall-row" }, make("h3", {}, data.words[name]));
    row.append(make("ol", {}, ...chips));
    return row;
  });
  find("rows").replaceChildren(...rows);
}
window.addEventListener("hashchange", () => {
  // made when it is first looked at, since a large library has thousands of chips
  if (location.hash === "#wall" && !find("rows").children.length) showWall();
});
