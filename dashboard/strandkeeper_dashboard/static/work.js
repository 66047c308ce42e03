// While somebody looks, says so every ten seconds: the watching program then polls once a second.
// Ends by itself after half an hour, and while the page is hidden.
"use strict";

(() => {
  const form = document.getElementById("look");
  if (!form || form.dataset.looking !== "yes") return;
  const until = Date.now() + 30 * 60 * 1000;
  const timer = setInterval(() => {
    if (Date.now() > until) clearInterval(timer);
    else if (!document.hidden) fetch(form.action, { method: "POST", body: new FormData(form), redirect: "manual", credentials: "same-origin" }).catch(() => {});
  }, 10000);
})();
