// What single keys do on pages with questions, and where the reader is after an answer. Nothing on the pages needs this file.
import { onSingleKey, typing } from "./keys.js";

const GO_ON = "crosstree-go-on";
let sent = "";

const questions = () => Array.from(document.querySelectorAll("[data-question]"));
const held = () => document.activeElement && document.activeElement.closest("[data-question]");
const present = () => held() || questions().find((one) => one.getBoundingClientRect().bottom > 120) || null;

function go(question) {
  if (question) {
    question.querySelector("h2").focus({ preventScroll: true });
    question.scrollIntoView({ block: "start" });
  }
}

function step(by) {
  const all = questions();
  go(all[all.indexOf(present()) + (held() ? by : 0)]);
}

// The next open one on the page; where there is none after this one, the page says where more are.
function goOn() {
  const all = questions();
  const here = held();
  const next = all.slice(here ? all.indexOf(here) + 1 : 0).find((one) => "open" in one.dataset);
  const more = document.querySelector("[data-more]");
  const left = document.querySelector("[data-left]");
  if (next) {
    go(next);
  } else if (more && left && Number(left.dataset.left) > 0) {
    sessionStorage.setItem(GO_ON, "yes");
    location.assign((document.querySelector("a[rel=next]:not([data-more])") && all.every((one) => "open" in one.dataset)
      ? document.querySelector("a[rel=next]:not([data-more])") : more).href);
  } else {
    go(all.find((one) => one !== here && "open" in one.dataset));
  }
}

function choose(number) {
  const question = present();
  const form = question && question.querySelector("form.settle");
  if (!form || form.closest("details:not([open])")) {
    return;
  }
  const radios = Array.from(form.querySelectorAll("input[name=take]"));
  const named = { 0: "other", 9: "open" }[number];
  const radio = named ? radios.find((one) => one.value === named) : radios.filter((one) => !["other", "open"].includes(one.value))[number - 1];
  if (radio) {
    radio.checked = true;
    radio.dispatchEvent(new Event("change", { bubbles: true }));
    const field = { 0: radio.closest(".statement").querySelector("[name=other]"), 9: form.querySelector("[name=reason]") }[number];
    (field || radio).focus();
  }
}

function send(question) {
  const form = question && question.querySelector("form.settle");
  if (form && !form.closest("details:not([open])")) {
    sent = question.id;
    form.requestSubmit();
  }
}

function takeBack() {
  const way = document.querySelector("#last [data-undo]");
  if (!way) {
    return;
  }
  const card = way.dataset.undo && document.getElementById(way.dataset.undo);
  const own = card && card.querySelector("[data-take-back]");
  if (way.matches("a")) {
    location.assign(way.href);
  } else if (own) {
    own.requestSubmit();
  } else {
    way.submit();
  }
}

function pressed(event) {
  const enters = event.target.matches("h2, [type=radio], [type=checkbox], select[name=other], form.settle input:not([type=hidden])");
  if (event.key === "Enter" && enters && held()) {
    send(held());
  } else if (event.key === "Escape" && typing(event.target) && held()) {
    held().querySelector("h2").focus();
  } else if (typing(event.target)) {
    return false;
  } else if (event.key === "j" || event.key === "k") {
    step(event.key === "j" ? 1 : -1);
  } else if (event.key === "n") {
    goOn();
  } else if (event.key === "u" && !event.repeat) {
    takeBack();
  } else if (event.key === "?") {
    list();
  } else if (/^[0-9]$/.test(event.key)) {
    choose(Number(event.key));
  } else {
    return false;
  }
  return true;
}

function list() {
  document.querySelector("[data-keys-dialog]").showModal();
}

onSingleKey((event) => document.querySelector("[data-keys]") !== null && pressed(event));

// Who answered stays at that question, or by keyboard goes on to the next, unless the answer met something new.
document.addEventListener("htmx:afterSettle", function (event) {
  const card = event.detail.elt.closest && event.detail.elt.closest("[data-question][data-answered]");
  if (!card) {
    return;
  }
  delete card.dataset.answered;
  const byKey = sent === card.id;
  sent = "";
  card.querySelector("h2").focus({ preventScroll: true });
  if (byKey && !card.querySelector("[role=alert]") && (!("open" in card.dataset) || card.matches(".looked"))) {
    goOn();
  }
});

// Keeping a question open takes a reason.
document.addEventListener("change", function (event) {
  if (event.target.name === "take") {
    event.target.form.elements.reason.required = event.target.value === "open";
  }
});

// Who fills in a new value means to take it.
document.addEventListener("input", function (event) {
  if (event.target.name === "other") {
    const radio = event.target.closest(".statement").querySelector("input[value=other]");
    radio.checked = true;
    radio.dispatchEvent(new Event("change", { bubbles: true }));
  }
});

document.addEventListener("click", function (event) {
  if (event.target.closest("[data-keys-list]")) {
    list();
  } else if (event.target.closest("[data-keys-close]")) {
    event.target.closest("dialog").close();
  }
});

document.addEventListener("submit", function (event) {
  const card = event.target.matches("form[data-undo]") && document.getElementById(event.target.dataset.undo);
  const own = card && card.querySelector("[data-take-back]");
  if (own) {
    event.preventDefault();
    own.requestSubmit();
  }
});

if (sessionStorage.getItem(GO_ON)) {
  sessionStorage.removeItem(GO_ON);
  go(questions().find((one) => "open" in one.dataset));
}
