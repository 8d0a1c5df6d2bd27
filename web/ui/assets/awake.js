// The screen stays on while an open microphone is: with it off the page is hidden, and deaf. A browser
// that cannot, or will not as its battery is low, lets it go off as ever.

let wanted = false;
let asks = false;
let lock = null; // the browser lets it go by itself when the page is hidden

// awake keeps the screen on, or no longer.
export function awake(on) {
  wanted = on;
  on ? ask() : letGo();
}

async function ask() {
  if (lock || asks || document.hidden || !navigator.wakeLock) return;
  asks = true;
  try {
    const given = await navigator.wakeLock.request("screen");
    given.addEventListener("release", () => lock === given && (lock = null));
    if (!given.released) lock = given;
  } catch {
    // refused: the screen goes off when it does
  }
  asks = false;
  if (!wanted) letGo();
}

function letGo() {
  lock?.release().catch(() => {});
  lock = null;
}

document.addEventListener("visibilitychange", () => document.hidden || (wanted && ask()));
