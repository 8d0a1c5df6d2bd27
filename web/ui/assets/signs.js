// The words that answer, each with its letters and its sign. Letters are struck plates of
// our own, 100 high, so that a word has the same height on every machine. The signs show
// a limit gauge: two posts and what was read between, at, or beyond them.

import { draw } from "./dom.js";

const letters = {
  A: [60, "M10 100V24L24 10H36L50 24V100M10 60H50"],
  C: [60, "M50 32V22L38 10H22L10 22V78L22 90H38L50 78V68"],
  D: [60, "M10 10H36L50 24V76L36 90H10Z"],
  E: [54, "M54 10H10V90H54M10 50H48"],
  F: [54, "M54 10H10V100M10 50H48"],
  G: [60, "M50 32V22L38 10H22L10 22V78L22 90H38L50 78V54H28"],
  I: [20, "M10 0V100"],
  K: [60, "M10 0V100M50 0V28L32 48H10M32 48L50 68V100"],
  L: [54, "M10 0V90H54"],
  N: [66, "M10 0V100M56 0V100M10 8L56 92"],
  O: [60, "M22 10H38L50 22V78L38 90H22L10 78V22Z"],
  P: [60, "M10 100V10H38L50 22V44L38 56H10"],
  R: [60, "M10 100V10H38L50 22V42L38 54H10M30 54L50 74V100"],
  S: [60, "M50 32V22L38 10H22L10 22V38L22 50H38L50 62V78L38 90H22L10 78V68"],
  T: [60, "M0 10H60M30 10V100"],
  U: [60, "M10 0V78L22 90H38L50 78V0"],
  V: [60, "M10 0V60L30 92L50 60V0"],
};

const posts = "M14 6V94M86 6V94";

// words: what is written large, its sign ("line" is stroked, "solid" filled), and in what
// words the page explains it.
export const words = {
  in: { plate: "IN", text: "in limits", line: posts, solid: "M50 26L74 50L50 74L26 50Z" },
  close: { plate: "CLOSE", text: "close to a limit", line: posts, solid: "M68 26L92 50L68 74L44 50Z" },
  out: { plate: "OUT", text: "out of limits", line: "M8 6V94M48 6V94", solid: "M80 30L100 50L80 70L60 50Z" },
  unclear: { plate: "UNCLEAR", text: "asked back, not recorded", line: posts + "M34 36L44 24H56L66 36V46L50 58V64", solid: "M44 72H56V84H44Z" },
  stop: { plate: "STOP", text: "stop: do not go on", solid: "M30 2H70L98 30V70L70 98H30L2 70V30ZM20 42V58H80V42Z" },
  order: { plate: "ORDER", text: "done out of order", line: "M30 92V14M12 32L30 12L48 32M70 8V86M52 68L70 88L88 68" },
  void: { plate: "VOID", text: "no longer stands", line: posts + "M50 24L74 50L50 76L26 50ZM6 92L94 8" },
  gauge: { plate: "TOOL", text: "measured with a doubtful instrument", line: posts + "M30 50H70M38 36L26 50L38 64M62 36L74 50L62 64" },
  left: { plate: "LEFT", text: "left to do", line: "M12 12H88V88H12Z" },
  done: { plate: "DONE", text: "done", line: "M10 54L38 82L90 18" },
  noted: { plate: "NOTED", text: "noted", line: "M10 24H90M10 50H90M10 76H58" },
  kept: { plate: "KEPT", text: "kept, not checked yet", line: "M8 56V90H92V56M50 6V62M30 44L50 64L70 44" },
  refused: { plate: "REFUSED", text: "refused, nothing was kept", line: "M14 14L86 86M86 14L14 86" },
};

// sign draws the small or large sign of a word. It is decoration: the word stands by it.
export function sign(word) {
  const w = words[word] ?? words.noted;
  return draw("svg", { class: "sign", viewBox: "0 0 100 100", "aria-hidden": "true", focusable: "false" },
    w.line && draw("path", { class: "stroke", d: w.line }),
    w.solid && draw("path", { class: "solid", d: w.solid, "fill-rule": "evenodd" }));
}

// plate draws a word in large letters. Too wide a word is narrowed, never made lower.
export function plate(word) {
  const text = (words[word] ?? words.noted).plate;
  const gap = 12;
  let x = 0;
  const parts = [...text].map((c) => {
    const [width, d] = letters[c];
    const part = draw("path", { class: "stroke", d, transform: `translate(${x} 0)` });
    x += width + gap;
    return part;
  });
  const svg = draw("svg", { class: "plate", viewBox: `0 0 ${x - gap} 100`, preserveAspectRatio: "none", "aria-hidden": "true", focusable: "false" }, ...parts);
  svg.style.setProperty("--ratio", (x - gap) / 100);
  return svg;
}
