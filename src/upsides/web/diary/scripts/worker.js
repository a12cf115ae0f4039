// Runs beside all pages of the yard. It keeps the empty pages for entering, and nothing of anybody's; every other page
// comes from the yard's computer or not at all.

import { author, become, fetchHorses, fetchWorks, works } from "./store.js";
import { deliver } from "./send.js";

const PATIENCE = 8000;
const NOBODY_THERE = [502, 504];
const WORKS_STAY = 300000; // milliseconds after which the morning's works are asked for anew

export function serve(settings) {
  const kept = `upsides-shell-${settings.version}`;
  const parts = new Set(settings.parts);
  let doors = 0;

  self.addEventListener("install", (event) => event.waitUntil(install()));
  self.addEventListener("activate", (event) => event.waitUntil(activate()));
  self.addEventListener("sync", (event) => event.waitUntil(deliver(settings.send)));
  self.addEventListener("fetch", (event) => {
    const { request } = event;
    const { origin, pathname } = new URL(request.url);
    if (request.method !== "GET" || origin !== self.location.origin) return;
    if (request.mode === "navigate") event.respondWith(page(event, pathname));
    else if (parts.has(pathname)) event.respondWith(part(request));
  });

  async function install() {
    const fresh = [...Object.values(settings.pages), settings.no_signal, ...settings.parts];
    const cache = await caches.open(kept);
    await cache.addAll(fresh.map((address) => new Request(address, { cache: "reload" })));
    await self.skipWaiting();
  }

  async function activate() {
    const old = (await caches.keys()).filter((name) => name.startsWith("upsides-shell-") && name !== kept);
    await Promise.all(old.map((name) => caches.delete(name)));
    await self.clients.claim();
    await works().then(follow).catch(() => {});
  }

  async function part(request) {
    return (await (await caches.open(kept)).match(request)) ?? fetch(request);
  }

  async function page(event, path) {
    const empty = settings.pages[path]; // the page that is kept for this address
    try {
      const answer = await inTime(fetch(event.request), empty);
      if (NOBODY_THERE.includes(answer.status)) throw new Error("nobody there");
      event.waitUntil(notice(path, answer).catch(() => {}));
      return answer;
    } catch {
      const cache = await caches.open(kept);
      return (await cache.match(empty ?? settings.no_signal)) ?? Response.error();
    }
  }

  // With hardly any signal an answer can take minutes: the page that is kept here is better then.
  function inTime(answer, limited) {
    if (!limited) return answer;
    return Promise.race([answer, new Promise((_, late) => setTimeout(() => late(new Error("late")), PATIENCE))]);
  }

  // At the door nobody is signed in any more; past it somebody is.
  async function notice(path, answer) {
    if (!answer.ok) return;
    if (settings.doors.includes(path)) {
      doors += 1;
      await become(null);
    } else if (!(await author())) await learn();
    else await works().then(follow);
    await deliver(settings.send);
  }

  async function learn() {
    const before = doors;
    const answer = await fetch(settings.author);
    if (!answer.ok || answer.redirected) return;
    const { author: person } = await answer.json();
    if (!person || doors !== before) return;
    await become(person);
    await fetchHorses(settings.horses);
    await follow();
  }

  // Somebody who clocks has the morning's works on the phone, as they were ordered last.
  async function follow(kept) {
    const person = await author();
    if (!person?.kinds?.includes("clocked") || Date.now() - (kept?.at ?? 0) < WORKS_STAY) return;
    await fetchWorks(settings.works, person);
  }
}
