// The diary's form: finding a horse, and what else is chosen before a kind's fields.

import { complain } from "./fields.js";
import { words } from "./words.js";

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

// Returns the gallop that was chosen in a group of fields, or null after saying that none was.
export function chosenGallop(group) {
  const select = group.querySelector("[name=gallop]");
  const fault = select.value ? "" : words.empty;
  complain(select.closest(".field"), fault, select);
  return fault ? null : { number: Number(select.value), name: select.selectedOptions[0].textContent };
}

// Hides what this person does not enter.
export function narrow(kinds) {
  for (const button of form.querySelectorAll("button[name=kind]")) {
    (button.closest("details") ?? button).hidden = !kinds.includes(button.value);
  }
  for (const group of form.querySelectorAll(".kinds")) group.hidden = !group.querySelector(":scope > :not([hidden], legend)");
}

// Returns a copy of a kind's fields, and its title.
export function kind(name) {
  const button = form.querySelector(`button[name=kind][value="${name}"]`);
  const fields = form.querySelector(`[data-kind="${name}"] .fields`)?.cloneNode(true) ?? document.createElement("div");
  return { title: button?.dataset.title ?? name, fields };
}
