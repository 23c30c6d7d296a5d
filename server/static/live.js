// Says when entries arrived while the page was open, and shows them when asked. Only pages in sight listen: a browser
// allows few connections to one server. Nothing on the pages needs this file.
(function () {
  "use strict";

  const line = document.querySelector("[data-live]");
  if (!line || !window.EventSource) {
    return;
  }
  let source = null;
  let over = false;

  const held = () => document.getElementById("content").dataset.held;

  function say(text, offer) {
    line.textContent = text;
    if (offer) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = line.dataset.show;
      button.addEventListener("click", show);
      line.append(" ", button);
    }
  }

  // A page that can bring itself up to date puts a promise of what then is to be said into `shown`.
  function refreshed(asked) {
    const news = { asked: asked, shown: null };
    document.dispatchEvent(new CustomEvent("arrived", { detail: news }));
    return news.shown;
  }

  async function tell(text) {
    const shown = refreshed(false);
    try {
      const now = shown && (await shown);
      say(shown ? text + ". " + now : text, !shown);
    } catch (error) {
      say(text, true);
    }
  }

  function listen() {
    if (source || over || document.visibilityState !== "visible") {
      return;
    }
    const desk = document.getElementById("desk");
    source = new EventSource("/live?since=" + held() + (desk ? `&survey=${encodeURIComponent(desk.dataset.survey)}&office=${desk.dataset.office}` : ""));
    source.addEventListener("desks", (event) => document.dispatchEvent(new CustomEvent("crosstree:desks", { detail: JSON.parse(event.data) })));
    source.addEventListener("arrived", (event) => tell(JSON.parse(event.data)));
    source.addEventListener("ended", function (event) {
      over = true;
      rest();
      say(JSON.parse(event.data), false);
    });
  }

  function rest() {
    if (source) {
      source.close();
      source = null;
    }
  }

  async function show() {
    rest();
    const shown = refreshed(true);
    if (shown) {
      await shown;
    } else {
      await htmx.ajax("GET", location.pathname + location.search, { target: "#content", select: "#content", swap: "outerHTML" });
    }
    line.textContent = "";
    document.getElementById("content").focus({ preventScroll: true });
    listen();
  }

  document.addEventListener("visibilitychange", () => (document.visibilityState === "visible" ? listen() : rest()));
  window.addEventListener("pagehide", rest);
  window.addEventListener("load", () => setTimeout(listen, 1000));
})();
