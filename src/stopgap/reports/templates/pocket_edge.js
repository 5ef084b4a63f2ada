/* ---- two colours edge to edge over the whole screen; Back, Escape or the button leave it ---- */
let edge = [];
/** Touching patches that open `one` and `other`, each a colour and what it is, over the screen. */
function openable(colours, one, other) {
  const label = `${one[1]} and ${other[1]}, edge to edge`;
  const held = make("button", { class: "patches open", type: "button", "aria-label": label });
  held.append(...colours.map(([colour, what]) => patch(colour, what)));
  held.addEventListener("click", () => {
    edge = [one, other];
    showEdge();
    history.pushState({ edge: true }, "");
    find("edge").showModal();
  });
  return held;
}
function showEdge() {
  find("halves").replaceChildren(...edge.map(([colour, what]) => patch(colour, what)));
  find("sides").textContent = `Above ${edge[0][1]}, below ${edge[1][1]}`;
}
find("swap").addEventListener("click", () => {
  edge.reverse();
  showEdge();
});
find("leave").addEventListener("click", () => history.back());
find("edge").addEventListener("cancel", (event) => {
  event.preventDefault();
  history.back();
});
window.addEventListener("popstate", () => {
  if (find("edge").open) find("edge").close();
});
