// A day of a horse's plan that is drawn to another is moved there: its own list is set and sent.

document.querySelector(".moving")?.addEventListener("drawn", (event) => {
  const [from, to] = [event.target, event.detail];
  if (to === from) return;
  const form = from.querySelector(".move form");
  form.elements.to.value = to.dataset.day;
  if (form.elements.to.value === to.dataset.day) form.requestSubmit();
});
