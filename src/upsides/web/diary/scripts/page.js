// The page for entering, with and without signal. Everything that is entered goes into this phone's keeping first and
// from there to the yard's computer; where a phone cannot keep anything, the form works as a form does.

import { chosen, chosenGallop, fill, finder, list, narrow, offer, typed } from "./form.js";
import { again, deliver } from "./send.js";
import { author, become, entries, fetchHorses, keep, lists, onChange } from "./store.js";
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
  const { about } = button.dataset;
  const details = button.closest("details");
  const group = details?.querySelector(".fields");
  const horse = about === "horse" ? chosen() : null;
  if (about === "horse" && !horse) return;
  const gallop = about === "gallop" ? chosenGallop(group) : null;
  if (about === "gallop" && !gallop) return;
  const values = typed(group);
  if (!values || (horse && await again(details, button, horse))) return;
  const of = { horse: horse?.number ?? null, gallop: gallop?.number ?? null, horse_name: (horse ?? gallop)?.name ?? "" };
  if (!(await add({ kind: button.value, ...of, values }))) return;
  fill(group, {});
  if (details) details.open = false;
}

// Says what was given to the horse already, or that this cannot be known; the same button pressed again enters.
async function again(details, button, horse) {
  if (!details || !("dose" in details.dataset) || details.dataset.warned === String(horse.number)) {
    if (details) delete details.dataset.warned;
    return false;
  }
  const asked = `${addresses.doses}?${new URLSearchParams({ kind: button.value, horse: horse.number })}`;
  const answer = signal && (await fetch(asked, { signal: AbortSignal.timeout(4000) }).catch(() => null));
  const given = answer?.ok && !answer.redirected ? (await answer.json()).given : null;
  if (given === "") return false;
  show(details.querySelector(".dose"), given ? say(words.given, { given }) : words.given_unknown);
  details.dataset.warned = horse.number;
  return true;
}

// Corrects or withdraws an entry of the day's list.
async function mend(on, button) {
  const withdrawn = button.name === "withdraw";
  const values = withdrawn ? {} : typed(on.querySelector(".fields"));
  if (!values) return;
  const item = on.closest("[data-entry]");
  const { kind: name, horse, gallop } = on.dataset;
  item.querySelector("details").open = false;
  const about = { horse: Number(horse) || null, gallop: Number(gallop) || null };
  const of = { kind: name, ...about, horse_name: item.querySelector(".of").textContent };
  await add({ ...of, values, supersedes: item.dataset.entry, withdrawn });
}

// The same for one that still waits here.
async function mendKept(entry, values, withdrawn) {
  const { kind: name, horse, gallop, horse_name } = entry;
  await add({ kind: name, horse, gallop, horse_name, values, supersedes: entry.client_id, withdrawn });
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
  const kept = await lists(addresses.horses);
  if (!kept.horses.length) show(form.querySelector(".none"), words.no_horses);
  list(kept.horses, me.own);
  offer(kept, me);
  narrow(me.kinds ?? []);
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
