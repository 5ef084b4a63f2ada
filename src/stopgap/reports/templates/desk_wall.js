// The wall: pencils dragged to their places, or moved by Alt and arrows; parts that come as one goes.
const lineOf = (row) => [...row.querySelectorAll("[data-pencil]")];

// Tell the desk where a pencil stands now; where it may not, the wall is shown as it is.
async function placed(chip) {
  const row = chip.closest(".wall-row");
  const line = lineOf(row);
  const at = line.indexOf(chip);
  const fields = { pencil: chip.dataset.pencil, family: row.dataset.family };
  if (at) fields.after = line[at - 1].dataset.pencil;
  else if (line.length > 1) fields.before = line[1].dataset.pencil;
  chip.ariaBusy = "true";
  const told = await tell("/wall/move", fields);
  chip.ariaBusy = "false";
  if (!told) await show(location.href);
}

document.addEventListener("keydown", (event) => {
  const chip = event.target;
  const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  const over = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  if (!event.altKey || !(step || over) || !chip.dataset || !chip.dataset.pencil) return;
  event.preventDefault();
  if (chip.ariaBusy === "true") return;
  const row = chip.closest(".wall-row");
  if (step) {
    const line = lineOf(row);
    const other = line[line.indexOf(chip) + step];
    if (!other) return;
    other.closest("li")[step < 0 ? "before" : "after"](chip.closest("li"));
    chip.focus();
    placed(chip);
    return;
  }
  const rows = [...document.querySelectorAll(".wall-row[data-family]")];
  const next = rows[rows.indexOf(row) + over];
  if (next) filed(chip, next.dataset.family);
});

// File a pencil in another family, where it melts in best.
async function filed(chip, family) {
  chip.ariaBusy = "true";
  await tell("/wall/move", { pencil: chip.dataset.pencil, family });
  await show(location.href);
}

document.addEventListener("panel", () => {
  for (const line of document.querySelectorAll(".wall-row[data-family] ol")) {
    if (Sortable.get(line)) continue;
    Sortable.create(line, {
      group: "wall",
      forceFallback: true, // moved by pointers alone, the same everywhere
      fallbackTolerance: 4,
      animation: matchMedia("(prefers-reduced-motion: reduce)").matches ? 0 : 120,
      delay: 250,
      delayOnTouchOnly: true,
      onStart: () => { held = true; },
      onEnd: ({ item, from, to, oldIndex, newIndex }) => {
        held = false;
        if (from !== to || oldIndex !== newIndex) placed(item.querySelector("[data-pencil]"));
      },
    });
  }
  const more = document.querySelector(".links a[data-next]");
  if (more) further.observe(more);
});

// The next part of a wall that is too large for one page, laid below once one comes near.
const further = new IntersectionObserver(async ([seen]) => {
  if (!seen.isIntersecting) return;
  const link = seen.target;
  further.unobserve(link);
  const part = `p${document.querySelectorAll(".wall-row").length}x`;
  const panel = await panelOf(link.href, part);
  if (!panel || !link.isConnected) return;
  const own = new CSSStyleSheet();
  own.replaceSync(panel.dataset.paint);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, own];
  const shownYet = new Set([...document.querySelectorAll(".wall-row")].map((row) => row.dataset.family));
  const rows = [...panel.querySelectorAll(".wall-row")].filter((row) => !shownYet.has(row.dataset.family));
  document.querySelector(".wall").append(...rows.map((row) => document.adoptNode(row)));
  const next = panel.querySelector(".links a[data-next]");
  link.removeAttribute("data-next");
  for (const one of next ? document.querySelectorAll(".links a") : []) {
    if (one.getAttribute("href") === next.getAttribute("href")) one.dataset.next = "yes";
  }
  document.dispatchEvent(new CustomEvent("panel"));
}, { rootMargin: "800px" });
