// What plain links and forms cannot do. Every page works without it.

// A stepper's − and + buttons change the number field between them, and tell it to save.
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-step]");
  if (!button) return;
  const field = document.getElementById(button.dataset.for);
  const least = Number(field.min || 0);
  field.value = Math.max(least, Number(field.value || 0) + Number(button.dataset.step));
  field.dispatchEvent(new Event("change", { bubbles: true }));
  event.preventDefault();
});

// An answer htmx does not show, or none at all: say so, where the messages are.
function say(sentence) {
  const line = document.createElement("p");
  line.className = "message error";
  line.textContent = sentence;
  document.querySelector("#main > [role=status]").replaceChildren(line);
}

document.addEventListener("htmx:responseError", (event) => {
  const { status } = event.detail.xhr;
  say(status === 507
    ? "There is no space left on the disk. Nothing was saved. Make room, then retry."
    : `That did not work (answer ${status}). Nothing was saved. Open the page again and retry.`);
});
document.addEventListener("htmx:sendError", () => {
  say("No answer from the studio’s computer. Nothing was saved. See that you are connected, and retry.");
});

// A row of tabs wider than the phone: bring the current one into sight.
for (const tab of document.querySelectorAll(".tabs [aria-current], .rooms [aria-current]")) {
  const row = tab.parentElement;
  row.scrollLeft = tab.offsetLeft - row.offsetLeft - (row.clientWidth - tab.offsetWidth) / 2;
}
