// Brings what a page shows up to date where it stands: an element that did not change is left alone, so that the reader's
// place, the focus and what was typed stay. Parts with data-fresh follow by themselves when entries arrive; those with
// data-fresh="asked" when somebody asks. Nothing on the pages needs this file.
(function () {
  "use strict";

  const FIELDS = "INPUT TEXTAREA SELECT";
  const key = (node) => (node.nodeType === Node.ELEMENT_NODE && node.id) || null;
  const edited = (field) => field.value !== field.defaultValue && field.type !== "hidden";

  function alike(one, other) {
    return one.nodeType === other.nodeType && one.nodeName === other.nodeName && key(one) === key(other);
  }

  function dress(now, next) {
    for (const one of Array.from(now.attributes)) {
      if (!next.hasAttribute(one.name) && !(now.nodeName === "DETAILS" && one.name === "open")) {
        now.removeAttribute(one.name);
      }
    }
    for (const one of Array.from(next.attributes)) {
      if (now.getAttribute(one.name) !== one.value) {
        now.setAttribute(one.name, one.value);
      }
    }
  }

  function change(now, next) {
    if (now.nodeType !== Node.ELEMENT_NODE) {
      if (now.nodeValue !== next.nodeValue) {
        now.nodeValue = next.nodeValue;
      }
      return;
    }
    if (FIELDS.includes(now.nodeName) && (edited(now) || now === document.activeElement)) {
      return;
    }
    dress(now, next);
    fill(now, next);
  }

  function fill(now, next) {
    const wanted = new Set(Array.from(next.childNodes, key).filter(Boolean));
    let here = now.firstChild;
    for (const child of Array.from(next.childNodes)) {
      while (here && key(here) && !wanted.has(key(here))) {
        const gone = here;
        here = here.nextSibling;
        gone.remove();
      }
      if (here && alike(here, child)) {
        change(here, child);
        here = here.nextSibling;
        continue;
      }
      const known = key(child) && Array.from(now.children).find((one) => one.id === child.id && one.nodeName === child.nodeName);
      if (known) {
        now.insertBefore(known, here);
        change(known, child);
      } else {
        now.insertBefore(document.importNode(child, true), here);
      }
    }
    while (here) {
      const gone = here;
      here = here.nextSibling;
      gone.remove();
    }
  }

  async function refresh(part) {
    const answer = await fetch(location.pathname + location.search, { headers: { "Crosstree-By-Itself": "yes" } });
    if (!answer.ok) {
      throw new Error(String(answer.status));
    }
    const next = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById(part.id);
    if (!next) {
      throw new Error("no " + part.id);
    }
    change(part, next);
    document.getElementById("content").dataset.held = part.dataset.held;
    return part.dataset.say || "";
  }

  // One after the other: an answer that was slow must not cover a newer one.
  let last = Promise.resolve();

  document.addEventListener("arrived", function (event) {
    const part = document.querySelector("[data-fresh]");
    if (part && (event.detail.asked || part.dataset.fresh !== "asked")) {
      event.detail.shown = last.catch(() => null).then(() => refresh(part));
      last = event.detail.shown;
    }
  });
})();
