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

const controls = (group) => [...(group?.querySelectorAll("[data-field]") ?? [])].filter((one) => one.dataset.control);
const inputs = (one) => [...one.querySelectorAll("input, textarea, select")];

// Returns what stands in a field, several answers with commas between them.
function value(one) {
  const all = inputs(one);
  const [first] = all;
  if (first.localName === "select") return [...first.selectedOptions].map((option) => option.value).filter(Boolean).join(",");
  if (["radio", "checkbox"].includes(first.type)) return all.filter((input) => input.checked).map((input) => input.value).join(",");
  return first.value.trim();
}

// Returns the values typed in a group of fields, or null after saying what is wrong with one.
export function typed(group) {
  const values = {};
  for (const one of controls(group)) {
    const text = value(one);
    const fault = wrong(one, text);
    complain(one, fault, inputs(one)[0]);
    if (fault) return null;
    values[one.dataset.field] = text;
  }
  return values;
}

// Returns the gallop that was chosen in a group of fields, or null after saying that none was.
export function chosenGallop(group) {
  const select = group.querySelector("[name=gallop]");
  const fault = select.value ? "" : words.empty;
  complain(select.closest(".field"), fault, select);
  return fault ? null : { number: Number(select.value), name: select.selectedOptions[0].textContent };
}

// Returns in words what was typed in a kind's fields.
export function said(group, values) {
  return controls(group).map((one) => [one, values[one.dataset.field]]).filter(([, text]) => text).map(([one, text]) => {
    const parts = new Set(String(text).split(","));
    const label = (input) => input.closest("label").textContent.trim();
    const [first] = inputs(one);
    if (first.localName === "select") return [...first.options].filter((option) => parts.has(option.value)).map((option) => option.textContent).join(", ");
    if (["radio", "checkbox"].includes(first.type)) return inputs(one).filter((input) => parts.has(input.value)).map(label).join(", ");
    return text;
  }).join("; ");
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

function wrong(one, text) {
  if (!text) return "needed" in one.dataset ? words.empty : "";
  const spans = JSON.parse(inputs(one)[0].dataset.spans ?? "[]");
  if (!spans.length || spans.some((span) => lies(text, span))) return "";
  const between = spans.map(([low, high, unit]) => say(words.between, { low, high, unit }).trim());
  const either = between.reduce((one, other) => say(words.or, { one, other }));
  return say(words.impossible, { typed: text, spans: either });
}

function lies(text, [low, high, unit, aliases]) {
  const found = /^(\d+(?:[.,]\d+)?)\s*(?:°|degrees?)?\s*([a-z/%]*)\.?$/i.exec(text.normalize("NFKC"));
  if (!found) return false;
  const number = Number(found[1].replace(",", "."));
  const named = !found[2] || [unit.replace("°", "").toLowerCase(), ...aliases].includes(found[2].toLowerCase());
  return named && low <= number && number <= high;
}

export function fill(group, values) {
  for (const one of controls(group)) {
    const text = String(values[one.dataset.field] ?? "");
    const parts = new Set(text.split(","));
    for (const input of inputs(one)) {
      if (input.localName === "select") for (const option of input.options) option.selected = option.value !== "" && parts.has(option.value);
      else if (["radio", "checkbox"].includes(input.type)) input.checked = parts.has(input.value);
      else input.value = text;
    }
  }
}

// Fills in what can be chosen by name, out of what this phone keeps.
export function offer(lists, me) {
  for (const select of form.querySelectorAll("select[data-of]")) {
    const roles = select.dataset.roles?.split(" ").filter(Boolean) ?? [];
    const people = (me.people ?? []).filter(([, , has]) => !roles.length || has.some((role) => roles.includes(role)));
    const horses = lists.horses.map(({ number, name }) => [number, name]);
    const rows = { person: people, horse: horses, gallop: lists.gallops ?? [] }[select.dataset.of];
    select.append(...rows.map(([number, name]) => new Option(name, number)));
  }
  for (const [name, called] of Object.entries(lists.things ?? {})) {
    const list = form.appendChild(document.createElement("datalist"));
    list.id = `things-${name}`;
    list.append(...called.map((one) => new Option(one)));
  }
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
