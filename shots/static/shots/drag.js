// Drags a shot to another place in the table. The arrow buttons do the same without this.

let dragged = null;

function rowUnder(event) {
  const row = event.target.closest?.("tr[data-move]");
  return row && dragged && row !== dragged ? row : null;
}

function isLowerHalf(row, event) {
  const box = row.getBoundingClientRect();
  return event.clientY > box.top + box.height / 2;
}

function clearMarks() {
  document.querySelectorAll(".drop-before, .drop-after").forEach((row) => {
    row.classList.remove("drop-before", "drop-after");
  });
}

document.addEventListener("dragstart", (event) => {
  if (!event.target.closest?.(".grip")) return;
  dragged = event.target.closest("tr[data-move]");
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", dragged.id);
  event.dataTransfer.setDragImage(dragged, 0, 0);
});

document.addEventListener("dragover", (event) => {
  const row = rowUnder(event);
  if (!row) return;
  event.preventDefault();
  clearMarks();
  row.classList.add(isLowerHalf(row, event) ? "drop-after" : "drop-before");
});

document.addEventListener("drop", (event) => {
  const row = rowUnder(event);
  if (!row) return;
  event.preventDefault();
  const side = isLowerHalf(row, event) ? "after" : "before";
  htmx.ajax("POST", dragged.dataset.move, {
    source: dragged,
    target: "#shot-list",
    swap: "outerHTML",
    values: { [side]: row.dataset.shot },
  });
});

document.addEventListener("dragend", () => {
  dragged = null;
  clearMarks();
});
