"use strict";
// What the desk does beyond its pages: ticks without leaving the wall, and changes from elsewhere
// within two seconds. Every page works without it.
const EVERY = 1500; // ms between two looks at the library
const body = document.body;
let typed = false;
let gone = false;
let asked = 0; // what is under way

function say(text) {
  const line = document.createElement("p");
  line.textContent = text;
  document.getElementById("said").replaceChildren(line);
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
  if (told.stale) return null;
  body.dataset.mark = told.mark;
  return told;
}

document.addEventListener("input", () => { typed = true; });

document.addEventListener("submit", async (event) => {
  const form = event.target;
  const chip = event.submitter;
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

// Alt and an arrow moves a pencil of the wall by one; its page has buttons for the same.
document.addEventListener("keydown", async (event) => {
  const chip = event.target;
  const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  if (!event.altKey || !step || !chip.dataset || !chip.dataset.pencil) return;
  event.preventDefault();
  const row = chip.closest(".wall-row");
  const line = [...row.querySelectorAll(".point")];
  const other = line[line.indexOf(chip) + step];
  if (!other || chip.ariaBusy === "true") return;
  chip.ariaBusy = "true";
  const fields = { pencil: chip.dataset.pencil, family: row.dataset.family };
  fields[step < 0 ? "before" : "after"] = other.dataset.pencil;
  const told = await tell("/wall/move", fields);
  chip.ariaBusy = "false";
  if (!told) return;
  const item = chip.closest("li");
  other.closest("li")[step < 0 ? "before" : "after"](item);
  chip.focus();
});

async function look() {
  const answer = await fetch("/mark").catch(() => null);
  if (!answer || !answer.ok) {
    if (!gone) say("The desk was closed. Start it again to go on.");
    gone = true;
    return;
  }
  const { mark } = await answer.json();
  if (!asked && mark !== body.dataset.mark) {
    body.dataset.mark = mark;
    if (typed) say("The library was changed elsewhere. Show this page again to see it as it is now.");
    else location.reload();
  }
}

setInterval(() => { if (!gone && !asked && !document.hidden) look(); }, EVERY);
