// What every page does: the switch between the light and the dark sheet, and the worker
// that keeps the pages' files for when the line is down.

const dark = matchMedia("(prefers-color-scheme: dark)");

function wanted() {
  try {
    return localStorage.getItem("readback-sheet") ?? (dark.matches ? "dark" : "light");
  } catch {
    return dark.matches ? "dark" : "light";
  }
}

function show(sheet) {
  document.documentElement.dataset.sheet = sheet;
  for (const b of document.querySelectorAll(".lamp-switch")) b.setAttribute("aria-pressed", String(sheet === "dark"));
}

function turn() {
  const sheet = document.documentElement.dataset.sheet === "dark" ? "light" : "dark";
  try {
    localStorage.setItem("readback-sheet", sheet);
  } catch {
    // a browser that keeps nothing still turns this page
  }
  show(sheet);
}

show(wanted());
// Paper is light.
addEventListener("beforeprint", () => (document.documentElement.dataset.sheet = "light"));
addEventListener("afterprint", () => show(wanted()));

dark.addEventListener("change", () => show(wanted()));
for (const b of document.querySelectorAll(".lamp-switch")) b.addEventListener("click", turn);

// keep starts the worker. Where nothing is kept, say in a private window, the page works,
// but not across a reload without a line.
function keep() {
  navigator.serviceWorker?.register("/sw.js").catch(() => {});
}

// The worker fetches all files once more, and waits until the page has its own.
const idle = globalThis.requestIdleCallback ?? ((work) => setTimeout(work, 500));
addEventListener("load", () => idle(keep, { timeout: 2000 }));
