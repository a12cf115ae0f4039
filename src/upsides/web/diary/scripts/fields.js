// The fields of an entry: what was typed in them, checked as far as that can be done without the yard's computer, and
// what they say. A group is an element with `data-field` on each of its fields.

import { say, words } from "./words.js";

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

// Returns in words what was typed in a kind's fields.
export function said(group, values) {
  return controls(group).filter((one) => one.dataset.control !== "kept").map((one) => [one, values[one.dataset.field]]).filter(([, text]) => text).map(([one, text]) => {
    const parts = new Set(String(text).split(","));
    const label = (input) => input.closest("label").textContent.trim();
    const [first] = inputs(one);
    if (first.localName === "select") return [...first.options].filter((option) => parts.has(option.value)).map((option) => option.textContent).join(", ");
    if (["radio", "checkbox"].includes(first.type)) return inputs(one).filter((input) => parts.has(input.value)).map(label).join(", ");
    return text;
  }).join("; ");
}

export function complain(near, text, field) {
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
export function offer(place, lists, me) {
  for (const select of place.querySelectorAll("select[data-of]")) {
    const roles = select.dataset.roles?.split(" ").filter(Boolean) ?? [];
    const people = (me.people ?? []).filter(([, , has]) => !roles.length || has.some((role) => roles.includes(role)));
    const horses = lists.horses.map(({ number, name }) => [number, name]);
    const rows = { person: people, horse: horses, gallop: lists.gallops ?? [] }[select.dataset.of];
    select.append(...rows.map(([number, name]) => new Option(name, number)));
  }
  for (const [name, called] of Object.entries(lists.things ?? {})) {
    const list = place.appendChild(document.createElement("datalist"));
    list.id = `things-${name}`;
    list.append(...called.map((one) => new Option(one)));
  }
}


// Returns what an entry that is kept here says; `kind` is its title and its fields.
export function described(entry, { title, fields }) {
  const values = said(fields, entry.values);
  const what = values ? say(words.value, { kind: title, typed: values }) : title;
  if (entry.withdrawn) return say(words.withdrawal, { what });
  return entry.supersedes ? say(words.correction, { what }) : what;
}
