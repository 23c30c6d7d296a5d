// On pages with questions: says at which one the reader is, and shows at which ones others are and what they answered
// meanwhile. Nothing on the pages needs this file.
(function () {
  "use strict";

  const desk = () => document.getElementById("desk");
  const RENEW_MS = 60000;
  let at = null;
  let said = 0;
  let waiting = 0;

  function hour(ms) {
    return new Intl.DateTimeFormat(document.documentElement.lang, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(new Date(ms));
  }

  function words(pattern, who, ms) {
    return pattern.replace("{who}", who).replace("{when}", hour(ms));
  }

  function body(card) {
    return new URLSearchParams({ token: desk().dataset.token, survey: desk().dataset.of, subject: card.subject, fact: card.fact });
  }

  function say(card) {
    at = { subject: card.dataset.subject, fact: card.dataset.fact };
    said = Date.now();
    fetch("/claims", { method: "POST", body: body(at), keepalive: true }).catch(() => undefined);
  }

  const same = (card) => at && at.subject === card.dataset.subject && at.fact === card.dataset.fact;

  // Who only passes by on the way to another is at none.
  function touched(event) {
    const where = event.type === "keydown" ? document.activeElement : event.target; // a key may have moved the focus
    const card = where && where.closest && where.closest("[data-question][data-open]");
    if (!card || !desk() || !desk().dataset.token) {
      return;
    }
    clearTimeout(waiting);
    if (same(card) && Date.now() - said < RENEW_MS) {
      return;
    }
    waiting = setTimeout(() => document.body.contains(card) && say(card), same(card) ? 0 : 700);
  }

  function left() {
    clearTimeout(waiting);
    if (at && desk()) {
      navigator.sendBeacon("/claims/ended", body(at));
      at = null;
    }
  }

  function claims(told) {
    for (const line of document.querySelectorAll("[data-claim]:not(#desk)")) {
      const one = told[line.closest("[data-question]").id];
      const text = one ? words(desk().dataset.claim, one[0], one[1]) : "";
      if (line.textContent !== text) {
        line.textContent = text;
      }
    }
  }

  function answers(told) {
    for (const [id, [who, ms, number]] of Object.entries(told)) {
      const card = document.getElementById(id);
      const line = card && number > Number(card.dataset.office) && card.querySelector("[data-meanwhile]");
      if (!line || line.dataset.number === String(number)) {
        continue;
      }
      line.dataset.number = number;
      line.textContent = words(desk().dataset.answered, who, ms);
      const button = document.createElement("button");
      button.type = "button";
      button.className = "quiet";
      button.textContent = desk().dataset.show;
      button.addEventListener("click", () => look(card));
      line.append(" ", button);
    }
  }

  async function look(card) {
    const id = card.id;
    await htmx.ajax("GET", card.querySelector(".permalink").getAttribute("href"), { target: "#" + id, swap: "outerHTML" });
    document.getElementById(id).querySelector("h2").focus({ preventScroll: true });
  }

  for (const kind of ["focusin", "pointerdown", "keydown"]) {
    document.addEventListener(kind, touched);
  }
  document.addEventListener("crosstree:desks", function (event) {
    if (desk()) {
      claims(event.detail.claims);
      answers(event.detail.answers);
    }
  });
  // With an answer the server takes the reader for gone; who stays at the card comes to it anew.
  document.addEventListener("htmx:afterSettle", function (event) {
    const card = event.detail.elt.closest && event.detail.elt.closest("[data-question]");
    if (card && same(card)) {
      at = null;
    }
  });
  window.addEventListener("pagehide", left);

  for (const line of document.querySelectorAll("[data-claim][data-since]")) {
    line.textContent = words(desk().dataset.claim, line.dataset.who, Number(line.dataset.since));
  }
  const only = document.querySelectorAll("[data-question]");
  if (desk() && desk().dataset.token && only.length === 1 && "open" in only[0].dataset && only[0].querySelector(".permalink").pathname === location.pathname) {
    at = { subject: only[0].dataset.subject, fact: only[0].dataset.fact };
    said = Date.now();
  }
})();
