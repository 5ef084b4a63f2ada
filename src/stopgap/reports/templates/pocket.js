const data = JSON.parse(document.getElementById("data").textContent);
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
  ([range, code, name, L, a, b, hex, flags, words, family, rating, also, against, short], place) => ({
    place, code, name, hex, lab: [L, a, b], range: data.ranges[range],
    marked: data.range_marks[range] + code,
    owned: Boolean(flags & 1), discontinued: Boolean(flags & 2), outside: Boolean(flags & 4),
    finish: data.finishes[flags >> 3], words: data.words[words], family: data.words[family],
    rating: data.words[rating], short: data.words[short], also: data.words[also], against: data.words[against],
    address: data.ranges[range] + ":" + code,
  }),
);
for (const [place, ...lit] of data.lit) {
  swatches[place].lit = lit.map(([lab, hex, outside]) => ({ lab, hex, outside }));
}
const title = (swatch) => swatch.name || swatch.code;
const marks = (swatch) =>
  [swatch.owned && "owned", swatch.discontinued && "discontinued", swatch.finish, swatch.against]
    .filter(Boolean);
/** The word for how near one colour is to another, as surely as they are known: what both share drops
 * out, and what was typed has no doubt. */
function nearness(difference, asked, { place }) {
  const [own, shared, group] = data.errors[place];
  const [its, sharedByIt, itsGroup] = data.errors[asked.place] ?? [0, 0, null];
  const apart = group === itsGroup ? 0 : Math.hypot(shared, sharedByIt);
  const size = Math.hypot(own, its, apart);
  const off = data.sizes.map((one) => Math.abs(one - size));
  const step = data.apart.findIndex((end) => difference <= end);
  const words = data.nearness[off.indexOf(Math.min(...off))];
  return data.words[words[step < 0 ? words.length - 1 : step]];
}
const grade = (difference) => data.grades.find(([, most]) => difference <= (most ?? Infinity))[0];

/* ---- patches ---- */
function patch({ lab, hex, outside, words, lit = [] }, what = "") {
  const label = [what, words, outside && "duller here than on paper"].filter(Boolean).join(", ");
  const element = make("span", { class: "patch", role: "img", "aria-label": label || "colour" });
  if (outside) element.classList.add("outside");
  lit.forEach((colour, at) => element.style.setProperty(`--lamp${at + 1}`, css(colour)));
  element.classList.toggle("lit", lit.length > 0);
  return paint(element, { lab, hex, outside });
}
const css = ({ lab, hex, outside }) =>
  showsLab && (!outside || wide.matches) ? `lab(${lab.join(" ")})` : hex;
function paint(element, colour) {
  element.style.background = css(colour);
  return element;
}
function patches(colours) {
  const touching = colours.map(([colour, what]) => patch(colour, what));
  return make("span", { class: "patches" }, ...touching);
}
function openable(colours) {
  const held = patches(colours);
  opensEdge(held, [...held.children]);
  return held;
}
/** Name, address and marks; that it is owned goes without saying under a heading that says so. */
function about(swatch, { mine = false } = {}) {
  const said = marks(swatch).filter((mark) => !(mine && mark === "owned"));
  const line = [`${swatch.range} ${swatch.code}`, swatch.rating, ...said].join(" · ");
  return make("span", { class: "about" }, make("b", {}, title(swatch)), make("span", {}, line));
}

/* ---- one swatch with its stand-ins and recipes ---- */
function standIn(target, [place, difference, words, caution, tied, word]) {
  const swatch = swatches[place];
  const line = about(swatch, { mine: true });
  line.append(make("span", { class: "quiet" }, data.words[words]));
  if (caution) line.append(make("span", { class: "caution" }, data.words[caution]));
  const seen = openable([[target, "wanted"], [swatch, "stand-in"]]);
  return make("li", { class: "row" }, seen, line, figure(difference, tied, data.words[word]));
}
function figure(difference, tied = 0, word = grade(difference)) {
  if (!data.figures) return make("span", { class: "figure" }, tied ? "≈ " : "", word);
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
    const named = `${swatch.range} ${swatch.code} · ${swatch.rating}`;
    words.append(make("span", { class: "quiet" }, named));
  });
  if (data.figures) {
    words.append(make("span", { class: "quiet" }, `nine in ten come to ΔE ${low} to ${high}`));
  }
  if (chance) words.append(make("span", { class: "quiet" }, data.words[chance]));
  for (const caution of cautions) {
    words.append(make("span", { class: "caution" }, data.words[caution]));
  }
  const order = laid.map(([swatch], place) => [swatch, ["first", "then"][place]]);
  const both = [[result, "result"], [target, "wanted"]];
  const seen = openable([...order, ...both]);
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
  const facts = [data.figures && `lab(${lab})`, swatch.words, swatch.family];
  const none = data.owned ? "Nothing else that you own is offered." : NONE_OWNED;
  const alone = part("Yours that come nearest", owned.map((row) => standIn(swatch, row)), none);
  const layered = part("Layered from yours", recipes.map((row) => recipe(swatch, row)));
  return make("div", { class: "inside" },
    make("p", { class: "quiet" }, facts.filter(Boolean).join(" · ")),
    listing(swatch),
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
    box.parentElement.nextElementSibling?.classList.toggle("anew", box.open);
  });
  return make("li", {}, box);
}

/* ---- search ---- */
const NOWHERE = 4;
const plain = (text) =>
  text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase().replace(/grey/g, "gray");
const wordsOf = (text) => plain(text).split(/[^\p{L}\p{N}#]+/u).filter(Boolean);
/** Letters and digits alone, no zeros before a number: what people leave out of a code. */
const bare = (text) => plain(text).replace(/[^\p{L}\p{N}]+/gu, "").replace(/(^|\D)0+(?=\d)/g, "$1");
/** Every word that is said of a pencil, once, and its number. */
const vocabulary = new Map();
const numbered = (word) => vocabulary.get(word) ?? vocabulary.set(word, vocabulary.size).size - 1;
const known = swatches.map((swatch) => {
  const { code, name, range, words, family, also, address } = swatch;
  const said = wordsOf([code, name, range, words, family, also, ...marks(swatch)].join(" "));
  const number = /\d+$/.exec(bare(code)) ?? [];
  return {
    swatch, code: bare(code), address: bare(address), name: wordsOf(name),
    words: [...new Set([...said, bare(code), ...number])].map(numbered),
  };
});
/** Whether `word` begins `other` but for one letter: missing, too much, another, or two swapped. */
function slips(word, other) {
  let at = 0;
  while (at < word.length && word[at] === other[at]) at += 1;
  const goesOn = (mine, its) => other.startsWith(word.slice(at + mine), at + its);
  const swapped = word[at] === other[at + 1] && word[at + 1] === other[at] && goesOn(2, 2);
  return at > 0 && (goesOn(1, 1) || goesOn(1, 0) || goesOn(0, 1) || swapped);
}
/** How well each word of the vocabulary is what was asked: 0 for itself, 1 where it begins so, 2
    where it has that inside (blau in Taublau), 3 for a slip where there is nothing better. */
function ranked(asked) {
  const short = bare(asked);
  const rank = (word) => {
    if (word === asked || word === short) return 0;
    if (word.startsWith(asked)) return 1;
    return word.includes(asked) ? 2 : NOWHERE;
  };
  const every = [...vocabulary.keys()];
  const ranks = every.map(rank);
  const none = asked.length > 3 && ranks.every((each) => each === NOWHERE);
  return none ? every.map((word) => (slips(asked, word) ? 3 : NOWHERE)) : ranks;
}
const isItself = (query, { code, address }) => Boolean(query) && (code === query || address === query);
function search(text, mine = false) {
  const query = bare(text);
  const asked = wordsOf(text).map(ranked);
  const scored = [];
  for (const one of known) {
    if (mine && !one.swatch.owned) continue;
    let score = isItself(query, one) ? 0 : 1;
    for (const ranks of score ? asked : []) {
      let best = NOWHERE;
      for (const word of one.words) if (ranks[word] < best) best = ranks[word];
      score = best === NOWHERE ? Infinity : score + best;
    }
    if (score < Infinity) (scored[score] ??= []).push(one.swatch);
  }
  return scored.flat();
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
/** What was typed: a pencil by its code or name, else a colour; null where it is neither or vague. */
function targetOf(typed) {
  const query = bare(typed);
  const codes = known.filter((one) => isItself(query, one)).map((one) => one.swatch);
  if (codes.length === 1) return codes[0];
  const lab = parseColour(typed);
  if (lab) return { lab, hex: /^#/.test(typed.trim()) ? typed.trim() : "", finish: "" };
  const asked = wordsOf(typed);
  const called = known.filter(
    ({ name }) => asked.length && asked.every((word) => name.some((one) => one.includes(word))),
  );
  const exact = called.filter(({ name }) => name.join(" ") === asked.join(" "));
  const [one, ...others] = exact.length ? exact : called;
  return one && !others.length ? one.swatch : null;
}
function compare() {
  const typed = find("colour").value;
  const target = targetOf(typed);
  find("unread").hidden = Boolean(target) || !typed.trim();
  find("colour").setAttribute("aria-invalid", String(!find("unread").hidden));
  find("near").replaceChildren();
  find("verdict").textContent = "";
  if (!target) return;
  // a metallic or fluorescent pencil is no stand-in for a plain colour, nor a plain one for it
  const asked = swatches
    .filter((swatch) => swatch.owned && swatch.finish === target.finish && swatch !== target)
    .map((swatch) => ({ swatch, difference: deltaE00(target.lab, swatch.lab) }));
  const far = asked.every(({ difference }) => difference > data.hue.beyond);
  const rank = ({ swatch, difference }) =>
    far ? hueKeepingDifference(target.lab, swatch.lab, data.hue) : difference;
  const near = asked.map((one) => ({ ...one, rank: rank(one) }))
    .sort((one, two) => one.rank - two.rank).slice(0, 5);
  const itself = target.owned ? `You own ${title(target)} itself. ` : "";
  if (!near.length) {
    find("verdict").textContent = data.owned ? `${itself}${data.verdicts.different}` : NONE_OWNED;
    return;
  }
  const [{ difference: least, swatch: first }] = near;
  const sure = nearness(least, target, first) === grade(least);
  const [begin, ...rest] = data.verdicts[grade(least)];
  const verdict = sure
    ? begin + rest.join("")
    : `As far as the colours are known, ${begin.toLowerCase()}${rest.join("")}`;
  const told = itself ? `${itself}Beside it: ${title(first)}.` : verdict;
  find("verdict").textContent = far ? `${told} ${data.hue.said}` : told;
  const rows = near.map(({ swatch, difference }) => {
    const seen = openable([[target, "asked"], [swatch, "yours"]]);
    return make("li", { class: "row" }, seen, about(swatch, { mine: true }), figure(difference, 0, nearness(difference, target, swatch)));
  });
  find("near").replaceChildren(...rows);
}

/* ---- the views ---- */
function showView() {
  const views = ["find", "wall", "same", "list"];
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
