// In the list of discrepancies j and k go from one to the next and back, Enter opens it. On the page of one: digits choose, j
// and k lead to its neighbours in the list that was seen last, and who answers what a choice asks means that choice. The switch for single keys is the one of the questions. Nothing on the page needs this file.
(function () {
  "use strict";

  const STORE = "crosstree-single-keys";
  const LIST = "crosstree-discrepancies";

  function on() {
    try {
      return localStorage.getItem(STORE) !== "off";
    } catch (error) {
      return true;
    }
  }

  function remember(state) {
    try {
      localStorage.setItem(STORE, state ? "on" : "off");
    } catch (error) {
      return;
    }
  }

  function show() {
    const line = document.querySelector("[data-case-keys]");
    const button = line && line.querySelector("button");
    if (button) {
      line.hidden = false;
      button.textContent = on() ? button.dataset.on : button.dataset.off;
      line.classList.toggle("off", !on());
    }
  }

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

  function typing(target) {
    return target.closest("select, textarea, [contenteditable]") || (target.matches("input") && !target.matches("[type=radio], [type=checkbox]"));
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

  document.addEventListener("keydown", function (event) {
    if (!on() || event.ctrlKey || event.altKey || event.metaKey || event.isComposing || typing(event.target)) {
      return;
    }
    if (event.key === "j" || event.key === "k") {
      event.preventDefault();
      step(event.key === "j" ? 1 : -1);
    } else if (/^[1-9]$/.test(event.key)) {
      event.preventDefault();
      choose(Number(event.key));
    }
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

  document.addEventListener("click", function (event) {
    if (event.target.closest("[data-case-keys] button")) {
      remember(!on());
      show();
    }
  });

  show();
  lead();
})();
