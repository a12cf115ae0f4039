// Before the start: which horses, over which marks.

import { complain } from "./fields.js";
import { furlongs, inFurlongs, mark } from "./marks.js";
import { say, show, words } from "./words.js";

const form = document.getElementById("setup");
const box = form.querySelector(".works");
const hand = form.querySelector("details");
const field = (name) => form.elements[name];
const MOST = 40;

let known; // horses, gallops, marks and works as this phone knows them

// Offers what is known: `lists` has horses, gallops, their marks and the works of this morning, of which the first is
// chosen whose horses are not among those `clocked`.
export function offer(lists, me, clocked) {
  known = lists;
  const { works } = lists;
  const past = works.map(({ runners }) => runners.every(({ horse }) => clocked.has(horse)));
  const choices = works.map((work, place) => choice(place, title(work), about(work, past[place])));
  box.replaceChildren(...choices, choice("", words.hand, ""));
  for (const name of ["horse0", "horse1"]) options(field(name), lists.horses.map((horse) => [horse.number, horse.name]));
  const riders = (me.people ?? []).filter(([, , roles]) => roles.includes("rider"));
  for (const name of ["rider0", "rider1"]) options(field(name), riders);
  options(field("gallop"), lists.gallops ?? []);
  const first = box.querySelectorAll("input")[past.includes(false) ? past.indexOf(false) : works.length];
  first.checked = true;
  box.scrollTop += first.closest("label").getBoundingClientRect().top - box.getBoundingClientRect().top;
  pick();
}

function choice(value, text, more) {
  const label = document.getElementById("a-work").content.firstElementChild.cloneNode(true);
  label.querySelector("input").value = value;
  label.querySelector(".names").textContent = text;
  show(label.querySelector(".what"), more);
  return label;
}

const title = ({ runners: [one, other] }) => (other ? say(words.upsides, { one: one.name, other: other.name }) : one.name);

function about(work, past) {
  const gallop = (known.gallops ?? []).find(([number]) => number === work.gallop)?.[1];
  const lot = work.lot && say(words.lot, { lot: work.lot });
  const far = work.furlongs && say(words.furlongs, { furlongs: work.furlongs });
  return [past && words.already, lot, words.exercises[work.exercise], far, gallop].filter(Boolean).join(", ");
}

// Leaves the first option and puts others behind it.
function options(select, rows) {
  select.replaceChildren(select.options[0], ...rows.map(([value, text]) => new Option(text, value)));
}

// Choosing --------------------------------------------------------------------------------------------------------

function pick() {
  const work = known.works[box.querySelector("input:checked").value];
  hand.open = !work;
  for (const place of [0, 1]) {
    field(`horse${place}`).value = work?.runners[place]?.horse ?? "";
    ride(place);
  }
  if (work) {
    field("gallop").value = work.gallop ?? "";
    field("instruction").value = work.runners[0].instruction;
  }
  ground(work?.furlongs);
}

const ordered = (number) => known.works.flatMap((work) => work.runners).find((runner) => runner.horse === number);

// What was ordered for a horse this morning is offered for it.
function ride(place) {
  const order = ordered(Number(field(`horse${place}`).value));
  field(`rider${place}`).value = order?.rider ?? "";
  if (order && !place) field("instruction").value = order.instruction;
}

// Lists the marks of the gallop; a work that was ordered over less than all of it ends at the last mark within that.
function ground(far) {
  const all = given();
  form.querySelector(".count").hidden = Boolean(known.marks?.[field("gallop").value]?.length);
  const name = (metres) => [metres, metres ? mark(metres) : words.the_start];
  lines(field("from"), [0, ...all.slice(0, -1)].map(name));
  lines(field("to"), all.map(name));
  const within = all.filter((metres) => !far || inFurlongs(metres) <= far + 0.05);
  field("to").value = within.at(-1) ?? all.at(-1) ?? "";
  tell();
}

const lines = (select, rows) => select.replaceChildren(...rows.map(([value, text]) => new Option(text, value)));

function given() {
  const own = known.marks?.[field("gallop").value] ?? [];
  const count = Math.min(Math.max(Math.round(Number(field("count").value)) || 1, 1), MOST);
  return own.length ? own : furlongs(count);
}

// Returns the marks from where the clock begins, in metres from there.
function marks() {
  const [from, to] = [Number(field("from").value), Number(field("to").value)];
  return given().filter((metres) => metres > from && metres <= to).map((metres) => Math.round((metres - from) * 10) / 10);
}

const chosen = () => [0, 1].map((place) => field(`horse${place}`).value).filter(Boolean);

// Says what is about to be done, in the page's first sentence.
function tell() {
  const [count, horses] = [marks().length, chosen().length];
  const text = [words.choose, count === 1 ? words.one_one : words.one_many, count === 1 ? words.two_one : words.two_many][horses];
  document.querySelector(".answer").textContent = say(count ? text : words.choose, { marks: words.numbers[count] ?? count });
  const list = marks().map(mark).join(", ");
  show(form.querySelector(".over"), list ? say(words.marks_at, { marks: list }) : words.no_mark);
}

// Returns what is to be clocked, null after saying what is missing.
export function chosenSetup() {
  const numbers = chosen();
  const fault = !numbers.length ? words.no_horse_chosen : numbers.length === 2 && numbers[0] === numbers[1] ? words.same_horse : "";
  complain(form.querySelector(".runner"), "");
  complain(form.querySelector(".over").parentElement, "");
  if (fault || !marks().length) hand.open = true;
  if (fault) return void complain(form.querySelector(".runner"), fault, field("horse0"));
  if (!marks().length) return void complain(form.querySelector(".over").parentElement, words.no_mark, field("to"));
  const [select, gallop] = [field("instruction"), field("gallop")];
  return {
    marks: marks(),
    gallop: gallop.value,
    gallop_name: gallop.value ? gallop.selectedOptions[0].textContent : "",
    instruction_words: select.value ? select.selectedOptions[0].textContent : "",
    runners: [0, 1].filter((place) => field(`horse${place}`).value).map(runner),
  };
}

function runner(place) {
  const horse = field(`horse${place}`);
  const own = ordered(Number(horse.value))?.instruction;
  const [first, common] = [ordered(Number(field("horse0").value))?.instruction, field("instruction").value];
  const instruction = common === first && own ? own : common;
  return { number: Number(horse.value), name: horse.selectedOptions[0].textContent, rider: field(`rider${place}`).value, instruction };
}

form.addEventListener("change", ({ target }) => {
  if (target.name === "work") pick();
  else if (target.name.startsWith("horse")) { ride(Number(target.name.at(-1))); tell(); }
  else if (["gallop", "count"].includes(target.name)) ground();
  else tell();
});
