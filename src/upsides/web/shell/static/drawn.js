// What can be drawn to another place on a page: by a mouse anywhere, by a finger on its grip. The element that says what
// is drawn, and onto what (data-draws, data-onto: selectors), is told of it by events: "drawing" of what a finger holds,
// "drawn" of what was let go, with what it lies over now. Pages do without this script what it does.

const ground = document.querySelector("[data-draws]");
const EDGE = 70; // so near to the edge of the screen, in px, a finger that draws moves the page
let held = null;
let finger = null;

const over = (node) => (ground.contains(node) && node.closest(ground.dataset.onto)) || null;
const under = ({ x, y }) => over(document.elementFromPoint(x, y));
const tell = (what, name, detail) => what.dispatchEvent(new CustomEvent(name, { bubbles: true, detail }));

function mark(one) {
  for (const each of ground.querySelectorAll(ground.dataset.onto)) each.classList.toggle("over", each === one);
}

ground?.addEventListener("dragstart", (event) => {
  if (finger) return event.preventDefault();
  held = event.target.closest?.(ground.dataset.draws);
  if (!held) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", held.textContent);
});

ground?.addEventListener("dragover", (event) => {
  if (!held || !over(event.target)) return;
  event.preventDefault();
  mark(over(event.target));
});

ground?.addEventListener("drop", (event) => {
  if (!held || !over(event.target)) return;
  event.preventDefault();
  tell(held, "drawn", over(event.target));
});

ground?.addEventListener("dragend", () => {
  held = null;
  mark(null);
});

// Anywhere but by the grip a finger moves the page.
function follow() {
  if (!finger) return;
  const far = finger.y < EDGE ? -8 : finger.y > innerHeight - EDGE ? 8 : 0;
  if (far) scrollBy(0, far);
  mark(under(finger));
  requestAnimationFrame(follow);
}

for (const grip of ground?.querySelectorAll(".grip") ?? []) {
  grip.hidden = false;
  grip.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" || finger) return;
    grip.setPointerCapture(event.pointerId);
    finger = { id: event.pointerId, what: grip.closest(ground.dataset.draws), x: event.clientX, y: event.clientY };
    finger.what.classList.add("drawn");
    tell(finger.what, "drawing");
    follow();
  });
  grip.addEventListener("pointermove", (event) => {
    if (finger?.id === event.pointerId) [finger.x, finger.y] = [event.clientX, event.clientY];
  });
  for (const end of ["pointerup", "pointercancel"])
    grip.addEventListener(end, (event) => {
      if (finger?.id !== event.pointerId) return;
      const { what } = finger;
      const onto = end === "pointerup" && under({ x: event.clientX, y: event.clientY });
      finger = null;
      for (const one of ground.querySelectorAll(".drawn")) one.classList.remove("drawn");
      mark(null);
      if (onto) tell(what, "drawn", onto);
    });
}
