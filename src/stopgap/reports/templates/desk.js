"use strict";
// What the desk does beyond its pages: ticks without leaving the wall, and changes from elsewhere
// within two seconds. Every page works without it.
const EVERY = 1500; // ms between two looks at the library
const body = document.body;
let typed = false;
let gone = false;

function say(text) {
  const line = document.createElement("p");
  line.textContent = text;
  document.getElementById("said").replaceChildren(line);
}

document.addEventListener("input", () => { typed = true; });

document.addEventListener("submit", async (event) => {
  const form = event.target;
  const chip = event.submitter;
  if (!form.matches(".ticking") || !chip || chip.ariaBusy === "true") return;
  event.preventDefault();
  chip.ariaBusy = "true";
  const answer = await fetch(form.action, {
    method: "POST",
    headers: { Accept: "application/json", "Content-Type": "application/x-www-form-urlencoded" },
    body: new URLSearchParams({ set: chip.value, page: form.elements.page.value }),
  }).catch(() => null);
  chip.ariaBusy = "false";
  const told = answer && await answer.json().catch(() => null);
  if (!told) { say("The desk does not answer. Was it closed?"); return; }
  say(told.said);
  if (told.stale) return;
  chip.value = told.set;
  chip.ariaPressed = String(told.owned);
  chip.closest("li").classList.toggle("owned", told.owned);
  body.dataset.mark = told.mark;
});

async function look() {
  const answer = await fetch("/mark").catch(() => null);
  if (!answer || !answer.ok) {
    if (!gone) say("The desk was closed. Start it again to go on.");
    gone = true;
    return;
  }
  const { mark } = await answer.json();
  if (mark !== body.dataset.mark) {
    body.dataset.mark = mark;
    if (typed) say("The library was changed elsewhere. Show this page again to see it as it is now.");
    else location.reload();
  }
}

setInterval(() => { if (!gone && !document.hidden) look(); }, EVERY);
