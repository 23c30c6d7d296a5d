// Turns the links through the surveys into a slider: arrow keys move it, the page follows in place. Without this file the
// links do the same.
(function () {
  "use strict";

  const here = () => location.pathname + location.search;
  let shown = here();

  function build(nav) {
    const links = Array.from(nav.querySelectorAll("ol a"));
    const now = links.findIndex((one) => one.hasAttribute("aria-current"));
    if (nav.querySelector("input") || links.length < 2 || now < 0) {
      return;
    }
    const range = document.createElement("input");
    range.type = "range";
    range.min = 0;
    range.max = links.length - 1;
    range.value = now;
    range.setAttribute("aria-label", nav.dataset.label);
    range.setAttribute("aria-valuetext", links[now].textContent);
    const word = nav.querySelector("[data-slider-now]");
    range.addEventListener("input", function () {
      const link = links[range.value];
      range.setAttribute("aria-valuetext", link.textContent);
      word.textContent = link.textContent;
    });
    range.addEventListener("change", () => go(links[range.value].href));
    nav.querySelector("ol").before(range);
    nav.classList.add("sliding");
  }

  async function go(address) {
    const moved = document.activeElement && document.activeElement.matches("[data-slider] input");
    await htmx.ajax("GET", address, { target: "#content", select: "#content", swap: "outerHTML" });
    history.pushState({}, "", address);
    shown = here();
    buildAll();
    const range = document.querySelector("[data-slider] input");
    if (moved && range) {
      range.focus({ preventScroll: true });
    }
  }

  function buildAll() {
    document.querySelectorAll("[data-slider]").forEach(build);
  }

  // Links within a page come here, too.
  window.addEventListener("popstate", () => here() === shown || location.reload());
  document.addEventListener("htmx:afterSettle", buildAll);
  buildAll();
})();
