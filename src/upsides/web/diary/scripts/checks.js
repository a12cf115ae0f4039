// The rounds of a barn, with and without signal: a horse a row, entered with one thumb. What this phone keeps of a row's
// horse stands in the row until it is in the books.

import { complain, described, typed } from "./fields.js";
import { add, begin, go, here, line, live } from "./keeping.js";
import "./legs.js";
import { others } from "./others.js";
import { fill, round } from "./rounds.js";
import { entries, settle } from "./store.js";
import { say, show, time, words } from "./words.js";

const TWICE = 1200; // two taps within so many milliseconds are one
const list = document.getElementById("round");
const copy = (id) => document.getElementById(id).content.firstElementChild.cloneNode(true);
const just = new Map();

// Entering --------------------------------------------------------------------------------------------------------

async function enter(form, button) {
  const row = form.closest("[data-horse]");
  const kind = button?.name === "kind" ? button.value : form.dataset.kind;
  const values = kind === "feed_left" ? leftover(form, button) : typed(form);
  if (!values || twice(row, kind, values)) return;
  if (!(await add({ kind, ...of(row), values }))) return;
  if (form.matches(".panel")) close(row);
  else form.reset();
}

const of = (row) => ({ horse: Number(row.dataset.horse), horse_name: row.dataset.name });

const leftover = (form, button) => ({ left: button.value, feed: form.querySelector("select").value });

function twice(row, kind, values) {
  const key = JSON.stringify([row.dataset.horse, kind, values]);
  const before = just.get(key) ?? 0;
  just.set(key, Date.now());
  return Date.now() - before < TWICE;
}

// Takes back an entry of the books, or one that waits here.
const takeBack = (row, kind, supersedes) => add({ kind, ...of(row), values: {}, supersedes, withdrawn: true });

// Panels ----------------------------------------------------------------------------------------------------------

function open(row, button) {
  const again = row.querySelector("form.panel")?.dataset.kind === button.dataset.opens;
  close(row);
  if (again) return;
  const panel = copy(`panel-${button.dataset.opens}`);
  for (const select of panel.querySelectorAll("[data-feeds]")) feeds(select);
  row.querySelector(".taps").after(panel);
  button.setAttribute("aria-expanded", "true");
  panel.querySelector("input, textarea, button").focus({ preventScroll: true });
  panel.scrollIntoView({ block: "nearest" });
}

function close(row) {
  row.querySelector("form.panel")?.remove();
  const button = row.querySelector("[aria-expanded=true]");
  button?.setAttribute("aria-expanded", "false");
}

// The feed that is looked at: overnight what was fed last, at evening stables the one before that.
function feeds(select) {
  const names = [...document.querySelectorAll("#things-feed_time option")].map((option) => option.value);
  select.append(...names.map((name) => new Option(name)));
  select.closest(".field").hidden = !names.length;
  select.value = (round === "morning" ? names.at(-1) : names.at(-2) ?? names.at(-1)) ?? "";
}

// What opens a panel is a link where there is no script.
function toButtons() {
  for (const link of list.querySelectorAll("a[data-opens]")) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = link.textContent;
    button.dataset.opens = link.dataset.opens;
    button.setAttribute("aria-expanded", "false");
    link.replaceWith(button);
  }
}

// What this phone keeps ---------------------------------------------------------------------------------------------

async function draw(me) {
  const all = await entries();
  const mine = all.filter((entry) => entry.author.number === me?.number);
  const back = new Map(mine.filter((entry) => entry.supersedes).map((entry) => [entry.supersedes, entry]));
  for (const row of list.children) {
    const own = mine.filter((entry) => String(entry.horse) === row.dataset.horse && !within(row, entry.client_id));
    row.querySelector(".kept").replaceChildren(...own.filter((one) => !one.withdrawn).map((one) => item(one, back, row)));
    row.classList.toggle("seen-here", own.some((one) => words.looked.includes(one.kind) && now(one) && !back.has(one.client_id)));
    for (const one of row.querySelectorAll(".seen [data-entry]")) one.classList.toggle("past", back.has(one.dataset.entry));
  }
  const count = mine.length;
  const held = count && (!here.signal || here.held);
  show(document.getElementById("kept-here"), held ? say(count === 1 ? words.one_kept : words.some_kept, { count }) : "");
  const rest = others(all, me);
  const place = document.querySelector(".others");
  place.replaceChildren(...rest);
  place.hidden = !rest.length;
  if (!live) summary();
}

const within = (row, number) => row.querySelector(`.seen [data-entry="${number}"]`);

function now(entry) {
  const when = new Date(entry.made_at);
  return when.toDateString() === new Date().toDateString() && (when.getHours() < 12) === (round === "morning");
}

function item(entry, back, row) {
  const line = copy("one-kept");
  const refused = entry.state === "refused";
  const taken = back.has(entry.client_id);
  line.dataset.entry = entry.client_id;
  line.classList.toggle("past", taken);
  show(line.querySelector(".words"), described(entry, kind(entry.kind)));
  const state = { time: time(entry.made_at), reason: entry.reason };
  show(line.querySelector(".state"), refused ? say(words.refused, state) : here.signal && !here.held ? state.time : say(words.kept_at, state));
  const button = line.querySelector("button");
  button.hidden = taken;
  if (refused) button.textContent = words.throw_away;
  button.addEventListener("click", () => (refused ? settle(entry, null).then(go) : takeBack(row, entry.kind, entry.client_id)));
  return line;
}

// Returns the title of a kind, and its fields where this page has them.
function kind(name) {
  const fields = document.getElementById(`fields-${name}`)?.content ?? document.getElementById(`panel-${name}`)?.content;
  return { title: words.titles[name] ?? name, fields };
}

function summary() {
  const seen = list.querySelectorAll(".seen-here").length;
  show(document.querySelector(".answer"), say(words.here, { seen, horses: list.childElementCount }));
}

// Beginning -------------------------------------------------------------------------------------------------------

function takeOver() {
  toButtons();
  document.addEventListener("fresh", toButtons);
  list.addEventListener("submit", (event) => {
    event.preventDefault();
    const { entry, kind: name } = event.target.dataset;
    if (entry) takeBack(event.target.closest("[data-horse]"), name, entry);
    else enter(event.target, event.submitter);
  });
  list.addEventListener("click", ({ target }) => {
    const button = target.closest("[data-opens], [data-closes]");
    const row = button?.closest("[data-horse]");
    if (button?.dataset.opens) open(row, button);
    else if (button) close(row);
  });
  list.addEventListener("input", ({ target }) => complain(target.closest("[data-field]") ?? target, "", target));
  list.dataset.ready = "";
}

begin({
  draw,
  takeOver,
  said: (text) => { document.getElementById("done").textContent = text; },
  fill: (me, kept) => {
    list.hidden = !me;
    if (!me) return;
    if (!kept.horses.length) line(words.no_horses);
    fill(me, kept);
  },
});
