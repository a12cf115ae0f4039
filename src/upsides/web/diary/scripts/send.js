// Sends what waits. Sending something twice does no harm: an entry's number is made here, once.

import { author, entries, settle } from "./store.js";

const MOST = 25;
const PATIENCE = 20000;
const NOBODY_THERE = [502, 504, 521, 522, 523, 524]; // a server in between answers for one that does not

// Sends all that waits, oldest first. Returns whether there was signal (null where nothing was sent), why entries are
// held up ("" where they are not, true where nothing is known), and what came into the books, with its author's number
// and its words. With `ask` an empty parcel finds out about signal.
export async function deliver(address, ask = false) {
  let signal = null;
  const done = [];
  for (;;) {
    const waiting = (await entries()).filter((entry) => entry.state === "waiting").slice(0, MOST);
    if (!waiting.length && (signal !== null || !ask)) return { signal, held: "", done };
    const { answer, said } = await post(address, await parcel(waiting));
    const there = answer && !NOBODY_THERE.includes(answer.status) && (!answer.ok || said?.answers);
    if (!there) return { signal: false, held: "", done };
    if (!answer.ok) return { signal: true, held: said?.reason ?? true, done };
    signal = true;
    const noted = await Promise.all(said.answers.map((one) => note(waiting, one)));
    if (waiting.length && !noted.some(Boolean)) return { signal, held: true, done };
    done.push(...noted.filter((one) => one?.words));
  }
}

async function post(address, body) {
  try {
    const answer = await fetch(address, {
      method: "POST",
      credentials: "omit",
      redirect: "error",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
      signal: AbortSignal.timeout(PATIENCE),
    });
    return { answer, said: await answer.json().catch(() => null) };
  } catch {
    return {};
  }
}

async function parcel(waiting) {
  const me = await author();
  const written = waiting.map((entry) => ({
    client_id: entry.client_id,
    kind: entry.kind,
    horse: entry.horse,
    gallop: entry.gallop,
    values: entry.values,
    made_at: entry.made_at,
    happened_at: entry.happened_at,
    supersedes: entry.supersedes,
    withdrawn: entry.withdrawn,
    token: me?.number === entry.author.number ? me.token : entry.token,
  }));
  return { sent_at: new Date().toISOString(), entries: written };
}

async function note(waiting, one) {
  const entry = waiting.find((some) => some.client_id === one.client_id);
  if (!entry) return null;
  const refused = one.outcome === "refused";
  await settle(entry, refused && { state: "refused", reason: one.reason, again: one.again });
  return { author: entry.author.number, words: one.words };
}

// Lets entries that were refused for want of a sign-in wait again, once their author has signed in anew.
export async function again(me) {
  const mine = (await entries()).filter((entry) => entry.again && entry.author.number === me.number);
  await Promise.all(mine.map((entry) => settle(entry, { state: "waiting", again: false, token: me.token })));
}
