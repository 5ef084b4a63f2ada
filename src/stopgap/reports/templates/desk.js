"use strict";
// What the desk does beyond its pages: panels laid anew without leaving the page, ticks, changes from
// elsewhere within two seconds, answers that took longer. Every page works without it.
const EVERY = 1500; // ms between two looks at the library
const SOON = 500; // ms until an answer is asked for again that is still worked out
const body = document.body;
const ours = window.trustedTypes
  ? window.trustedTypes.createPolicy("desk", { createHTML: (text) => text }) // what our server wrote
  : { createHTML: (text) => text };
const paints = new CSSStyleSheet();
let typed = false; // into the panel
let gone = false;
let asked = 0; // what is under way
let held = false; // a pencil is dragged
let shown = 0; // panels asked for
const panelNow = () => document.getElementById("panel");

function sayAll(lines) {
  const said = document.getElementById("said");
  const words = (nodes) => [...nodes].map((node) => node.textContent).join("\n");
  if (words(said.children) !== words(lines)) said.replaceChildren(...lines);
}

function say(text) {
  const line = document.createElement("p");
  line.textContent = text;
  sayAll([line]);
}

// Send a form and say what came of it; null where nothing was done.
async function tell(address, fields) {
  asked += 1;
  const answer = await fetch(address, {
    method: "POST",
    headers: { Accept: "application/json", "Content-Type": "application/x-www-form-urlencoded" },
    body: new URLSearchParams(fields),
  }).catch(() => null);
  const told = answer && await answer.json().catch(() => null);
  asked -= 1;
  if (!told) { say("The desk does not answer. Was it closed?"); return null; }
  say(told.said);
  if (told.stale) { show(location.href); return null; }
  panelNow().dataset.mark = told.mark;
  return told;
}

// The panel of an address as elements, its colours called by `part`; null where there is none.
async function panelOf(address, part) {
  const wanted = new URL(address, location.href);
  for (const old of ["said", "page"]) wanted.searchParams.delete(old);
  wanted.searchParams.set("part", part);
  wanted.searchParams.set("page", body.dataset.page);
  wanted.hash = "";
  const answer = await fetch(wanted).catch(() => null);
  if (!answer || !answer.ok) return null;
  const page = new DOMParser().parseFromString(ours.createHTML(await answer.text()), "text/html");
  return page.getElementById("panel");
}

// Lay the panel of an address into this page; whoever looks at a pencil still looks at it then.
async function show(address, saying = false) {
  const turn = shown += 1;
  const panel = await panelOf(address, "k");
  if (turn !== shown) return;
  if (!panel) { say("The desk does not answer. Was it closed?"); return; }
  if (held || asked || (typed && !saying)) { again(); return; } // not now: a look comes soon
  const here = panelNow().dataset;
  if (!saying && here.answered && panel.dataset.awaited && !panel.dataset.answered) {
    again(); // what stands there is better than nothing
    return;
  }
  const [said, at] = [panel.querySelector("#said"), document.activeElement];
  const inside = panelNow().contains(at) ? at.dataset.pencil || at.id : "";
  if (saying || panel.dataset.awaited || panelNow().dataset.awaited) sayAll([...said.children]);
  said.remove();
  paints.replaceSync(panel.dataset.paint);
  document.adoptedStyleSheets = [paints];
  delete panel.dataset.paint;
  const far = window.scrollY;
  panelNow().replaceWith(document.adoptNode(panel));
  document.title = panel.dataset.title;
  body.classList.toggle("answered", Boolean(panel.dataset.answered && document.querySelector(".asking")));
  typed = false;
  if (inside) {
    const named = CSS.escape(inside);
    (panel.querySelector(`[data-pencil="${named}"]`) || panel.querySelector(`#${named}`))?.focus();
  }
  window.scrollTo(0, far);
  begin();
}

// Ask again for what is still worked out.
function again() {
  const { awaited, answered } = panelNow().dataset;
  if (awaited) setTimeout(() => show(location.href), answered ? EVERY : SOON);
}

// What every panel needs once it lies in the page.
function begin() {
  again();
  document.dispatchEvent(new CustomEvent("panel"));
}

document.addEventListener("input", (event) => { typed ||= panelNow().contains(event.target); });

document.addEventListener("submit", async (event) => {
  const form = event.target;
  const chip = event.submitter;
  if (form.matches(".asking")) {
    event.preventDefault();
    const address = `${form.action}?${new URLSearchParams(new FormData(form))}`;
    history.pushState(null, "", address);
    await show(address, true);
    document.getElementById("answer").focus({ preventScroll: true });
    return;
  }
  if (!form.matches(".ticking") || !chip || chip.ariaBusy === "true") return;
  event.preventDefault();
  chip.ariaBusy = "true";
  const told = await tell(form.action, { set: chip.value, page: form.elements.page.value });
  chip.ariaBusy = "false";
  if (!told) return;
  chip.value = told.set;
  chip.ariaPressed = String(told.owned);
  chip.closest("li").classList.toggle("owned", told.owned);
});

// A slider says its number, and asks again once it is let go.
document.addEventListener("input", ({ target }) => {
  if (target.type === "range") target.nextElementSibling.value = target.value;
});
document.addEventListener("change", ({ target }) => {
  if (target.type !== "range") return;
  typed = false;
  target.form.requestSubmit();
});

window.addEventListener("popstate", () => location.reload());

async function look() {
  const answer = await fetch("/mark").catch(() => null);
  if (!answer || !answer.ok) {
    if (!gone) say("The desk was closed. Start it again to go on.");
    gone = true;
    return;
  }
  const { mark } = await answer.json();
  if (asked || held || mark === panelNow().dataset.mark) return;
  if (typed) say("The library was changed elsewhere. Show this page again to see it as it is now.");
  else await show(location.href);
}

setInterval(() => { if (!gone && !asked && !held && !document.hidden) look(); }, EVERY);
addEventListener("DOMContentLoaded", begin);
