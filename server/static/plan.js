// Ticks many boxes of a plan at once without asking the server, and keeps the counts beside them. Without this file the
// same buttons ask the server.
(function () {
  "use strict";

  const form = document.querySelector("[data-plan]");
  if (!form) {
    return;
  }
  const boxes = (within) => Array.from(within.querySelectorAll("input[name=structures]"));

  function say(line, within, words) {
    const all = boxes(within);
    line.textContent = words.replace("{n}", all.filter((one) => one.checked).length).replace("{total}", all.length);
  }

  function count() {
    const whole = form.querySelector("[data-plan-count]");
    for (const line of form.querySelectorAll("[data-site-count]")) {
      say(line, line.closest("[data-site]"), line.dataset.words);
    }
    say(whole, form, whole.dataset.words);
  }

  form.addEventListener("click", function (event) {
    const button = event.target.closest("[data-pick]");
    if (!button) {
      return;
    }
    event.preventDefault();
    const pick = button.dataset.pick;
    for (const box of boxes(button.closest("[data-site]") || form)) {
      box.checked = pick === "all" || (pick === "due" && "due" in box.dataset);
    }
    count();
  });
  form.addEventListener("change", count);
})();
