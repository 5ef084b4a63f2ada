/* ---- two colours edge to edge over the whole screen; Back, Escape or the button leave it ---- */
const over = document.getElementById("edge");
const lamps = [...document.querySelectorAll("#lamps button")];
const flat = window.matchMedia("(min-aspect-ratio: 1) and (max-height: 40rem)");
let sides = [];
let lamp = 0;
/** Lets `held` open the two of `touching` that meet nearest to where it is touched; by key the last. */
function opensEdge(held, touching) {
  held.classList.add("open");
  held.setAttribute("role", "button");
  held.tabIndex = 0;
  const said = touching.map((patch) => patch.getAttribute("aria-label")).join("; ");
  held.setAttribute("aria-label", `${said}: edge to edge`);
  held.addEventListener("click", ({ detail, clientX }) => {
    const starts = touching.slice(1).map((patch) => patch.getBoundingClientRect().left);
    const off = starts.map((left) => (detail ? Math.abs(left - clientX) : 0));
    const nearest = off.lastIndexOf(Math.min(...off));
    sides = [touching[nearest], touching[nearest + 1]];
    lamp = 0;
    showEdge();
    history.pushState({ edge: true }, "");
    over.showModal();
  });
  held.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    held.click();
  });
}
function showEdge() {
  const known = sides.filter((patch) => patch.classList.contains("lit")).length;
  const lit = known === 2;
  document.getElementById("unlit").hidden = known !== 1;
  document.getElementById("halves").replaceChildren(...sides.map((patch) => patch.cloneNode()));
  const [above, below] = sides.map((patch) => patch.getAttribute("aria-label"));
  const [one, other] = flat.matches ? ["Left", "right"] : ["Above", "below"];
  document.getElementById("sides").textContent = `${one} ${above}; ${other} ${below}`;
  document.getElementById("lamps").hidden = !lit;
  lamps.forEach((button, place) => {
    button.setAttribute("aria-pressed", String(place === lamp));
    over.classList.toggle(`lamp${place}`, place === lamp);
  });
}
lamps.forEach((button, place) => button.addEventListener("click", () => {
  lamp = place;
  showEdge();
}));
document.getElementById("swap").addEventListener("click", () => {
  sides.reverse();
  showEdge();
});
flat.addEventListener("change", showEdge);
document.getElementById("leave").addEventListener("click", () => history.back());
over.addEventListener("cancel", (event) => {
  event.preventDefault();
  history.back();
});
window.addEventListener("popstate", () => {
  if (over.open) over.close();
});
