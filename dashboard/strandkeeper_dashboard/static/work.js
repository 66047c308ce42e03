// While somebody looks: says so every ten seconds, so that the watching program polls once a second,
// and asks four times a second for the running figures, which come only when they are new.
// Ends by itself after half an hour; rests while the page is hidden.
"use strict";

(() => {
  const form = document.getElementById("look");
  if (!form || form.dataset.looking !== "yes") return;
  const RENEW_MS = 10000;
  const PERIOD_MS = 250;
  const DEADLINE_MS = 5000;
  const until = Date.now() + 30 * 60 * 1000;
  const place = document.getElementById("running");
  let seen = "";

  const renewing = setInterval(() => {
    if (Date.now() > until) clearInterval(renewing);
    else if (!document.hidden) fetch(form.action, { method: "POST", body: new FormData(form), redirect: "manual", credentials: "same-origin" }).catch(() => {});
  }, RENEW_MS);

  async function look() {
    if (Date.now() > until) return;
    if (!document.hidden) await take().catch(() => {}); // the page's other script says when nothing answers
    setTimeout(look, PERIOD_MS);
  }

  async function take() {
    const url = `${place.dataset.running}?seen=${encodeURIComponent(seen)}`;
    const answer = await fetch(url, { signal: AbortSignal.timeout(DEADLINE_MS), redirect: "error", cache: "no-store", credentials: "same-origin" });
    if (answer.status !== 200) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-part=live]");
    const mine = place.querySelector("[data-part=live]");
    if (!fresh || !mine) return;
    mine.replaceWith(document.adoptNode(fresh));
    seen = answer.headers.get("X-Seen") || "";
  }

  if (place) look();
})();
