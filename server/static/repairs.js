// On the page of a discrepancy: who answers what a choice asks means that choice, and n and p lead to the next and the
// previous one. The switch for single keys is that of office.js. Nothing on the page needs this file.
(function () {
  "use strict";

  function on() {
    const line = document.querySelector("[data-keys]");
    return line && !line.classList.contains("off");
  }

  function typing(target) {
    return target.closest("select, textarea, [contenteditable]") || (target.matches("input") && !target.matches("[type=radio], [type=checkbox]"));
  }

  document.addEventListener("input", function (event) {
    const asked = event.target.closest(".asks");
    if (asked) {
      asked.closest(".choice").querySelector("input[name=take]").checked = true;
      // Of a list and a field beside it the one that was touched last counts.
      for (const other of asked.querySelectorAll("select, input")) {
        if (other !== event.target) {
          other.value = "";
        }
      }
    }
  });

  document.addEventListener("keydown", function (event) {
    if (!on() || event.ctrlKey || event.altKey || event.metaKey || typing(event.target) || !/^[np]$/.test(event.key)) {
      return;
    }
    const link = document.querySelector("nav.pages a[rel=" + (event.key === "n" ? "next" : "prev") + "]");
    if (link) {
      event.preventDefault();
      link.click();
    }
  });
})();
