const data = JSON.parse(document.getElementById("data").textContent);
const STORE = "stopgap.pocket.list";
const PAGE = 40;
const NONE_OWNED = "No pencil is marked as owned.";
const find = (id) => document.getElementById(id);
const showsLab = typeof CSS !== "undefined" && CSS.supports("color", "lab(50 0 0)");
const wide = window.matchMedia("(color-gamut: p3)");

/** An element; text is always text, never markup. */
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

const swatches = data.swatches.map(
  ([range, code, name, L, a, b, hex, flags, words, family, rating, also], place) => ({
    place, code, name, hex, lab: [L, a, b], range: data.ranges[range],
    owned: Boolean(flags & 1), discontinued: Boolean(flags & 2), outside: Boolean(flags & 4),
    finish: data.finishes[flags >> 3], words: data.words[words], family: data.words[family],
    rating: data.words[rating], also: data.words[also], address: data.ranges[range] + ":" + code,
  }),
);
const title = (swatch) => swatch.name || swatch.code;
const marks = (swatch) =>
  [swatch.owned && "owned", swatch.discontinued && "discontinued", swatch.finish]
    .filter(Boolean);
const grade = (difference) => data.grades.find(([, most]) => difference <= (most ?? Infinity))[0];

/* ---- patches ---- */
function patch({ lab, hex, outside, words }, what = "") {
  const label = [what, words, outside && "outside sRGB"].filter(Boolean).join(", ");
  const element = make("span", { class: "patch", role: "img", "aria-label": label || "colour" });
  if (outside) element.classList.add("outside");
  if (hex) element.style.background = hex;
  if (showsLab && (!outside || wide.matches)) element.style.background = `lab(${lab.join(" ")})`;
  return element;
}
function patches(colours) {
  const touching = colours.map(([colour, what]) => patch(colour, what));
  return make("span", { class: "patches" }, ...touching);
}
/** Name, address and marks; that it is owned goes without saying under a heading that says so. */
function about(swatch, { mine = false } = {}) {
  const said = marks(swatch).filter((mark) => !(mine && mark === "owned"));
  const line = [`${swatch.range} ${swatch.code}`, ...said].join(" · ");
  return make("span", { class: "about" }, make("b", {}, title(swatch)), make("span", {}, line));
}

/* ---- the shopping list, kept in this browser where it lets us ---- */
let kept = {};
try {
  const stored = JSON.parse(localStorage.getItem(STORE));
  if (stored && typeof stored === "object" && !Array.isArray(stored)) kept = stored;
} catch { /* nothing readable is kept */ }
function keep(address, changes) {
  kept[address] = { ...kept[address], ...changes };
  try {
    localStorage.setItem(STORE, JSON.stringify(kept));
  } catch {
    find("unkept").hidden = false;
  }
  showList();
}
const planned = new Map(data.buy.map(([place, price, why, unit]) => [place, { price, why, unit }]));
const isListed = (swatch) => kept[swatch.address]?.listed ?? planned.has(swatch.place);

function showList() {
  const listed = swatches.filter(isListed);
  const ticked = listed.filter((swatch) => kept[swatch.address]?.ticked);
  find("ticks").textContent = listed.length ? `${ticked.length} of ${listed.length} ticked` : "";
  find("empty").hidden = listed.length > 0;
  find("items").replaceChildren(...listed.map(listItem));
}
function listItem(swatch) {
  const plan = planned.get(swatch.place) ?? {};
  const box = make("input", { type: "checkbox" });
  box.checked = Boolean(kept[swatch.address]?.ticked);
  box.addEventListener("change", () => {
    keep(swatch.address, { ticked: box.checked });
    // the list was drawn anew: stay at the same pencil
    for (const again of find("items").querySelectorAll("input")) {
      if (again.dataset.address === swatch.address) again.focus();
    }
  });
  box.dataset.address = swatch.address;
  const words = about(swatch);
  if (plan.why) words.append(make("span", { class: "quiet" }, plan.why));
  const label = make("label", { class: "row" }, box, patches([[swatch]]), words);
  if (plan.price != null) label.append(make("span", { class: "figure" }, `${plan.price.toFixed(2)} ${plan.unit}`.trim()));
  return make("li", {}, label);
}

/* ---- one swatch with its stand-ins and recipes ---- */
function standIn(target, [place, difference, words, caution, tied]) {
  const swatch = swatches[place];
  const line = about(swatch, { mine: true });
  line.append(make("span", { class: "quiet" }, data.words[words]));
  if (caution) line.append(make("span", { class: "caution" }, data.words[caution]));
  const seen = patches([[target, "wanted"], [swatch, "stand-in"]]);
  return make("li", { class: "row" }, seen, line, figure(difference, tied));
}
function figure(difference, tied = 0, word = grade(difference)) {
  const value = (tied ? "≈ " : "") + difference.toFixed(1);
  const number = make("b", {}, value);
  return make("span", { class: "figure" }, "ΔE ", number, make("br"), word);
}
function recipe(target, [layers, lab, hex, outside, difference, low, high, cautions, word, chance]) {
  const result = { lab, hex, outside };
  const laid = layers.map(([place, pressure]) => [swatches[place], data.words[pressure]]);
  const words = make("span", { class: "about" });
  laid.forEach(([swatch, pressure], order) => {
    const when = laid.length === 1 ? "alone" : ["first", "then"][order];
    words.append(make("span", {}, `${when} `, make("b", {}, title(swatch)), `, ${pressure}`));
    words.append(make("span", { class: "quiet" }, `${swatch.range} ${swatch.code}`));
  });
  words.append(make("span", { class: "quiet" }, `nine in ten come to ΔE ${low} to ${high}`));
  if (chance) words.append(make("span", { class: "quiet" }, data.words[chance]));
  for (const caution of cautions) {
    words.append(make("span", { class: "caution" }, data.words[caution]));
  }
  const order = laid.map(([swatch], place) => [swatch, ["first", "then"][place]]);
  const seen = patches([...order, [result, "result"], [target, "wanted"]]);
  return make("li", { class: "row recipe" }, seen, words, figure(difference, 0, data.words[word]));
}
function part(heading, rows, otherwise = "") {
  if (!rows.length && !otherwise) return [];
  const list = rows.length ? make("ul", {}, ...rows) : make("p", { class: "quiet" }, otherwise);
  return [make("h3", {}, heading), list];
}
function details(swatch) {
  const [owned, others, recipes, layersFirst] = data.answers[swatch.place];
  const lab = swatch.lab.map((value) => value.toFixed(1)).join(" ");
  const facts = [`lab(${lab})`, swatch.words, swatch.family, swatch.rating];
  const listing = make("button", { type: "button" });
  const say = () => {
    listing.textContent = isListed(swatch) ? "Take off the list" : "Put on the list";
  };
  listing.addEventListener("click", () => {
    keep(swatch.address, { listed: !isListed(swatch) });
    say();
  });
  say();
  const none = data.owned ? "Nothing else that you own is offered." : NONE_OWNED;
  const alone = part("Yours that come nearest", owned.map((row) => standIn(swatch, row)), none);
  const layered = part("Layered from yours", recipes.map((row) => recipe(swatch, row)));
  return make("div", { class: "inside" },
    make("p", { class: "quiet" }, facts.filter(Boolean).join(" · ")),
    listing,
    ...(layersFirst ? [...layered, ...alone] : [...alone, ...layered]),
    ...part("To buy", others.map((row) => standIn(swatch, row))),
  );
}
function entry(swatch) {
  const line = about(swatch);
  line.append(make("span", { class: "quiet" }, swatch.words));
  const summary = make("summary", { class: "row" }, patches([[swatch]]), line);
  const box = make("details", {}, summary);
  box.addEventListener("toggle", () => {
    if (box.open && box.children.length === 1) box.append(details(swatch));
  });
  return make("li", {}, box);
}

/* ---- search ---- */
const NOWHERE = 3;
const plain = (text) =>
  text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase().replace(/grey/g, "gray");
const wordsOf = (text) => plain(text).split(/[^\p{L}\p{N}#]+/u).filter(Boolean);
const known = swatches.map((swatch) => {
  const { code, name, range, words, family, also, address } = swatch;
  const said = wordsOf([code, name, range, words, family, also, ...marks(swatch)].join(" "));
  return { swatch, code: plain(code), address: plain(address), words: said };
});
/** 0 for a whole word, 1 for the beginning of one, 2 inside of one: blau is in Taublau. */
function rank(word, words) {
  if (words.includes(word)) return 0;
  if (words.some((has) => has.startsWith(word))) return 1;
  return words.some((has) => has.includes(word)) ? 2 : NOWHERE;
}
function search(text, mine = false) {
  const query = plain(text.trim());
  const asked = wordsOf(text);
  const scored = [];
  for (const { swatch, code, address, words } of known) {
    if (mine && !swatch.owned) continue;
    const ranks = asked.map((word) => rank(word, words));
    if (ranks.includes(NOWHERE)) continue;
    const itself = query && (code === query || address === query);
    scored.push([itself ? -1 : ranks.reduce((sum, one) => sum + one, 0), swatch]);
  }
  scored.sort((one, two) => one[0] - two[0] || one[1].place - two[1].place);
  return scored.map(([, swatch]) => swatch);
}
let shown = PAGE;
function showFound() {
  const found = search(find("query").value, find("mine").checked);
  const results = find("results");
  results.replaceChildren(...found.slice(0, shown).map(entry));
  find("more").hidden = found.length <= shown;
  find("count").textContent = `${found.length} ${found.length === 1 ? "pencil" : "pencils"}`;
}
function searchAnew() {
  shown = PAGE;
  showFound();
}

/* ---- do I own something like this? ---- */
function compare() {
  const typed = find("colour").value;
  const lab = parseColour(typed);
  find("unread").hidden = Boolean(lab) || !typed.trim();
  find("colour").setAttribute("aria-invalid", String(!find("unread").hidden));
  find("near").replaceChildren();
  find("verdict").textContent = "";
  if (!lab) return;
  const near = swatches.filter((swatch) => swatch.owned)
    .map((swatch) => ({ swatch, difference: deltaE00(lab, swatch.lab) }))
    .sort((one, two) => one.difference - two.difference).slice(0, 5);
  if (!near.length) {
    find("verdict").textContent = NONE_OWNED;
    return;
  }
  find("verdict").textContent = data.verdicts[grade(near[0].difference)];
  const target = { lab, hex: /^#/.test(typed.trim()) ? typed.trim() : "" };
  const rows = near.map(({ swatch, difference }) => {
    const seen = patches([[target, "asked"], [swatch, "yours"]]);
    return make("li", { class: "row" }, seen, about(swatch, { mine: true }), figure(difference));
  });
  find("near").replaceChildren(...rows);
}

/* ---- the three views ---- */
function showView() {
  const views = ["find", "same", "list"];
  const wanted = views.includes(location.hash.slice(1)) ? location.hash.slice(1) : views[0];
  for (const view of views) {
    find(view).hidden = view !== wanted;
    const link = document.querySelector(`nav a[href="#${view}"]`);
    if (view === wanted) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  window.scrollTo(0, 0);
}
find("query").addEventListener("input", searchAnew);
find("mine").addEventListener("change", searchAnew);
find("more").addEventListener("click", () => {
  const first = shown;
  shown += PAGE;
  showFound();
  find("results").children[first]?.querySelector("summary").focus();
});
find("colour").addEventListener("input", compare);
find("picker").addEventListener("input", () => {
  find("colour").value = find("picker").value;
  compare();
});
window.addEventListener("hashchange", showView);
showFound();
showList();
showView();
