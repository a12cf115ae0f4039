// The picture of the legs: laid over the choices of limb and place wherever a form asks for both. The picture's own
// choices say nothing to the form; they set those that stand there without it.

import { say } from "./words.js";

const template = document.getElementById("leg-picture");
const field = (group, name) => group.querySelector(`:scope > [data-field="${name}"]`);
const BETWEEN = [0.38, 0.62]; // the share of a place's width that is neither in front nor behind

// Lays the picture over each group of fields within an element that asks for limb and place, and brings it up to them.
function prepare(within) {
  for (const place of within.querySelectorAll('[data-field="place"]')) {
    const group = place.parentElement;
    const limb = field(group, "limb");
    if (!limb || group.closest("template")) continue;
    if (!group.querySelector(":scope > .legs")) {
      limb.before(template.content.firstElementChild.cloneNode(true));
      for (const plain of [limb, place]) plain.classList.add("by-picture");
    }
    follow(group);
  }
}

function inputs(group, name) {
  return [...(field(group, name)?.querySelectorAll("input, select") ?? [])];
}

function chosen(group, name) {
  const [first] = inputs(group, name);
  if (first?.localName === "select") return first.value;
  return inputs(group, name).find((input) => input.checked)?.value ?? "";
}

function choose(group, name, value) {
  for (const input of inputs(group, name)) {
    if (input.localName === "select") input.value = value;
    else input.checked = input.value === value;
  }
}

function label(group, name) {
  const [first] = inputs(group, name);
  if (first?.localName === "select") return first.value ? first.selectedOptions[0].textContent.trim() : "";
  return inputs(group, name).find((input) => input.checked)?.closest("label").textContent.trim() ?? "";
}

// Shows on the picture what the fields say.
function follow(group) {
  const picture = group.querySelector(":scope > .legs");
  const spot = `${chosen(group, "limb")} ${chosen(group, "place")}`;
  for (const input of picture.querySelectorAll("input")) input.checked = input.value === spot;
  tell(group, picture);
}

function tell(group, picture) {
  const [limb, place, side] = ["limb", "place", "side"].map((name) => label(group, name));
  picture.dataset.side = chosen(group, "side");
  const text = !limb || !place ? picture.dataset.none : say(side ? picture.dataset.joinSide : picture.dataset.join, { limb, place, side });
  picture.querySelector(".words").textContent = text;
}

// Which half of a place was tapped, as far as that can be told: cannon bone and tendon are halves by themselves.
function half(spot, event) {
  if (spot.classList.contains("at-cannon")) return "front";
  if (spot.classList.contains("at-tendon")) return "back";
  const [front, back] = ["front", "back"].map((name) => spot.querySelector(`.${name}`).getBoundingClientRect());
  const left = Math.min(front.left, back.left);
  const share = (event.clientX - left) / (Math.max(front.right, back.right) - left);
  if (share > BETWEEN[0] && share < BETWEEN[1]) return "";
  return share < 0.5 === front.left < back.left ? "front" : "back";
}

document.addEventListener("change", ({ target }) => {
  const picture = target.closest(".legs");
  const group = (picture ?? target.closest("[data-field]"))?.parentElement;
  if (!group?.querySelector(":scope > .legs")) return;
  if (!picture) return follow(group);
  const [limb, place] = target.value.split(" ");
  choose(group, "limb", limb);
  choose(group, "place", place);
  tell(group, picture);
});

// A tap also says which half; a key pressed comes as a click of no place on the screen.
document.addEventListener("click", (event) => {
  const spot = event.target.closest?.(".legs .spot");
  if (!spot || event.target.localName !== "input" || !event.detail) return;
  const picture = spot.closest(".legs");
  choose(picture.parentElement, "side", half(spot, event));
  tell(picture.parentElement, picture);
});

if (template) {
  document.addEventListener("toggle", ({ target }) => target.open && prepare(target), true);
  new MutationObserver((changes) => {
    for (const { addedNodes } of changes) for (const node of addedNodes) if (node.parentElement) prepare(node.parentElement);
  }).observe(document.body, { childList: true, subtree: true });
  prepare(document);
}
