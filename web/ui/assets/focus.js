// The field keeps the focus: a technician with wet gloves, a wedge scanner or a foot on
// the pedal types without looking for it first.

const takes = "a, button, input, select, textarea, [tabindex]";

export function keepFocus(field) {
  field.focus();
  addEventListener("focus", () => document.activeElement === document.body && field.focus());
  document.addEventListener("click", (event) => back(event, field));
  document.addEventListener("keydown", (event) => {
    const plain = event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey && !event.altKey;
    if (plain && !event.target.closest("input, select, textarea")) field.focus();
    if (event.key === "Escape") field.focus();
  });
}

// back returns to the field after a click beside it; a finger does not call up the
// keyboard again, and a text that was just marked stays marked.
function back(event, field) {
  if (event.target.closest(takes) && !event.target.closest("ol[tabindex], .roll")) return;
  if (event.pointerType === "touch" || !getSelection().isCollapsed) return;
  field.focus();
}
