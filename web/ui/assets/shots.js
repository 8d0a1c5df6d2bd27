// Photos of a note as a list shows them: small, with what became of them in words.

import { clock, make } from "./dom.js";

// A photo is {id, photo, seq, at, gone, bytes, refused, delay}: photo its hash where the server keeps it,
// bytes the JPEG where this browser alone has it, gone {at, rule} where it was purged, delay why the
// server could not keep it yet.

// shots draws the photos of a note; of says whose: "note 12". act.resend(photo) and act.drop(photo)
// are for one that was refused, act.stray(photo) says whether its note is not in the record.
export function shots(job, photos, of, act = {}) {
  if (!photos?.length) return null;
  return make("ul", { class: "shots", "aria-label": `Photos of ${of}` }, ...photos.map((p, i) => make("li", {}, ...shot(job, p, `Photo ${i + 1} of ${of}`, act))));
}

function shot(job, p, name, act) {
  if (p.gone) return [make("p", { class: "gone" }, `Photo ${purged(p.gone)}`)];
  if (p.photo) {
    const at = `/api/jobs/${encodeURIComponent(job)}/photos/${p.photo}`;
    const img = make("img", { src: `${at}?small`, alt: name, loading: "lazy" });
    const button = make("button", { type: "button", "aria-label": `${name}: show it large`, "aria-haspopup": "dialog" }, img);
    img.addEventListener("error", () => button.replaceChildren(`${name} cannot be shown now`));
    button.addEventListener("click", () => large(at, name));
    return [button];
  }
  const words = p.refused ? `Not kept: ${p.refused}` : `Photo kept here, not sent yet${p.delay ? `: ${p.delay}` : ""}`;
  return [small(p, name), make("p", { class: "gone" }, words), p.refused && acts(p, act)].filter(Boolean);
}

// large shows a photo as large as the screen, until it is closed.
function large(at, name) {
  const close = make("button", { type: "button" }, "Close");
  const img = make("img", { src: at, alt: name });
  const dialog = make("dialog", { class: "large", "aria-label": name }, img, make("div", { class: "row" }, close));
  img.addEventListener("error", () => img.replaceWith(make("p", { class: "wrong" }, "The photo cannot be shown now: the server cannot be reached, or has it no longer.")));
  close.addEventListener("click", () => dialog.close());
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}

// small draws a photo that this browser alone has. The policy lets no page load from memory, so it is
// painted.
function small(p, name) {
  const canvas = make("canvas", { role: "img", "aria-label": name, width: 1, height: 1 });
  createImageBitmap(new Blob([p.bytes], { type: "image/jpeg" })).then((picture) => {
    const by = Math.min(1, 480 / Math.max(picture.width, picture.height));
    canvas.width = Math.round(picture.width * by);
    canvas.height = Math.round(picture.height * by);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
  }).catch(() => canvas.remove());
  return canvas;
}

function acts(p, act) {
  const again = make("button", { type: "button" }, act.stray?.(p) ? "Put it with the last note" : "Send it again");
  const drop = make("button", { type: "button" }, "Drop it");
  again.addEventListener("click", () => act.resend(p));
  drop.addEventListener("click", () => act.drop(p));
  return make("div", { class: "acts" }, again, drop);
}

// purged says when and why something was purged.
export const purged = ({ at, rule }) => `purged ${clock(at)}: ${rule}`;
