// Searches that were kept by name on the server, each with how many notes are new to it since somebody
// looked at it last. They are counted again every half a minute while the page is in sight.

import { byId, clock, make } from "./dom.js";
import { ask, send } from "./fetch.js";

const again = 30_000; // ms
const route = (name) => `/api/searches/${encodeURIComponent(name)}`;
const number = (s) => (s.more ? `${s.new} and more` : String(s.new));

// shelf shows what is kept; open(query, fresh) searches for one, of which so many notes are new.
export function shelf(open, current) {
  let told = "";

  async function show() {
    try {
      const { searches } = await ask("/api/searches");
      const held = document.activeElement?.closest("#searches button")?.ariaLabel;
      byId("kept").hidden = searches.length === 0;
      byId("searches").replaceChildren(...searches.map(row));
      if (held) [...document.querySelectorAll("#searches button")].find((b) => b.ariaLabel === held)?.focus();
      const news = searches.filter((s) => s.new > 0).map((s) => `${s.name}: ${number(s)} new`).join(". ");
      if (news !== told) byId("news").textContent = told = news;
    } catch {
      // the search itself says that the server is away
    }
  }

  function row(s) {
    const fresh = s.new > 0;
    const go = make("button", { type: "button", class: fresh ? "fresh" : null, "aria-label": `${s.name}, ${s.wrong || (fresh ? `${number(s)} new` : "nothing new")}` },
      make("bdi", {}, s.name), make("span", { class: "count" }, s.wrong || (fresh ? `${number(s)} new` : "nothing new")));
    go.title = `looked at ${clock(s.seen)}`;
    go.addEventListener("click", async () => {
      try {
        const looked = await send(`${route(s.name)}/look`, {});
        open(looked.query, looked.new);
      } catch (problem) {
        byId("found").textContent = problem.message;
      }
      show();
    });
    const away = make("button", { type: "button", class: "away", "aria-label": `Remove the search ${s.name}` }, make("span", { "aria-hidden": "true" }, "✕"));
    away.addEventListener("click", async () => {
      try {
        await ask(route(s.name), { method: "DELETE" });
      } catch (problem) {
        byId("found").textContent = problem.message;
      }
      await show();
      byId("q").focus();
    });
    return make("li", {}, go, away);
  }

  byId("keeping").addEventListener("submit", async (event) => {
    event.preventDefault();
    byId("keep-wrong").textContent = "";
    try {
      await send("/api/searches", { name: byId("name").value, query: current() });
      byId("name").value = "";
      byId("keep").open = false;
      await show();
      byId("keep").querySelector("summary").focus();
    } catch (problem) {
      byId("keep-wrong").textContent = problem.message;
    }
  });
  setInterval(() => document.hidden || show(), again);
  document.addEventListener("visibilitychange", () => document.hidden || show());
  show();
}
