// The board of lots: a horse that is drawn to another lot, or whose lot is chosen in its list, moves there; what that
// costs and breaks is asked by the form itself when something changes. Without this script the lists do the same.

const board = document.querySelector(".board");
let drawn = null;

// Where there is room all lots stand open; style does that, but in browsers that do not know it.
if (!CSS.supports("selector(::details-content)") && matchMedia("(min-width: 46rem)").matches)
  for (const one of board?.querySelectorAll("details") ?? []) one.open = true;

const lotOf = (card) => card.querySelector("select[name^='lot-']");
const section = (lot) => [...board.querySelectorAll("section")].find((one) => one.dataset.lot === lot);

function move(card, lot) {
  const focused = document.activeElement;
  section(lot)?.querySelector("ul").append(card);
  card.closest("details").open = true;
  for (const one of board.querySelectorAll("section"))
    one.querySelector(".many").textContent = one.querySelectorAll("[data-horse]").length;
  if (card.contains(focused)) focused.focus();
}

board?.addEventListener("change", (event) => {
  const card = event.target.closest("[data-horse]");
  if (card && event.target === lotOf(card)) move(card, event.target.value);
});

board?.addEventListener("dragstart", (event) => {
  drawn = event.target.closest?.("[data-horse]");
  if (!drawn) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", drawn.dataset.horse);
});

board?.addEventListener("dragover", (event) => {
  const over = event.target.closest("section");
  if (!drawn || !over) return;
  event.preventDefault();
  for (const one of board.querySelectorAll(".over")) one.classList.toggle("over", one === over);
  over.classList.add("over");
});

board?.addEventListener("drop", (event) => {
  const over = event.target.closest("section");
  if (!drawn || !over) return;
  event.preventDefault();
  const select = lotOf(drawn);
  select.value = over.dataset.lot;
  select.dispatchEvent(new Event("change", { bubbles: true }));
});

board?.addEventListener("dragend", () => {
  drawn = null;
  for (const one of board.querySelectorAll(".over")) one.classList.remove("over");
});
