// What waits on this phone of others: how many entries and whose, never what they say.

import { say, words } from "./words.js";

// Returns a line for each of the others.
export function others(all, me) {
  const counts = new Map();
  for (const { author } of all) {
    if (author.number === me?.number) continue;
    counts.set(author.number, { name: author.name, count: (counts.get(author.number)?.count ?? 0) + 1 });
  }
  return [...counts.values()].map((one) => sentence(say(one.count === 1 ? words.waits : words.wait, one)));
}

function sentence(text) {
  const item = document.createElement("li");
  item.textContent = text;
  return item;
}
