// Dragging a shot or a set-up to another day. Its buttons do the same without a mouse.

const FLAG = "drop-here";
let dragged = null;

const dayUnder = (event) => event.target.closest?.("[data-day]");
const plan = () => document.querySelector("[data-plan]");

document.addEventListener("dragstart", (event) => {
  const held = event.target.closest?.("[data-drag]");
  if (!held || !plan()?.contains(held)) return;
  dragged = held;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", held.dataset.drag);
});

document.addEventListener("dragover", (event) => {
  const day = dayUnder(event);
  if (!dragged || !day) return;
  event.preventDefault(); // a browser allows no drop otherwise
  for (const other of document.querySelectorAll(`.${FLAG}`)) other.classList.remove(FLAG);
  day.classList.add(FLAG);
});

document.addEventListener("dragend", () => {
  dragged = null;
  for (const day of document.querySelectorAll(`.${FLAG}`)) day.classList.remove(FLAG);
});

document.addEventListener("drop", (event) => {
  const day = dayUnder(event);
  if (!dragged || !day) return;
  event.preventDefault();
  const button = plan().querySelector("[data-dropped]");
  button.value = `${dragged.dataset.drag}:${day.dataset.day}`;
  button.click();
});
