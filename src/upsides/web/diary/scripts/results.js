// After the finish: what each horse did, how much was left, and saving it.

import { forget, leaveOut, splits, undo } from "./clocking.js";
import { complain, fill, offer, typed } from "./fields.js";
import { mark, odd, said, seconds, sections, typed as written } from "./marks.js";
import { say, show, words } from "./words.js";

const section = document.getElementById("after");
const list = section.querySelector(".results");
const copy = (id) => document.getElementById(id).content.firstElementChild.cloneNode(true);
const WEIGHT = /^\d{1,2}\s*(-|st(ones?)?\.?)\s*\d{0,2}([.,]\d+)?\s*(lbs?\.?)?$|^\d{2,3}([.,]\d+)?\s*(kgs?\.?|lbs?\.?)?$/i;

let state;
let acts; // `add(entry)` enters, `back(state)` goes on with the clock, `over()` is done with it, `drop()` too, unsaved
let known;

// Shows what was clocked. `lists` has horses and riders' weights, `me` is who clocks.
export function results(given, lists, me, given_acts) {
  [state, known, acts] = [given, lists, given_acts];
  section.querySelector(".throw").textContent = words.throw_away;
  list.replaceChildren(...state.runners.map((runner) => result(runner, me)));
  state.runners.forEach((_, lane) => draw(lane));
  section.hidden = false;
  section.querySelector("h2").focus();
}

export function closeResults() {
  section.hidden = true;
  list.replaceChildren();
}

function result(runner, me) {
  const form = copy("a-result");
  show(form.querySelector(".name"), runner.name);
  offer(form, { horses: [] }, me);
  const note = state.doubt ? words.doubt_note : state.interrupted ? words.interrupted_note : "";
  const { instruction, rider, left = "", text = note } = runner;
  fill(form, { instruction, rider, left, text, rider_kg: runner.rider_kg ?? weight(rider) });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", ({ target }) => {
    if (target.closest("[data-field=rider]")) form.querySelector("[data-field=rider_kg] input").value = weight(target.value);
  });
  form.addEventListener("input", ({ target }) => complain(target.closest("[data-field]") ?? target, "", target));
  return form;
}

const weight = (rider) => (known.weights?.[rider] ? `${known.weights[rider]} kg` : "");

function draw(lane) {
  const form = list.children[lane];
  const own = splits(state, lane);
  const steps = sections(own);
  form.querySelector(".whole").textContent = own.length ? said(own) : say(words.nothing_clocked, { horse: state.runners[lane].name });
  form.querySelector("ol").replaceChildren(...own.map(([metres, time], place) => {
    const line = copy("a-mark");
    line.querySelector(".mark-name").textContent = mark(metres);
    line.querySelector(".from-start").textContent = seconds(time);
    line.querySelector(".took").textContent = seconds(steps[place][1]);
    const button = line.querySelector("button");
    button.setAttribute("aria-label", `${button.textContent} ${mark(metres)}, ${state.runners[lane].name}`);
    button.addEventListener("click", () => { leaveOut(state, lane, metres); draw(lane); form.querySelector("ol button")?.focus(); });
    return line;
  }));
  for (const part of form.querySelectorAll(".asked, details")) part.hidden = !own.length;
  const fault = own.length ? odd(own) : null;
  show(form.querySelector(".odd"), fault ? say(words.too_odd, { ...fault, horse: state.runners[lane].name }) : "");
  form.querySelector("details").open ||= Boolean(fault);
}

// Saving ----------------------------------------------------------------------------------------------------------

// Returns an entry for each horse that was clocked, null after saying what is wrong with one.
function entries() {
  const found = [];
  for (const [lane, runner] of state.runners.entries()) {
    const form = list.children[lane];
    const own = splits(state, lane);
    if (!own.length) continue;
    const values = typed(form);
    if (!values || !weighs(form, values.rider_kg)) return null;
    if (odd(own)) return void form.querySelector("ol button").focus();
    found.push(entry(runner, own, values));
  }
  if (!found.length) complain(section.querySelector(".actions"), words.nobody_clocked);
  return found.length ? found : null;
}

function entry(runner, own, values) {
  const beside = state.runners.filter((other) => other !== runner).map(({ number }) => number).join(",");
  return {
    kind: "clocked",
    client_id: runner.client_id,
    horse: runner.number,
    horse_name: runner.name,
    happened_at: new Date(state.began).toISOString(),
    said: said(own),
    values: { ...values, splits: written(own), gallop: state.gallop, upsides: beside, clock: "thumb" },
  };
}

function weighs(form, text) {
  if (!text || WEIGHT.test(text)) return true;
  const near = form.querySelector("[data-field=rider_kg]");
  complain(near, say(words.bad_weight, { typed: text }), near.querySelector("input"));
  return false;
}

async function save(button) {
  const found = entries();
  if (!found) return;
  button.disabled = true;
  for (const one of found) if (!(await acts.add(one))) return void (button.disabled = false);
  button.disabled = false;
  close(acts.over);
}

function close(then) {
  forget(state.author);
  closeResults();
  then();
}

// The second press throws away.
function throwAway(button) {
  if (button.textContent === words.sure) return close(acts.drop);
  button.textContent = words.sure;
}

// What was said of each horse is there again after going back to the clock.
function goBack() {
  state.runners.forEach((runner, lane) => Object.assign(runner, typed(list.children[lane]) ?? {}));
  undo(state);
  closeResults();
  acts.back(state);
}

section.querySelector(".save").addEventListener("click", ({ currentTarget }) => save(currentTarget));
section.querySelector(".throw").addEventListener("click", ({ currentTarget }) => throwAway(currentTarget));
section.querySelector(".again").addEventListener("click", goBack);
