// Which word answers a note: the worst of what was found, since the worst is what the
// technician has to know before the next part goes on.

const ofRule = {
  ask: "unclear", limit: "out", derived: "out", spread: "out", void: "void", instrument: "gauge", missing: "left",
  pass_order: "order", step_order: "order", stack_order: "order", part_choice: "out", hold_point: "order", hand_over: "left",
};

const worstFirst = ["stop", "out", "unclear", "void", "order", "gauge", "left", "close", "in", "done", "noted"];

// ofFinding gives the word of one finding; a note-severity one only asks or informs.
export function ofFinding(finding) {
  if (finding.severity === "stop") return "stop";
  if (finding.severity === "note") return finding.rule === "ask" ? "unclear" : "noted";
  return ofRule[finding.rule] ?? "order";
}

// wordOf gives the word for an answer or entry, or for a note that has none yet.
export function wordOf(note) {
  if (note.refused) return "refused";
  if (note.waiting) return "kept";
  const found = [
    ...(note.findings ?? []).map(ofFinding),
    ...(note.readings ?? []).map((r) => r.verdict),
    ...(note.marks ?? []).map((m) => (m.is === "undone" ? "noted" : "done")),
    note.kind === "unclear" ? "unclear" : "noted",
  ];
  return worstOf(found) ?? "noted";
}

// worstOf gives the worst of some words.
export const worstOf = (found) => worstFirst.find((w) => found.includes(w));

export const isStop = (note) => (note.findings ?? []).some((f) => f.severity === "stop");
