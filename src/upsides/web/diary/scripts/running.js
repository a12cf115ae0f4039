// The running clock: one button to start, then one a horse, half the screen each.

import { compare, elapsed, end, miss, next, press, start, through, undo } from "./clocking.js";
import { mark, seconds } from "./marks.js";
import { say, show, words } from "./words.js";

const LINGER = 700; // milliseconds that the last press stays to be seen, and the finger has to leave the screen
const JUST = 1000; // milliseconds within which a click belongs to the touch or key before it
const BUZZ = 40; // milliseconds, for a thumb in a glove
const KEYS = { a: 0, l: 1 };
const dialog = document.getElementById("running");
const part = (name) => dialog.querySelector(name);
const lanes = [...dialog.querySelectorAll(".lane")];

let state;
let leave; // what to do when the clock is left: "ended", or "back" to choose again
let awake;
let touched = 0;

// Shows the clock of a clocking, waiting to be started or running.
export function run(given, left) {
  state = given;
  leave = left;
  show(part(".about"), [state.gallop_name, state.instruction_words].filter(Boolean).join(", "));
  lanes.forEach((lane, place) => {
    lane.hidden = place >= state.runners.length;
    show(lane.querySelector(".name"), state.runners[place]?.name ?? "");
  });
  dialog.classList.toggle("alone", state.runners.length === 1);
  if (!dialog.open) dialog.showModal();
  stayAwake();
  draw();
  (state.origin === null ? part(".go") : lanes[0].querySelector(".mark")).focus();
  requestAnimationFrame(tick);
}

function draw() {
  const going = state.origin !== null;
  part(".go").hidden = going;
  part(".lanes").hidden = !going;
  for (const name of [".undo", ".finish"]) part(name).hidden = !going;
  part(".back").hidden = going;
  if (!going) part(".clock").textContent = reading(0);
  show(part(".doubt"), state.doubt ? say(words.doubt, { seconds: seconds(state.doubt) }) : state.interrupted ? words.interrupted : "");
  lanes.slice(0, state.runners.length).forEach(lane);
}

function lane(element, place) {
  const metres = next(state, place);
  const last = state.log.findLast((one) => one.lane === place && one.at !== null);
  const at = last && state.marks[state.log.filter((one) => one.lane === place).indexOf(last)];
  show(element.querySelector(".next"), metres === undefined ? words.through : say(words.next, { mark: mark(metres) }));
  const text = last ? say(words.last_time, { mark: mark(at), time: seconds(last.at) }) : "\u00a0";
  element.querySelector(".last").textContent = text;
  for (const button of element.querySelectorAll("button")) button.setAttribute("aria-disabled", metres === undefined);
}

const reading = (time) => `${Math.floor(time / 60)}:${seconds(Math.floor((time % 60) * 10) / 10).padStart(4, "0")}`;

function tick() {
  if (!dialog.open || !state) return;
  if (state.origin !== null) {
    const text = reading(elapsed(state));
    const clock = part(".clock");
    if (clock.textContent !== text) clock.textContent = text;
  }
  requestAnimationFrame(tick);
}

const hear = (text) => { part(".heard").textContent = text; };

// Pressing --------------------------------------------------------------------------------------------------------

function go(stamp) {
  start(state, stamp);
  hear(words.started);
  draw();
  lanes[0].querySelector(".mark").focus();
}

function passes(place, stamp) {
  if (place >= state.runners.length) return;
  const metres = next(state, place);
  if (!press(state, place, stamp)) return;
  const time = seconds(state.log.at(-1).at);
  hear(say(words.passed, { horse: state.runners[place].name, mark: mark(metres), time }));
  flash(lanes[place]);
  if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.(BUZZ);
  settle();
}

function misses(place) {
  const metres = next(state, place);
  if (!miss(state, place)) return;
  hear(say(words.missed, { horse: state.runners[place].name, mark: mark(metres) }));
  settle();
}

function settle() {
  draw();
  if (through(state)) setTimeout(() => { if (dialog.open && through(state)) finish(); }, LINGER);
}

function back() {
  undo(state);
  hear(words.taken_back);
  draw();
  if (state.origin === null) part(".go").focus();
}

function finish() {
  compare(state);
  end(state);
  close("ended");
}

function close(how) {
  const act = leave;
  leave = undefined;
  awake?.release().catch(() => {});
  awake = undefined;
  dialog.close();
  act?.(how);
}

function flash(element) {
  element.classList.remove("just");
  requestAnimationFrame(() => element.classList.add("just"));
}

// What is pressed down counts at that moment, not when it is let go; `at` is what a button does then.
function pressed(button, at) {
  button.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    touched = event.timeStamp;
    at(event.timeStamp);
  });
  button.addEventListener("click", (event) => {
    if (event.timeStamp - touched > JUST) at(event.timeStamp); // neither a touch nor a key: a screen reader, a switch
    touched = 0;
  });
  button.addEventListener("contextmenu", (event) => event.preventDefault());
}

function key(event) {
  if (event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
  const place = KEYS[event.key.toLowerCase()];
  const button = event.target.closest?.("button");
  const going = state.origin !== null;
  if (place !== undefined && going) passes(state.runners.length === 1 ? 0 : place, event.timeStamp);
  else if (![" ", "Enter"].includes(event.key)) return;
  else if (!going && button !== part(".back")) go(event.timeStamp);
  else if (going && button?.matches(".mark")) passes(lanes.indexOf(button.closest(".lane")), event.timeStamp);
  else if (going && !button && state.runners.length === 1) passes(0, event.timeStamp);
  else return;
  event.preventDefault(); // a space would press again when it is let go
}

// The screen ------------------------------------------------------------------------------------------------------

async function stayAwake() {
  try {
    awake = await navigator.wakeLock?.request("screen");
  } catch {
    awake = undefined; // low battery, or not allowed: the clock runs all the same
  }
}

function seenAgain() {
  if (document.visibilityState !== "visible" || !dialog.open) return;
  stayAwake();
  if (compare(state)) draw();
}

pressed(part(".go"), go);
lanes.forEach((element, place) => {
  pressed(element.querySelector(".mark"), (stamp) => passes(place, stamp));
  element.querySelector(".miss").addEventListener("click", () => misses(place));
});
part(".undo").addEventListener("click", back);
part(".finish").addEventListener("click", finish);
part(".back").addEventListener("click", () => close("back"));
dialog.addEventListener("keydown", key);
dialog.addEventListener("cancel", (event) => event.preventDefault());
dialog.addEventListener("close", () => { if (leave && !dialog.open) dialog.showModal(); }); // a gesture closed it, not a button
document.addEventListener("visibilitychange", seenAgain);
