/* A glove taps twice: what was sent is not sent again until the page is shown anew. */

const buttons = (form) => form.querySelectorAll("button");

document.addEventListener("submit", (event) => {
  for (const button of buttons(event.target)) button.disabled = true;
});

addEventListener("pageshow", () => {
  for (const button of buttons(document)) button.disabled = false;
});
