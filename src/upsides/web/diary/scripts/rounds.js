// Which barn and which round a page of checks is of, and its rows where it comes from this phone's keeping.

import { root, show, words } from "./words.js";

const asked = new URLSearchParams(location.search);
const list = document.getElementById("round");

const hour = () => (new Date().getHours() < 12 ? "morning" : "evening");
const named = asked.get("round");

export const round = list.dataset.round || (["morning", "evening"].includes(named) ? named : hour());

// Fills a kept page with the horses of a barn, in walking order, out of what this phone keeps.
export function fill(me, kept) {
  const barns = walked(kept.horses);
  const barn = [asked.get("barn"), me.barn, barns[0]].find((name) => barns.includes(name)) ?? "";
  document.querySelector("h1").textContent = words.rounds[round];
  document.querySelector("#reload a").href = location.href;
  choose("barn", barns.map((name) => [name, name || words.no_box]), barn, { round });
  choose("round", Object.entries(words.rounds), round, { barn });
  const things = document.createElement("datalist");
  things.id = "things-feed_time";
  things.append(...(kept.things?.feed_time ?? []).map((name) => new Option(name)));
  root.append(things);
  list.dataset.round = round;
  list.replaceChildren(...kept.horses.filter((horse) => (horse.barn ?? "") === barn).sort(walk).map(row));
}

const walk = (one, other) => (one.position ?? 0) - (other.position ?? 0) || one.name.localeCompare(other.name);

function walked(horses) {
  const first = horses.filter((horse) => horse.barn).sort(walk).map((horse) => horse.barn);
  const bare = horses.some((horse) => !horse.barn);
  return [...new Set(first), ...(bare ? [""] : [])];
}

function row(horse) {
  const made = document.getElementById("a-row").content.firstElementChild.cloneNode(true);
  made.id = `horse-${horse.number}`;
  made.dataset.horse = horse.number;
  made.dataset.name = horse.name;
  show(made.querySelector(".box"), horse.box ?? "");
  show(made.querySelector(".name"), horse.name);
  for (const label of made.querySelectorAll(".of")) label.textContent = horse.name;
  for (const part of made.querySelectorAll("[data-round]")) if (part.dataset.round !== round) part.remove();
  return made;
}

function choose(name, choices, chosen, rest) {
  const place = document.querySelector(`[data-choose=${name}]`);
  place.hidden = choices.length < 2;
  place.replaceChildren(...choices.map(([value, text]) => {
    const link = document.createElement("a");
    link.href = `?${new URLSearchParams({ ...rest, [name]: value })}`;
    link.textContent = text;
    if (value === chosen) link.setAttribute("aria-current", "true");
    return link;
  }));
}
