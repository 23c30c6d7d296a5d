// Single keys, for hands that stay on the keyboard: one switch for all pages, which the browser remembers (WCAG 2.1.4). What the
// keys do on a page is said by the page's own file. Nothing on the pages needs this file.

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
  for (const button of document.querySelectorAll("[data-keys-switch]")) {
    const line = button.closest(".keys");
    line.hidden = false;
    line.classList.toggle("off", !on());
    button.textContent = on() ? button.dataset.on : button.dataset.off;
  }
  for (const words of document.querySelectorAll("[data-keys-words]")) {
    words.hidden = !on();
  }
}

// Whether somebody types there, and a letter is a letter.
export function typing(target) {
  return target.closest("select, textarea, [contenteditable]") || (target.matches("input") && !target.matches("[type=radio], [type=checkbox]"));
}

// `react` is asked about each key while single keys are on; what it does something about, nobody else gets.
export function onSingleKey(react) {
  document.addEventListener("keydown", function (event) {
    const other = event.ctrlKey || event.altKey || event.metaKey || event.isComposing || document.querySelector("dialog[open]");
    if (on() && !other && react(event)) {
      event.preventDefault();
    }
  });
}

document.addEventListener("click", function (event) {
  if (event.target.closest("[data-keys-switch]")) {
    remember(!on());
    show();
  }
});
document.addEventListener("htmx:afterSwap", show);
show();
