// What this phone keeps: entries until the yard's computer has answered for them, who enters here, and the names of
// the horses. Pages and the worker share it.

const NAME = "upsides-diary";
const HORSES = "upsides-horses";
const told = new BroadcastChannel(NAME);
let opened;

function database() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("entries", { keyPath: "order", autoIncrement: true });
      asked.result.createObjectStore("phone");
    };
    asked.onsuccess = () => {
      asked.result.onclose = () => { opened = undefined; };
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

// Resolves once the change is on the disk, not only in memory.
async function within(name, mode, work) {
  const base = await database();
  return new Promise((resolve, reject) => {
    const change = base.transaction(name, mode, { durability: "strict" });
    const asked = work(change.objectStore(name));
    change.oncomplete = () => {
      if (mode === "readwrite") told.postMessage(name);
      resolve(asked.result);
    };
    change.onabort = () => reject(change.error);
  });
}

export const entries = () => within("entries", "readonly", (store) => store.getAll());
export const keep = (entry) => within("entries", "readwrite", (store) => store.add(entry));

// Changes an entry, or drops it where there is nothing to change it to; not one that another page has changed since.
export function settle(entry, change) {
  return within("entries", "readwrite", (store) => {
    const asked = store.get(entry.order);
    asked.onsuccess = () => {
      const now = asked.result;
      if (now?.client_id !== entry.client_id) return;
      if (change) store.put({ ...now, ...change });
      else store.delete(now.order);
    };
    return asked;
  });
}

export const author = () => within("phone", "readonly", (store) => store.get("author"));

// Who enters from now on; what was kept for somebody else goes.
export function become(person) {
  return within("phone", "readwrite", (store) => {
    const asked = store.get("works");
    asked.onsuccess = () => { if (asked.result && asked.result.person !== person?.number) store.delete("works"); };
    return store.put(person, "author");
  });
}

export function onChange(act) {
  told.addEventListener("message", act);
}

export async function fetchHorses(address) {
  const answer = await fetch(address);
  if (answer.ok && !answer.redirected) await (await caches.open(HORSES)).put(address, answer);
}

// The works of today and tomorrow, kept for one person who clocks.
export const works = () => within("phone", "readonly", (store) => store.get("works"));
export const keepWorks = (person, told) => within("phone", "readwrite", (store) => store.put({ ...told, person: person.number, at: Date.now() }, "works"));

export async function fetchWorks(address, person) {
  const answer = await fetch(address);
  if (answer.ok && !answer.redirected) await keepWorks(person, await answer.json());
}

// Returns the horses, gallops and names of things as they were when there was signal last.
export async function lists(address) {
  const kept = await (await caches.open(HORSES)).match(address);
  return kept ? kept.json() : { horses: [], gallops: [], things: {} };
}
