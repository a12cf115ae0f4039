// The diary's page, with and without signal.

import { fill, offer, typed } from "./fields.js";
import { chosen, chosenGallop, finder, list, narrow } from "./form.js";
import { add, begin, go, here } from "./keeping.js";
import "./legs.js";
import { draw } from "./waiting.js";
import { addresses, say, show, words } from "./words.js";

const form = document.getElementById("enter");
const done = document.getElementById("done"); // what was just done with an entry

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
  if (!details || !("dose" in details.dataset)) return false;
  const warning = details.querySelector(".dose");
  const warned = details.dataset.warned === String(horse.number);
  delete details.dataset.warned;
  show(warning, "");
  if (warned) return false;
  const asked = `${addresses.doses}?${new URLSearchParams({ kind: button.value, horse: horse.number })}`;
  const answer = here.signal && (await fetch(asked, { signal: AbortSignal.timeout(4000) }).catch(() => null));
  const given = answer?.ok && !answer.redirected ? (await answer.json()).given : null;
  if (given === "") return false;
  show(warning, given ? say(words.given, { given }) : words.given_unknown);
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

function submitted(event) {
  const on = event.target;
  if (on !== form && !on.matches("#today form[data-kind]")) return;
  event.preventDefault();
  if (on === form) enter(event.submitter);
  else mend(on, event.submitter);
}

finder();
begin({
  draw: (me) => draw(me, { add: mendKept, go }),
  said: (text) => {
    show(done, text);
    if (text) done.scrollIntoView({ block: "nearest" });
  },
  takeOver: () => {
    form.noValidate = true;
    document.addEventListener("submit", submitted);
  },
  fill: (me, kept) => {
    form.hidden = !me;
    if (!me) return;
    if (!kept.horses.length) show(form.querySelector(".none"), words.no_horses);
    list(kept.horses, me.own);
    offer(form, kept, me);
    narrow(me.kinds ?? []);
  },
});
