// What waits on this phone: one's own entries with their words, of others only how many.

import { described, fill, typed } from "./fields.js";
import { kind } from "./form.js";
import { others } from "./others.js";
import { entries, settle } from "./store.js";
import { say, show, time, words } from "./words.js";

const section = document.getElementById("waiting");

// Draws the list anew, unless somebody is writing in it. `acts.add` enters a correction or a withdrawal of what waits,
// `acts.go` sends what was put right.
export async function draw(me, acts) {
  if (section.querySelector("details[open]")) return;
  const all = await entries();
  const mine = all.filter((entry) => entry.author.number === me?.number);
  section.querySelector("ol").replaceChildren(...mine.map((entry) => line(entry, all, acts)));
  section.querySelector(".others").replaceChildren(...others(all, me));
  section.hidden = !all.length;
}

function line(entry, all, acts) {
  const refused = entry.state === "refused";
  const item = document.getElementById(refused ? "one-refused" : "one-waiting").content.firstElementChild.cloneNode(true);
  item.dataset.entry = entry.client_id;
  show(item.querySelector("time"), time(entry.made_at));
  show(item.querySelector(".of"), entry.horse_name);
  show(item.querySelector(".words"), described(entry, kind(entry.kind)));
  show(item.querySelector(".state"), refused ? say(words.refused, { reason: entry.reason }) : words.waiting);
  const mend = item.querySelector(".mend");
  const mended = all.some((other) => other.supersedes === entry.client_id);
  if (!refused && (mended || entry.withdrawn)) mend.remove();
  else offer(mend, entry, acts);
  return item;
}

function offer(mend, entry, acts) {
  const form = mend.querySelector("form");
  const { fields } = kind(entry.kind);
  const refused = entry.state === "refused";
  if (!entry.withdrawn) form.querySelector(".fields").replaceWith(fields);
  fill(fields, entry.values);
  form.querySelector(".main").hidden = !refused && !fields.childElementCount;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const values = entry.withdrawn ? {} : typed(fields);
    if (!values) return;
    mend.open = false;
    if (refused) again(entry, values).then(acts.go);
    else acts.add(entry, values, false);
  });
  form.querySelector(".drop").addEventListener("click", () => {
    mend.open = false;
    if (!refused) return acts.add(entry, {}, true);
    mend.closest("li").remove();
    return settle(entry, null).then(acts.go);
  });
}

// A refused entry was never in the books: what replaces it is a new one, of the time of the old.
function again(entry, values) {
  const client_id = crypto.randomUUID();
  const made_at = new Date().toISOString();
  const happened_at = entry.happened_at ?? entry.made_at;
  return settle(entry, { client_id, values, made_at, happened_at, state: "waiting", reason: "", again: false });
}
