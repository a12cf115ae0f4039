// Entering from a page, with and without signal. Everything that is entered goes into this phone's keeping first and
// from there to the yard's computer; where a phone cannot keep anything, forms work as forms do.

import { refresh } from "./news.js";
import { again, deliver } from "./send.js";
import { author, become, entries, fetchHorses, keep, lists, onChange } from "./store.js";
import { addresses, root, say, show, words } from "./words.js";

const FIRST_WAIT = 2000;
const LONGEST_WAIT = 30000;

export const live = "author" in root.dataset; // from the yard's computer just now, not from this phone's keeping
export const here = { me: JSON.parse(root.dataset.author ?? "null"), signal: live, held: "" };

let page;
let wait = FIRST_WAIT;
let timer;
let worker;
let persisted;
let count = 0;
let running;
let queued;

export const line = (text) => show(document.getElementById("signal"), text);

function tell() {
  const { signal, held } = here;
  const reason = held === true ? words.held_up : say(words.held, { reason: held });
  line(!signal ? words.no_signal : held ? reason : live ? "" : words.back);
  document.getElementById("reload").hidden = live || !signal;
}

// Shows what waits; when less waits than before, more is in the books.
async function redraw() {
  const now = (await entries()).length;
  const fewer = now < count;
  count = now;
  if (live && fewer) await refresh(true);
  await page.draw(here.me);
}

// Keeps an entry in the name that this page was opened in, unless somebody else uses the phone by now. Returns once it
// is kept; it is sent meanwhile.
export async function add(entry) {
  const now = await author();
  if (now?.number !== here.me.number) return line(words.changed);
  const made_at = new Date().toISOString();
  const { number, name, token } = here.me;
  const client_id = entry.client_id ?? crypto.randomUUID();
  try {
    await keep({ made_at, author: { number, name }, token, state: "waiting", ...entry, client_id });
  } catch {
    return line(words.unkept);
  }
  persisted ??= navigator.storage?.persist?.();
  page.said("");
  await redraw();
  go().then(async () => {
    const waits = (await entries()).some((one) => one.client_id === client_id && one.state === "waiting");
    if (waits) page.said(words.kept);
  });
  return true;
}

// Sends what waits, one parcel after another.
export function go() {
  if (queued) return queued;
  if (running) return queued = running.then(() => { queued = undefined; return go(); });
  return running = send().finally(() => { running = undefined; });
}

async function send() {
  clearTimeout(timer);
  const sent = await deliver(addresses.send, !(here.signal && navigator.onLine));
  here.held = sent.held;
  here.signal = sent.signal ?? true;
  wait = here.signal && !here.held ? FIRST_WAIT : Math.min(wait * 2, LONGEST_WAIT);
  if (!here.signal || here.held) {
    timer = setTimeout(go, wait);
    worker?.sync?.register("diary").catch(() => {});
  }
  const mine = sent.done.filter((one) => one.author === here.me?.number);
  if (mine.length) page.said(mine.map((one) => one.words).join(" "));
  tell();
  await redraw();
}

// Begins. `page` has four functions: `said(text)` shows what was just done, `draw(me)` what waits, `takeOver()` lets the
// scripts do what forms did, `fill(me, lists)` fills a page that this phone kept (nobody: null).
export async function begin(given) {
  page = given;
  if (!window.isSecureContext) return line(words.insecure);
  if (live && !(here.me && "serviceWorker" in navigator)) return line(words.unknown_phone);
  try {
    await (live ? beginLive() : beginKept());
  } catch (error) {
    console.warn(error);
    return line(words.unknown_phone);
  }
  onChange(redraw);
  window.addEventListener("online", () => { wait = FIRST_WAIT; go(); });
  window.addEventListener("offline", () => { here.signal = false; tell(); go(); });
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && go());
  document.addEventListener("fresh", () => page.draw(here.me));
  document.addEventListener("fresh-lost", () => { if (here.signal) { here.signal = false; tell(); go(); } });
  document.addEventListener("fresh-ended", () => line(words.signed_out));
  document.addEventListener("fresh-other", () => line(words.changed));
  tell();
  await redraw();
  await go();
}

async function beginLive() {
  await become(here.me);
  await again(here.me);
  worker = await navigator.serviceWorker.register(addresses.worker, { type: "module" });
  page.takeOver();
  fetchHorses(addresses.horses).catch(() => {});
}

async function beginKept() {
  here.me = (await author()) ?? null;
  const { me } = here;
  const you = document.getElementById("entering-as");
  you.hidden = false;
  show(you.querySelector("span"), me ? say(words.as, me) : words.nobody);
  you.querySelector("button").hidden = !me;
  you.querySelector("button").addEventListener("click", async () => { await become(null); location.reload(); });
  page.fill(me, me && await lists(addresses.horses));
  if (!me) return;
  page.takeOver();
  worker = await navigator.serviceWorker.getRegistration();
}
