// The page for entering, with and without signal. Everything that is entered goes into this phone's keeping first and
// from there to the yard's computer; where a phone cannot keep anything, the form works as a form does.

import { chosen, finder, kind, list, typed } from "./form.js";
import { again, deliver } from "./send.js";
import { author, become, entries, fetchHorses, horses, keep, onChange } from "./store.js";
import { draw } from "./waiting.js";
import { addresses, say, show, words } from "./words.js";

const FIRST_WAIT = 2000;
const LONGEST_WAIT = 30000;

const root = document.getElementById("diary");
const form = document.getElementById("enter");
const done = document.getElementById("done"); // what was just done with an entry
const live = "author" in root.dataset; // from the yard's computer just now, not from this phone's keeping
let me = JSON.parse(root.dataset.author ?? "null");
let signal = live;
let held = "";
let wait = FIRST_WAIT;
let timer;
let worker;
let persisted;
let count = 0;

const line = (text) => show(document.getElementById("signal"), text);

function tell() {
  const reason = held === true ? words.held_up : say(words.held, { reason: held });
  line(!signal ? words.no_signal : held ? reason : live ? "" : words.back);
  document.getElementById("reload").hidden = live || !signal;
}

// Shows what waits; when less waits than before, more is in the books.
async function redraw() {
  await draw(me, { add: mendKept, go });
  const now = (await entries()).length;
  const fewer = now < count;
  count = now;
  if (live && fewer) await refresh();
}

// Entering --------------------------------------------------------------------------------------------------------

// Keeps an entry in the name that this page was opened in, unless somebody else uses the phone by now.
async function add(entry) {
  const now = await author();
  if (now?.number !== me.number) return line(words.changed);
  const made_at = new Date().toISOString();
  const { number, name } = me;
  const whole = { client_id: crypto.randomUUID(), made_at, author: { number, name }, token: me.token, state: "waiting" };
  try {
    await keep({ ...whole, ...entry });
  } catch {
    return line(words.unkept);
  }
  persisted ??= navigator.storage?.persist?.();
  show(done, "");
  await redraw();
  await go();
  if (done.hidden) show(done, words.kept);
  done.scrollIntoView({ block: "nearest" });
  return true;
}

async function enter(button) {
  const horse = chosen();
  const group = form.querySelector(`[data-kind="${button.value}"] .fields`);
  const values = horse && typed(group);
  if (!values) return;
  if (await add({ kind: button.value, horse: horse.number, horse_name: horse.name, values })) {
    for (const field of group?.querySelectorAll("input, textarea") ?? []) field.value = "";
  }
}

// Corrects or withdraws an entry of the day's list.
async function mend(on, button) {
  const withdrawn = button.name === "withdraw";
  const values = withdrawn ? {} : typed(on.querySelector(".fields"));
  if (!values) return;
  const item = on.closest("[data-entry]");
  const { kind: name, horse } = on.dataset;
  item.querySelector("details").open = false;
  const of = { kind: name, horse: Number(horse), horse_name: item.querySelector(".of").textContent };
  await add({ ...of, values, supersedes: item.dataset.entry, withdrawn });
}

// The same for one that still waits here.
async function mendKept(entry, values, withdrawn) {
  const { kind: name, horse, horse_name } = entry;
  await add({ kind: name, horse, horse_name, values, supersedes: entry.client_id, withdrawn });
}

// Sending ---------------------------------------------------------------------------------------------------------

async function go() {
  clearTimeout(timer);
  const sent = await deliver(addresses.send, !(signal && navigator.onLine));
  held = sent.held;
  signal = sent.signal ?? true;
  wait = signal && !held ? FIRST_WAIT : Math.min(wait * 2, LONGEST_WAIT);
  if (!signal || held) {
    timer = setTimeout(go, wait);
    worker?.sync?.register("diary").catch(() => {});
  }
  const mine = sent.done.filter((one) => one.author === me?.number);
  if (mine.length) show(done, mine.map((one) => one.words).join(" "));
  tell();
  await redraw();
}

// Shows the day's list anew, unless somebody is just writing in it.
async function refresh() {
  if (document.querySelector("#today .mend[open]")) return;
  const answer = await fetch(location.href).catch(() => null);
  if (answer?.redirected) return line(words.signed_out);
  if (!answer?.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const id of ["summary", "today"]) document.getElementById(id).replaceWith(fresh.getElementById(id));
}

// Beginning -------------------------------------------------------------------------------------------------------

async function begin() {
  finder();
  if (!window.isSecureContext) return line(words.insecure);
  if (live && !(me && "serviceWorker" in navigator)) return line(words.unknown_phone);
  try {
    await (live ? beginLive() : beginKept());
  } catch (error) {
    console.warn(error);
    return line(words.unknown_phone);
  }
  onChange(redraw);
  window.addEventListener("online", () => { wait = FIRST_WAIT; go(); });
  window.addEventListener("offline", () => { signal = false; tell(); go(); });
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && go());
  tell();
  await redraw();
  await go();
}

async function beginLive() {
  await become(me);
  await again(me);
  worker = await navigator.serviceWorker.register(addresses.worker, { type: "module" });
  takeOver();
  fetchHorses(addresses.horses).catch(() => {});
}

function takeOver() {
  form.noValidate = true;
  document.addEventListener("submit", submitted);
}

async function beginKept() {
  me = (await author()) ?? null;
  const you = document.getElementById("entering-as");
  you.hidden = false;
  show(you.querySelector("span"), me ? say(words.as, me) : words.nobody);
  you.querySelector("button").hidden = !me;
  you.querySelector("button").addEventListener("click", async () => { await become(null); location.reload(); });
  form.hidden = !me;
  if (!me) return;
  const string = await horses(addresses.horses);
  if (!string.length) show(form.querySelector(".none"), words.no_horses);
  list(string, me.own);
  takeOver();
  worker = await navigator.serviceWorker.getRegistration();
}

function submitted(event) {
  const on = event.target;
  if (on !== form && !on.matches("#today form[data-kind]")) return;
  event.preventDefault();
  if (on === form) enter(event.submitter);
  else mend(on, event.submitter);
}

begin();
