// Single keys on pages with questions, for hands that stay on the keyboard. They can be switched off, and the browser
// remembers that. Nothing on the pages needs this file.
(function () {
  "use strict";

  const STORE = "crosstree-single-keys";

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
    const line = document.querySelector("[data-keys]");
    const button = document.querySelector("[data-keys-switch]");
    if (line && button) {
      button.textContent = on() ? button.dataset.on : button.dataset.off;
      line.classList.toggle("off", !on());
    }
  }

  const questions = () => Array.from(document.querySelectorAll("[data-question]"));

  function present() {
    const held = document.activeElement && document.activeElement.closest("[data-question]");
    return held || questions().find((one) => one.getBoundingClientRect().bottom > 120) || null;
  }

  function go(step) {
    const all = questions();
    const next = all[all.indexOf(present()) + (document.activeElement.closest("[data-question]") ? step : 0)];
    if (next) {
      next.querySelector("h2").focus();
      next.scrollIntoView({ block: "start" });
    }
  }

  function choose(number) {
    const question = present();
    const form = question && question.querySelector("form.settle");
    if (!form || form.closest("details:not([open])")) {
      return;
    }
    const radios = Array.from(form.querySelectorAll("input[name=take]"));
    const radio = number === 0 ? radios.find((one) => one.value === "other") : radios.filter((one) => one.value !== "other")[number - 1];
    if (radio) {
      radio.checked = true;
      radio.focus();
    }
  }

  function typing(target) {
    return target.closest("select, textarea, [contenteditable]") || (target.matches("input") && !target.matches("[type=radio], [type=checkbox]"));
  }

  document.addEventListener("keydown", function (event) {
    if (!on() || !document.querySelector("[data-keys]") || event.ctrlKey || event.altKey || event.metaKey || typing(event.target)) {
      return;
    }
    if (event.key === "j" || event.key === "k") {
      go(event.key === "j" ? 1 : -1);
    } else if (/^[0-9]$/.test(event.key)) {
      choose(Number(event.key));
    } else {
      return;
    }
    event.preventDefault();
  });

  // Who fills in a new value means to take it.
  document.addEventListener("input", function (event) {
    if (event.target.name === "other") {
      const radio = event.target.closest(".statement").querySelector("input[value=other]");
      radio.checked = true;
    }
  });

  document.addEventListener("click", function (event) {
    if (event.target.closest("[data-keys-switch]")) {
      remember(!on());
      show();
    }
  });

  show();
})();
