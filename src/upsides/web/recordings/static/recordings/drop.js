// Files dropped anywhere on the page go where a person would have chosen them, and are sent at once. Without this the
// form does the same with a press more.

const form = document.querySelector("form.drop");
const field = form?.querySelector("input[type=file]");
const root = document.documentElement;

const carries = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");

if (field) {
  root.classList.add("can-drop");
  addEventListener("dragover", (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    event.dataTransfer.dropEffect = "copy";
    root.classList.add("over");
  });
  addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) root.classList.remove("over");
  });
  addEventListener("drop", (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    root.classList.remove("over");
    if (!event.dataTransfer.files.length) return;
    field.files = event.dataTransfer.files;
    form.requestSubmit();
  });
  // Sent twice it would be one recording all the same, but the second sending would be waited for.
  form.addEventListener("submit", () => { form.querySelector("button").disabled = true; });
  addEventListener("pageshow", () => { form.querySelector("button").disabled = false; });
}
