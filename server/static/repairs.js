// In the list of discrepancies j and k go from one to the next and back, Enter opens it. On the page of one: digits choose, j
// and k lead to its neighbours in the list that was seen last, and who answers what a choice asks means that choice. Nothing on the
// pages needs this file.
import { onSingleKey, typing } from "./keys.js";

const LIST = "crosstree-discrepancies";

// The list is long to make: its order is kept from when it was shown.
function listed() {
  const shown = Array.from(document.querySelectorAll(".cases a.whole"), (link) => link.getAttribute("href"));
  if (shown.length) {
    sessionStorage.setItem(LIST, JSON.stringify(shown));
  }
  return JSON.parse(sessionStorage.getItem(LIST) || "[]");
}

function lead() {
  const nav = document.querySelector("[data-beside]");
  const several = listed();
  const here = several.indexOf(location.pathname);
  if (!nav || here < 0) {
    return;
  }
  for (const [rel, at, word] of [["prev", here - 1, nav.dataset.back], ["next", here + 1, nav.dataset.next]]) {
    if (several[at]) {
      const link = document.createElement("a");
      link.rel = rel;
      link.href = several[at];
      link.textContent = word;
      nav.append(link);
    }
  }
}

function choose(number) {
  const radio = document.querySelectorAll(".choices input[name=repair]")[number - 1];
  if (radio) {
    radio.checked = true;
    const asked = radio.closest(".choice").querySelector(".asks select, .asks input");
    (asked || radio).focus();
  }
}

function step(by) {
  const several = Array.from(document.querySelectorAll(".cases a.whole"));
  const link = document.querySelector("[data-beside] a[rel=" + (by > 0 ? "next" : "prev") + "]");
  if (several.length) {
    (several[several.indexOf(document.activeElement) + by] || several[by > 0 ? 0 : several.length - 1]).focus();
  } else if (link) {
    link.click();
  }
}

onSingleKey(function (event) {
  if (typing(event.target)) {
    return false;
  }
  if (event.key === "j" || event.key === "k") {
    step(event.key === "j" ? 1 : -1);
  } else if (/^[1-9]$/.test(event.key)) {
    choose(Number(event.key));
  } else {
    return false;
  }
  return true;
});

document.addEventListener("input", function (event) {
  const asked = event.target.closest(".asks");
  if (asked) {
    asked.closest(".choice").querySelector("input[name=repair]").checked = true;
    // Of a list and a field beside it the one that was touched last counts.
    for (const other of asked.querySelectorAll("select, input")) {
      if (other !== event.target) {
        other.value = "";
      }
    }
  }
});

lead();
