// The board of lots: a horse that is drawn to another lot, or whose lot is chosen in its list, moves there; what that
// costs and breaks is asked by the form itself when something changes. A horse that is moved, by its list, a mouse or a
// finger on its grip, takes those that it works with along, unless it is said that it goes alone; of two that are parted
// a button brings one to the other. Without this script lists and buttons do the same.

const board = document.querySelector(".board");

// Where there is room all lots stand open; style does that, but in browsers that do not know it.
if (!CSS.supports("selector(::details-content)") && matchMedia("(min-width: 46rem)").matches)
  for (const one of board?.querySelectorAll("details") ?? []) one.open = true;

// What the lists say is so: whom a horse took along is seen here, and the server need not follow.
for (const was of document.querySelectorAll("#board [name^='was-']")) was.remove();

// That a horse goes alone moves nothing yet, so nothing is asked.
const alone = document.querySelector("#board [name=alone]");
alone?.addEventListener("change", (event) => event.stopPropagation());

const lotOf = (card) => card.querySelector("select[name^='lot-']");
const section = (lot) => [...board.querySelectorAll("section")].find((one) => one.dataset.lot === lot);

function move(card, lot) {
  section(lot)?.querySelector("ul").append(card);
  card.closest("details").open = true;
  for (const one of board.querySelectorAll("section"))
    one.querySelector(".many").textContent = one.querySelectorAll("[data-horse]").length;
}

board?.addEventListener("change", (event) => {
  const card = event.target.closest("[data-horse]");
  if (card && event.target === lotOf(card) && event.detail !== "brought") moveAll(card, event.target.value);
});

function together(card) {
  const found = new Set([card]);
  if (alone?.checked) return found;
  for (const one of found)
    for (const number of one.dataset.with.split(" "))
      if (number) found.add(board.querySelector(`[data-horse="${number}"]`));
  found.delete(null);
  return found;
}

function moveAll(card, lot) {
  const focused = document.activeElement;
  for (const one of together(card)) {
    lotOf(one).value = lot;
    move(one, lot);
  }
  if (card.contains(focused)) focused.focus();
}

function put(card, over) {
  moveAll(card, over.dataset.lot);
  lotOf(card).dispatchEvent(new Event("change", { bubbles: true })); // once, so that one question is asked
}

document.querySelector("#verdict")?.addEventListener("click", (event) => {
  const bring = event.target.closest("[name=bring]");
  if (!bring) return;
  event.preventDefault();
  const [horse, lot] = bring.value.split(":");
  const card = board.querySelector(`[data-horse="${horse}"]`);
  lotOf(card).value = lot;
  move(card, lot);
  lotOf(card).dispatchEvent(new CustomEvent("change", { bubbles: true, detail: "brought" }));
});

board?.addEventListener("drawing", (event) => {
  for (const one of together(event.target)) one.classList.add("drawn");
});

board?.addEventListener("drawn", (event) => put(event.target, event.detail));
