// Scoring the shape of a horse: a slider for each trait, unset until it is touched. What was scored is kept in this
// browser until it is in the books, so that nothing is lost when the signal is.

const LOWEST = 1;
const HIGHEST = 9;
const place = document.querySelector("[data-draft]");
const form = document.getElementById("score");
const words = form?.dataset;

const say = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

// What is not entered yet -----------------------------------------------------------------------------------------

function kept() {
  try {
    return JSON.parse(localStorage.getItem(place.dataset.draft));
  } catch {
    return null;
  }
}

function keep(draft) {
  try {
    if (draft) localStorage.setItem(place.dataset.draft, JSON.stringify(draft));
    else localStorage.removeItem(place.dataset.draft);
  } catch {
    // a browser that keeps nothing still sends the form
  }
}

const fields = () => [...form.querySelectorAll("select, [name=client_id], [name=corrects], [name=seen]")];

function note() {
  keep(Object.fromEntries(fields().map((field) => [field.name, field.value])));
}

// Puts back what was scored here before, unless it is in the books by now.
function restore() {
  const draft = kept();
  if (!draft) return;
  if (draft.client_id === place.dataset.entered) return keep(null);
  if (!form || "refused" in words) return;
  for (const field of fields()) field.value = draft[field.name] ?? "";
  form.querySelector(".when")?.toggleAttribute("open", Boolean(draft.seen));
  const told = document.getElementById("kept");
  told.hidden = false;
  told.querySelector("button").addEventListener("click", () => { keep(null); location.reload(); });
}

// Sliders ---------------------------------------------------------------------------------------------------------

function slider(trait) {
  const select = trait.querySelector("select");
  const range = trait.querySelector("[type=range]");
  const told = trait.querySelector("output");
  let before = "";

  function show() {
    const score = select.value;
    trait.classList.toggle("scored", Boolean(score));
    if (score) range.value = score;
    told.textContent = score || words.unset;
    range.setAttribute("aria-valuetext", score ? say(words.set, { score }) : words.unset);
  }

  function set(score) {
    select.value = score;
    show();
    count();
    note();
  }

  range.addEventListener("input", () => set(range.value));
  range.addEventListener("pointerdown", () => { before = select.value; });
  range.addEventListener("pointercancel", () => set(before)); // the page was scrolled, nothing was scored
  // Also where the thumb stood already, which changes nothing that the browser would tell of.
  range.addEventListener("pointerup", (event) => event.button || set(String(under(range, event.clientX))));
  range.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") set(range.value);
    else if (event.key === "Backspace" || event.key === "Delete") set("");
    else return;
    event.preventDefault();
  });
  trait.querySelector(".clear").addEventListener("click", () => { set(""); range.value = 5; range.focus(); });

  trait.querySelector("label").htmlFor = range.id;
  trait.querySelector(".slide").hidden = trait.querySelector(".set").hidden = false;
  select.hidden = true;
  show();
}

// Returns the score whose place on the rail is nearest to where it was pressed.
function under(range, x) {
  const { left, width, height } = range.getBoundingClientRect();
  const thumb = height * 0.69;
  const share = Math.min(Math.max((x - left - thumb / 2) / (width - thumb), 0), 1);
  return LOWEST + Math.round(share * (HIGHEST - LOWEST));
}

function count() {
  const scored = [...form.querySelectorAll("select")].filter((one) => one.value).length;
  form.querySelector(".count").textContent = say(words.count, { scored });
}

if (place) restore();
if (form) {
  form.querySelectorAll(".trait").forEach(slider);
  count();
  form.querySelector(".count").hidden = document.getElementById("how").hidden = false;
  form.addEventListener("submit", note);
}
