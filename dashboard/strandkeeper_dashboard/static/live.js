// Keeps a page true without reloading it: asks once a second whether the record moved, fetches the
// page again when it did, and puts in the parts that differ. Says so when the server is gone.
"use strict";

(() => {
  const liveUrl = document.body.dataset.live;
  if (!liveUrl) return;

  const PERIOD_MS = 1000;
  const DEADLINE_MS = 6000;
  const MISSES = 3;
  const lost = document.getElementById("lost");
  let tag = null;
  let misses = 0;
  let silentSince = null;
  let ahead = 0; // the server's clock less this device's, ms
  let timer = 0;
  let busy = false;

  const SPANS = [[86400, "day", "days"], [3600, "hour", "hours"], [60, "minute", "minutes"]];

  function duration(seconds) {
    let left = Math.max(0, Math.round(seconds));
    const words = [];
    for (const [span, one, many] of SPANS) {
      const count = Math.floor(left / span);
      left %= span;
      if (count) words.push(`${count} ${count === 1 ? one : many}`);
    }
    if (!words.length) return `${left} second${left === 1 ? "" : "s"}`;
    return / (day|hour)/.test(words[0]) ? words.slice(0, 2).join(" ") : words[0];
  }

  function tellAges() {
    const now = Date.now() + ahead;
    for (const place of document.querySelectorAll("[data-ago]")) {
      const said = `${duration((now - Number(place.dataset.ago)) / 1000)} ago`;
      if (place.textContent !== said) place.textContent = said;
    }
  }

  async function ask(url, kind) {
    const ended = new AbortController();
    const deadline = setTimeout(() => ended.abort(), DEADLINE_MS);
    try {
      const answer = await fetch(url, { signal: ended.signal, cache: "no-store", credentials: "same-origin" });
      if (answer.status === 401) location.reload(); // the session is over: the log-in comes
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      return await answer[kind]();
    } finally {
      clearTimeout(deadline);
    }
  }

  function putIn(text) {
    const fresh = new DOMParser().parseFromString(text, "text/html");
    const held = document.activeElement;
    for (const fold of fresh.querySelectorAll("details[id]")) {
      const mine = document.getElementById(fold.id);
      if (mine) fold.open = mine.open; // what a person opened or closed stays so
    }
    const named = (page) => [...page.querySelectorAll("[data-part]")].map((part) => part.dataset.part);
    const alike = named(document).join("\n") === named(fresh).join("\n");
    for (const part of alike ? [...fresh.querySelectorAll("[data-part]")] : [fresh.getElementById("main")]) {
      const mine = alike ? document.querySelector(`[data-part="${CSS.escape(part.dataset.part)}"]`) : document.getElementById("main");
      if (mine.outerHTML !== part.outerHTML) swap(mine, part, held);
    }
    document.title = fresh.title;
    const icon = fresh.querySelector("link[rel=icon]");
    if (icon) document.querySelector("link[rel=icon]").href = icon.getAttribute("href");
    document.dispatchEvent(new CustomEvent("record-moved"));
  }

  // The place that had the keyboard keeps it, wherever it now stands.
  function swap(mine, part, held) {
    const sought = mine.contains(held) ? description(held) : null;
    mine.replaceWith(document.adoptNode(part));
    if (!sought) return;
    const again = [...part.querySelectorAll(held.tagName)].find((place) => description(place) === sought);
    again?.focus({ preventScroll: true });
  }

  function description(place) {
    const within = place.closest("[id]");
    return [place.tagName, place.getAttribute("href"), within?.id, place.textContent].join("\n");
  }

  function clock(moment) {
    return new Date(moment).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" });
  }

  function tellLost() {
    lost.hidden = false;
    const said = `No answer from Strandkeeper since ${clock(silentSince)}. What this page shows is from then; it keeps asking.`;
    if (lost.textContent !== said) lost.textContent = said;
    document.body.classList.add("is-lost");
  }

  function tellBack() {
    misses = 0;
    silentSince = null;
    lost.hidden = true;
    lost.textContent = "";
    document.body.classList.remove("is-lost");
  }

  async function look() {
    if (busy) return;
    busy = true;
    clearTimeout(timer);
    try {
      const now = await ask(liveUrl, "json");
      ahead = now.now_ms - Date.now();
      if (tag !== null && now.tag !== tag) putIn(await ask(location.href, "text"));
      tag = now.tag;
      tellBack();
    } catch (trouble) {
      silentSince ??= Date.now();
      misses += 1;
      if (misses >= MISSES) tellLost();
    }
    tellAges();
    busy = false;
    timer = setTimeout(look, document.hidden ? 15 * PERIOD_MS : PERIOD_MS);
  }

  // A phone that slept looks again at once.
  document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
  window.addEventListener("online", look);
  window.addEventListener("pageshow", (event) => { if (event.persisted) look(); });
  look();
})();
