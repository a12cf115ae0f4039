// The stopwatch's page, with and without signal: two horses at once over known marks. What is clocked goes into this
// phone's keeping like every entry.

import { prepared, restored } from "./clocking.js";
import { add, begin, go, here, live } from "./keeping.js";
import { others } from "./others.js";
import { closeResults, results } from "./results.js";
import { run } from "./running.js";
import { chosenSetup, offer } from "./setup.js";
import { entries, keepWorks, settle, works } from "./store.js";
import { root, say, show, time, words } from "./words.js";

const form = document.getElementById("setup");
const answer = document.querySelector(".answer");
const done = document.getElementById("done");
const DAY = 86400000;
const clocked = new Set(); // numbers of horses that were clocked on this page
let lists = { horses: [] };

// Before the start ------------------------------------------------------------------------------------------------

function ready() {
  closeResults();
  form.hidden = false;
  const today = [...document.querySelectorAll("#today [data-horse]")].map((one) => Number(one.dataset.horse));
  offer(lists, here.me, new Set([...today, ...clocked]));
}

function over(state) {
  for (const { number } of state.runners) clocked.add(number);
  ready();
  document.querySelector("h1").scrollIntoView();
}

function clock(state) {
  form.hidden = true;
  closeResults();
  run(state, (how) => (how === "ended" ? after(state) : ready()));
}

function after(state) {
  form.hidden = true;
  answer.textContent = words.done;
  results(state, lists, here.me, { add, back: clock, over: () => over(state), drop: ready });
}

// What is kept here -----------------------------------------------------------------------------------------------

async function draw(me) {
  const all = await entries();
  const mine = all.filter((entry) => entry.author.number === me?.number && entry.kind === "clocked");
  const back = new Set(mine.filter((entry) => entry.withdrawn).map((entry) => entry.supersedes));
  const shown = mine.filter((entry) => entry.said && !back.has(entry.client_id));
  document.querySelector("#waiting ol").replaceChildren(...shown.map(item));
  const rest = others(all, me);
  document.querySelector("#waiting .others").replaceChildren(...rest);
  document.getElementById("waiting").hidden = !shown.length && !rest.length;
}

function item(entry) {
  const line = document.getElementById("one-kept").content.firstElementChild.cloneNode(true);
  const refused = entry.state === "refused";
  line.dataset.entry = entry.client_id;
  show(line.querySelector(".words"), say(words.kept_one, { horse: entry.horse_name, said: entry.said }));
  const state = { time: time(entry.made_at), reason: entry.reason };
  show(line.querySelector(".state"), refused ? say(words.refused, state) : say(words.kept_at, state));
  line.querySelector("a").hidden = !refused;
  const button = line.querySelector("button");
  if (refused) button.textContent = words.throw_away;
  button.addEventListener("click", () => (refused ? settle(entry, null).then(go) : takeBack(entry)));
  return line;
}

function takeBack({ kind, horse, horse_name, client_id }) {
  return add({ kind, horse, horse_name, values: {}, supersedes: client_id, withdrawn: true });
}

// Beginning -------------------------------------------------------------------------------------------------------

const days = (at) => Math.round((new Date().setHours(12, 0, 0, 0) - new Date(at).setHours(12, 0, 0, 0)) / DAY);

// Takes what the page came with, or what this phone keeps of it.
async function learn() {
  const setting = live ? JSON.parse(root.dataset.setting) : null;
  if (setting) await keepWorks(here.me, { mornings: setting.mornings, weights: setting.weights });
  const kept = await works();
  const own = kept?.person === here.me.number ? kept : { at: 0, mornings: [] };
  lists = { ...(setting ?? lists), works: own.mornings[days(own.at)] ?? [], weights: own.weights };
}

async function takeOver() {
  if (!here.me.kinds?.includes("clocked")) {
    answer.textContent = words.not_yours;
    return;
  }
  await learn();
  const state = restored(here.me.number);
  if (!state) ready();
  else if (state.ended) after(state);
  else clock(state);
  root.dataset.ready = "";
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  const setup = chosenSetup();
  if (setup) clock(prepared(setup, here.me.number));
});

begin({
  draw,
  takeOver,
  said: (text) => show(done, text),
  fill: (_, kept) => {
    lists = kept ?? lists;
    document.querySelector("#reload a").href = location.href;
  },
});
