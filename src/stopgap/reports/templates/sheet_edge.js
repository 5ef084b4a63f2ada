/* ---- on a sheet: rows of touching patches, and neighbours in a blend ---- */
for (const row of document.querySelectorAll(".patches")) {
  const before = row.closest(".strip li:not(.gap), .run li:not(:has(.many))")?.previousElementSibling;
  const touching = [before?.querySelector(".patch:last-child"), ...row.querySelectorAll(".patch")];
  const there = touching.filter(Boolean);
  if (there.length > 1) opensEdge(row, there);
}
