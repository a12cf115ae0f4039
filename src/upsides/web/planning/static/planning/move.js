// A day of a horse's plan that is drawn to another, by a mouse or by a finger on its grip, is moved there: its own list
// is set and sent. Without this script the lists do the same.

const table = document.querySelector(".moving");
const EDGE = 70; // so near to the edge of the screen, in px, a finger that draws moves the page
let drawn = null;
let finger = null;

const rowAt = (node) => table.contains(node) && node.closest("[data-day]");

function mark(over) {
  for (const one of table.querySelectorAll("[data-day]")) one.classList.toggle("over", one === over);
}

function move(from, to) {
  if (!to || to === from) return;
  const form = from.querySelector(".move form");
  form.elements.to.value = to.dataset.day;
  if (form.elements.to.value === to.dataset.day) form.requestSubmit();
}

table?.addEventListener("dragstart", (event) => {
  if (finger) return event.preventDefault();
  drawn = event.target.closest?.("[data-day]");
  if (!drawn) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", drawn.dataset.day);
});

table?.addEventListener("dragover", (event) => {
  const over = rowAt(event.target);
  if (!drawn || !over) return;
  event.preventDefault();
  mark(over);
});

table?.addEventListener("drop", (event) => {
  if (!drawn) return;
  event.preventDefault();
  move(drawn, rowAt(event.target));
});

table?.addEventListener("dragend", () => {
  drawn = null;
  mark(null);
});

// A finger draws by the grip; anywhere else it moves the page.
function follow() {
  if (!finger) return;
  const far = finger.y < EDGE ? -8 : finger.y > innerHeight - EDGE ? 8 : 0;
  if (far) scrollBy(0, far);
  mark(rowAt(document.elementFromPoint(finger.x, finger.y)) || null);
  requestAnimationFrame(follow);
}

for (const grip of table?.querySelectorAll(".grip") ?? []) {
  grip.hidden = false;
  grip.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" || finger) return;
    grip.setPointerCapture(event.pointerId);
    finger = { id: event.pointerId, row: grip.closest("[data-day]"), x: event.clientX, y: event.clientY };
    finger.row.classList.add("drawn");
    follow();
  });
  grip.addEventListener("pointermove", (event) => {
    if (finger?.id === event.pointerId) [finger.x, finger.y] = [event.clientX, event.clientY];
  });
  for (const end of ["pointerup", "pointercancel"])
    grip.addEventListener(end, (event) => {
      if (finger?.id !== event.pointerId) return;
      const { row } = finger;
      finger = null;
      row.classList.remove("drawn");
      mark(null);
      if (end === "pointerup") move(row, rowAt(document.elementFromPoint(event.clientX, event.clientY)));
    });
}
