"use strict";

/* Linear sRGB (D65) to XYZ under D50: IEC 61966-2-1 primaries, Bradford; the columns sum to D50. */
const TO_XYZ = [
  [0.436065747, 0.38515151, 0.14307842],
  [0.222493177, 0.716887013, 0.06061981],
  [0.013923921, 0.097081324, 0.714099357],
];

/** CIE L*a*b* (D50) of "#rgb" or "#rrggbb". */
function hexToLab(hex) {
  const digits = hex.length === 4 ? hex.replace(/[^#]/g, "$&$&") : hex;
  const linear = [1, 3, 5].map((at) => {
    const value = parseInt(digits.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
  const [x, y, z] = TO_XYZ.map((row) => {
    const white = row[0] + row[1] + row[2];
    const share = (row[0] * linear[0] + row[1] * linear[1] + row[2] * linear[2]) / white;
    return share > 216 / 24389 ? Math.cbrt(share) : ((24389 / 27) * share + 16) / 116;
  });
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** What stands between semicolons, commas or spaces, with a point for a decimal comma. */
function partsOf(inside) {
  const pointed = (all) => all.map((part) => part.trim().replace(",", "."));
  if (inside.includes(";")) return pointed(inside.split(";"));
  const apart = inside.split(",").map((part) => part.trim());
  if (apart.length === 3 && apart.every((part) => !/\s/.test(part))) return apart;
  if (/,\s|\s,/.test(inside)) return pointed(inside.split(/\s*,\s+|\s+,/));
  const spaced = inside.split(/\s+/);
  return pointed(spaced.length === 3 || apart.length === 1 ? spaced : apart);
}
/**
 * L*, a*, b* of "#rrggbb", "rgb(192, 74, 43)", "lab(52 40 30)" or three numbers; null where it is
 * none of these.
 */
function parseColour(text) {
  const typed = text.trim().replace(/−/g, "-");
  if (/^#?([0-9a-f]{3}|[0-9a-f]{6})$/i.test(typed)) return hexToLab("#" + typed.replace("#", ""));
  const [, space, inside] = /^(lab|rgb)\s*\((.*)\)$/i.exec(typed) ?? [null, "lab", typed];
  const parts = partsOf(inside.trim());
  if (parts.length !== 3 || !parts.every((part) => /^[+-]?(\d+\.?\d*|\.\d+)%?$/.test(part))) {
    return null;
  }
  if (/rgb/i.test(space)) {
    const bytes = parts.map((part) => parseFloat(part) * (part.endsWith("%") ? 2.55 : 1));
    const hex = bytes.map((byte) => Math.round(byte).toString(16).padStart(2, "0")).join("");
    return bytes.every((byte) => byte >= 0 && byte <= 255) ? hexToLab("#" + hex) : null;
  }
  const [L, a, b] = parts.map(
    (part, place) => parseFloat(part) * (part.endsWith("%") && place ? 1.25 : 1),
  );
  return L >= 0 && L <= 100 && Math.abs(a) <= 200 && Math.abs(b) <= 200 ? [L, a, b] : null;
}

/**
 * CIEDE2000, ISO/CIE 11664-6, k_L = k_C = 1; numbers are the equations of G. Sharma, W. Wu,
 * E. N. Dalal (2005), Color Research & Application 30(1), 21-30.
 */
function deltaE00([L1, a1, b1], [L2, a2, b2], kH = 1) {
  const radians = Math.PI / 180;
  const strength = (C) => Math.sqrt(C ** 7 / (C ** 7 + 25 ** 7));
  const G = 0.5 * (1 - strength((Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2)); // (2)-(4)
  const C1 = Math.hypot((1 + G) * a1, b1); // (5), (6)
  const C2 = Math.hypot((1 + G) * a2, b2);
  const angle = (a, b) => (Math.atan2(b, (1 + G) * a) / radians + 360) % 360; // (7)
  const h1 = C1 ? angle(a1, b1) : 0;
  const h2 = C2 ? angle(a2, b2) : 0;
  // exactly opposite hues count as 180 degrees apart, whatever the rounding of angles says
  const opposite = Math.abs(a1 * b2 - b1 * a2) <= 1e-14 * -(a1 * a2 + b1 * b2);
  const beyond = C1 * C2 > 0 && !opposite && Math.abs(h2 - h1) > 180;
  let dh = h2 - h1; // (10)
  if (beyond) dh -= 360 * Math.sign(dh);
  const dH = 2 * Math.sqrt(C1 * C2) * Math.sin((dh / 2) * radians); // (11)
  const L = (L1 + L2) / 2; // (12)
  const C = (C1 + C2) / 2; // (13)
  let h = C1 * C2 ? (h1 + h2) / 2 : h1 + h2; // (14)
  if (beyond) h += h1 + h2 < 360 ? 180 : -180;
  const cos = (degrees) => Math.cos(degrees * radians);
  const T = 1 - 0.17 * cos(h - 30) + 0.24 * cos(2 * h) // (15)
    + 0.32 * cos(3 * h + 6) - 0.2 * cos(4 * h - 63);
  const turn = 30 * Math.exp(-(((h - 275) / 25) ** 2)); // (16)
  const SL = 1 + (0.015 * (L - 50) ** 2) / Math.sqrt(20 + (L - 50) ** 2); // (18)
  const SC = 1 + 0.045 * C; // (19)
  const SH = 1 + 0.015 * C * T; // (20)
  const RT = -Math.sin(2 * turn * radians) * 2 * strength(C); // (17), (21)
  const [l, c, H] = [(L2 - L1) / SL, (C2 - C1) / SC, dH / (kH * SH)];
  return Math.sqrt(Math.max(0, l * l + c * c + H * H + RT * c * H)); // (22)
}

/** What ranks where nothing is near: ΔE00 that gives up lightness rather than the hue asked for. */
function hueKeepingDifference(asked, lab, { kept_chroma, kept_share, lost, weight }) {
  const chroma = Math.hypot(asked[1], asked[2]);
  const along = (asked[1] * lab[1] + asked[2] * lab[2]) / Math.max(chroma, 1e-9);
  const gone = along < Math.min(kept_chroma, kept_share * chroma);
  return deltaE00(asked, lab, 1 / weight) + (gone ? lost : 0);
}
