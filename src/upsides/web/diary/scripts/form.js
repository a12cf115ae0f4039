// The form: finding a horse, and checking what was typed as far as that can be done without the yard's computer.

import { say, words } from "./words.js";

const form = document.getElementById("enter");
const box = form.querySelector(".horses");

const copy = (id) => document.getElementById(id).content.firstElementChild.cloneNode(true);

// Lists the horses as the server would: one's own first.
export function list(horses, own) {
  const [yours, others] = form.querySelector(".choose").dataset.groups.split("|");
  const group = (name, some) => (some.length ? [heading(name), ...some.map(choice)] : []);
  const mine = horses.filter((horse) => own.includes(horse.number));
  const rest = horses.filter((horse) => !own.includes(horse.number));
  box.replaceChildren(...(mine.length ? [...group(yours, mine), ...group(others, rest)] : rest.map(choice)));
}

function heading(name) {
  const line = copy("a-group");
  line.textContent = name;
  return line;
}

function choice(horse) {
  const label = copy("a-horse");
  label.querySelector("input").value = horse.number;
  label.querySelector("span").textContent = horse.name;
  return label;
}

const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase().trim();

export function finder() {
  const find = form.querySelector(".find");
  find.hidden = false;
  find.querySelector("input").addEventListener("input", ({ target }) => {
    const letters = plain(target.value);
    let found = 0;
    for (const label of box.querySelectorAll(".horse")) {
      label.hidden = !plain(label.textContent).includes(letters);
      found += !label.hidden;
    }
    for (const line of box.querySelectorAll(".group")) line.hidden = Boolean(letters);
    form.querySelector(".none").hidden = found > 0;
  });
  // Enter in a field presses the button beside it; the form alone would not know which.
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.localName !== "input") return;
    event.preventDefault();
    if (event.target.type === "search") box.querySelector(".horse:not([hidden]) input")?.click();
    else event.target.closest(".kind")?.querySelector("button").click();
  });
}

// Returns the horse that was chosen, or null after saying that none was.
export function chosen() {
  const radio = form.querySelector("[name=horse]:checked");
  if (!radio) {
    complain(form.querySelector(".choose"), words.no_horse);
    return null;
  }
  complain(form.querySelector(".choose"), "");
  return { number: Number(radio.value), name: radio.closest("label").textContent.trim() };
}

// Returns the values typed in a group of fields, or null after saying what is wrong with one.
export function typed(group) {
  const values = {};
  for (const field of group?.querySelectorAll("input, textarea") ?? []) {
    const fault = wrong(field);
    complain(field.closest(".field"), fault, field);
    if (fault) return null;
    values[field.name.split("-")[1]] = field.value.trim();
  }
  return values;
}

function complain(near, text, field) {
  near.querySelector(".wrong")?.remove();
  field?.toggleAttribute("aria-invalid", false);
  if (!text) return;
  const line = document.createElement("span");
  line.className = "wrong";
  line.setAttribute("role", "alert");
  line.textContent = text;
  near.append(line);
  field?.setAttribute("aria-invalid", "true");
  (field ?? near.querySelector("input:not([type=search])") ?? near).focus();
}

function wrong(field) {
  const text = field.value.trim();
  if (!text) return words.empty;
  const spans = JSON.parse(field.dataset.spans ?? "[]");
  if (!spans.length || spans.some((span) => lies(text, span))) return "";
  const between = spans.map(([low, high, unit]) => say(words.between, { low, high, unit }));
  const either = between.reduce((one, other) => say(words.or, { one, other }));
  return say(words.impossible, { typed: text, spans: either });
}

function lies(text, [low, high, unit]) {
  const found = /^(\d+(?:[.,]\d+)?)\s*(?:°|degrees?)?\s*([a-z]*)$/i.exec(text.normalize("NFKC"));
  if (!found) return false;
  const number = Number(found[1].replace(",", "."));
  const named = found[2] ? found[2][0].toLowerCase() === unit.at(-1).toLowerCase() : true;
  return named && low <= number && number <= high;
}

export function fill(group, values) {
  for (const field of group.querySelectorAll("input, textarea")) field.value = values[field.name.split("-")[1]] ?? "";
}

// Returns a copy of a kind's fields, and its title.
export function kind(name) {
  const button = form.querySelector(`button[name=kind][value="${name}"]`);
  const fields = form.querySelector(`[data-kind="${name}"] .fields`)?.cloneNode(true) ?? document.createElement("div");
  return { title: button?.dataset.title ?? name, fields };
}
