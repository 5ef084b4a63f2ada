/* ---- the shopping list of this page, kept in this browser where it lets us ---- */
const STORE = `stopgap.pocket.list.${data.list}`;
let kept = {};
try {
  const stored = JSON.parse(localStorage.getItem(STORE));
  if (stored && typeof stored === "object" && !Array.isArray(stored)) kept = stored;
} catch { /* nothing readable is kept */ }
function store() {
  try {
    localStorage.setItem(STORE, JSON.stringify(kept));
  } catch {
    find("unkept").hidden = false;
  }
}
store(); // at once, so that it is said before anything is ticked where nothing will be kept
function keep(address, changes) {
  kept[address] = { ...kept[address], ...changes };
  store();
  showList();
}
const planned = new Map(data.buy.map(([place, price, why, unit]) => [place, { price, why, unit }]));
const prices = new Map(data.prices.map(([place, price, unit]) => [place, { price, unit }]));
const costOf = (swatch) => planned.get(swatch.place) ?? prices.get(swatch.place) ?? {};
const isListed = (swatch) => kept[swatch.address]?.listed ?? planned.has(swatch.place);
const isTicked = (swatch) => Boolean(kept[swatch.address]?.ticked);
const money = (sum, unit) => `${sum.toFixed(2)} ${unit}`.trim();

/** The sum of what is known, in each unit: "5.30 EUR". Empty where nothing has a price. */
function sumOf(listed) {
  const sums = new Map();
  for (const { price, unit } of listed.map(costOf)) {
    if (price != null) sums.set(unit, (sums.get(unit) ?? 0) + price);
  }
  return [...sums].map(([unit, sum]) => money(sum, unit)).join(" and ");
}
function showSums(listed) {
  const ticked = listed.filter(isTicked);
  const left = listed.filter((swatch) => !isTicked(swatch));
  const unpriced = listed.filter((swatch) => costOf(swatch).price == null).length;
  const all = sumOf(listed);
  const said = [
    listed.length && `${ticked.length} of ${listed.length} ticked`,
    all && `together ${all}`,
    all && ticked.length > 0 && `still to pay ${sumOf(left) || money(0, "")}`,
    all && unpriced > 0 && `${unpriced} without a price`,
  ];
  find("ticks").textContent = said.filter(Boolean).join(" · ");
}
function showList() {
  const listed = swatches.filter(isListed);
  showSums(listed);
  find("empty").hidden = listed.length > 0;
  const ranges = [...new Set(listed.map((swatch) => swatch.range))];
  const rows = ranges.flatMap((range) => {
    const items = listed.filter((swatch) => swatch.range === range).map(listItem);
    return [make("h3", {}, range), make("ul", { class: "rows" }, ...items)];
  });
  find("items").replaceChildren(...rows);
  carryHome(listed.filter(isTicked));
}
function listItem(swatch) {
  const { price, why, unit } = costOf(swatch);
  const box = make("input", { type: "checkbox" });
  box.checked = isTicked(swatch);
  box.addEventListener("change", () => {
    keep(swatch.address, { ticked: box.checked });
    // the list was drawn anew: stay at the same pencil
    for (const again of find("items").querySelectorAll("input")) {
      if (again.dataset.address === swatch.address) again.focus();
    }
  });
  box.dataset.address = swatch.address;
  const words = about(swatch);
  if (why) words.append(make("span", { class: "quiet" }, why));
  const label = make("label", { class: "row" }, box, patches([[swatch]]), words);
  if (price != null) label.append(make("span", { class: "figure" }, money(price, unit)));
  return make("li", {}, label);
}
/** A button that puts a pencil on the list; words instead where there is nothing to buy. */
function listing(swatch) {
  const why = swatch.owned ? "You own it." : "It is no longer made.";
  if (!isListed(swatch) && (swatch.owned || swatch.discontinued)) return make("p", {}, why);
  const button = make("button", { type: "button" });
  const say = () => {
    button.textContent = isListed(swatch) ? "Take off the list" : "Put on the list";
  };
  button.addEventListener("click", () => {
    keep(swatch.address, { listed: !isListed(swatch), ticked: false });
    say();
  });
  say();
  return button;
}

/* ---- what was bought, taken home as a list that the library reads ---- */
function carryHome(bought) {
  const cell = (text) => (/[",;\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);
  const text = ["colour", ...bought.map((swatch) => cell(swatch.address))].join("\n") + "\n";
  find("carry").hidden = !bought.length;
  find("bought").value = text;
  find("save").href = `data:text/csv;charset=utf-8,${encodeURIComponent(text)}`;
}
find("bought").addEventListener("focus", () => find("bought").select());

/* ---- everything is there: begin ---- */
showFound();
showList();
showView();
if (location.hash === "#wall") showWall();
